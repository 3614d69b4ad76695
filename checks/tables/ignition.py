"""Coil and points ignition: which primary fits a ballast resistor and which needs none, from ``ignition.toml``."""

from __future__ import annotations

from .sourced import Figure, figure


def ignition_figure(name: str) -> Figure:
    """The figure called ``name``. Raises ``KeyError`` with those that are there."""
    return figure("ignition", name)


def ohms_at(name: str, system_volts: float) -> float:
    """A figure in ohm for 12 V, for a system of this many V: that which draws the same current."""
    return ignition_figure(name).value * system_volts / 12.0
