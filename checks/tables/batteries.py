"""Batteries: volts at rest, usual resistance, days that a drain takes. Figures are read from ``batteries.toml``."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

from .sourced import Figure, figure, rows

KINDS = ("flooded", "absorbed", "lithium")


def battery_figure(name: str) -> Figure:
    """The figure called ``name`` of the data's table ``figures``. Raises ``KeyError`` with those that are there."""
    return figure("batteries", name)


def rest_volts(charge: float, kind: str = "flooded", system_volts: float = 12.0) -> float:
    """Volts at rest of a battery charged to a share ``charge`` of 1, 25 degC, straight between tabulated points.

    ``kind``: flooded or absorbed (lead), or lithium (iron phosphate). Raises ``ValueError`` for another kind or a share
    outside 0 to 1.
    """
    if not 0.0 <= charge <= 1.0:
        raise ValueError(f"a battery is charged to between 0 and 1, found {charge}")
    points = _rest(kind)
    for (low, low_volts), (high, high_volts) in pairwise(points):
        if charge <= high:
            volts = low_volts + (high_volts - low_volts) * (charge - low) / (high - low)
            return volts * system_volts / 12.0
    raise AssertionError("the table of rest volts must reach a charge of 1")


@cache
def _rest(kind: str) -> tuple[tuple[float, float], ...]:
    if kind not in KINDS:
        raise ValueError(f"a battery of kind {kind!r} is none of {', '.join(KINDS)}")
    return tuple(
        sorted((float(r["charge"]), float(r["volts"])) for r in rows("batteries", "rest") if r["kind"] == kind)
    )


def usual_resistance(amp_hours: float, system_volts: float = 12.0) -> float:
    """A sound battery's resistance in ohm by its capacity in Ah: 14 mohm at 14 Ah and 12 V (ours).

    Raises ``ValueError`` for a capacity that is not above zero.
    """
    if not amp_hours > 0.0:
        raise ValueError(f"a battery's capacity must be above 0 Ah, found {amp_hours}")
    return figure("batteries", "resistance_amp_hours").value / amp_hours * system_volts / 12.0


def load_test_volts(system_volts: float = 12.0) -> float:
    """V below which a lead battery fails a load test at 20 degC (a workshop manual's table)."""
    (at_20,) = (float(row["volts"]) for row in rows("batteries", "load_test") if row["celsius"] == 20)
    return at_20 * system_volts / 12.0


def days_to_half(amp_hours: float, amps: float) -> float:
    """The days in which ``amps`` A take half of ``amp_hours`` Ah; ``inf`` for no drain. Self-discharge is left out."""
    return amp_hours / 2.0 / (24.0 * amps) if amps > 0.0 else math.inf
