"""Relays and flashers: usual coils and contacts, terminals, flash rates. Figures are read from ``relays.toml``."""

from __future__ import annotations

from .sourced import Figure, figure


def relay_figure(name: str) -> Figure:
    """The figure called ``name`` of the data's table ``figures``. Raises ``KeyError`` with those that are there."""
    return figure("relays", name)


def usual_coil_ohms(system_volts: float) -> float:
    """The resistance in ohm of a usual relay's coil for a system of this many V: the same power as 85 ohm on 12 V."""
    return figure("relays", "coil_ohms").value * (system_volts / 12.0) ** 2
