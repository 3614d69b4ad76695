"""Filament lamps: the categories of UN R37, and how a lamp changes with its volts.

Figures are read from ``lamps.toml``, for 12 V.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from .sourced import Cited, figure, rows


class LampCategory(NamedTuple):
    """A category. ``watts`` rated, ``most`` W and ``lumens`` at ``volts``, each a tuple with one entry a filament."""

    category: str
    use: str
    cap: str
    watts: tuple[float, ...]
    volts: float
    most: tuple[float, ...]
    lumens: tuple[float, ...]
    cited: Cited

    @property
    def most_amps(self) -> tuple[float, ...]:
        """The greatest current of each filament at the test voltage, in A."""
        return tuple(watts / self.volts for watts in self.most)


@cache
def lamp_categories() -> dict[str, LampCategory]:
    """The categories by name, as UN R37 calls them."""
    return {
        row["category"]: LampCategory(
            row["category"],
            row["use"],
            row["cap"],
            tuple(map(float, row["watts"])),
            float(row["volts"]),
            tuple(map(float, row["most"])),
            tuple(map(float, row["lumens"])),
            row.cited,
        )
        for row in rows("lamps", "categories")
    }


def rerated(quantity: str, share_of_volts: float) -> float:
    """How many times its rated value a lamp's ``quantity`` has at a share of its rated volts.

    ``quantity``: current, power, light, colour temperature or life (Standard Handbook for Electrical Engineers). Raises
    ``ValueError`` for any other, or a share that is not above zero.
    """
    exponents = {row["quantity"]: float(row["exponent"]) for row in rows("lamps", "rerating")}
    if quantity not in exponents:
        raise ValueError(f"a lamp's {quantity!r} is none of {', '.join(exponents)}")
    if not share_of_volts > 0.0:
        raise ValueError(f"a share of rated volts must be above 0, found {share_of_volts}")
    return float(share_of_volts ** exponents[quantity])


def rerated_range(quantity: str, share_of_volts: float) -> tuple[float, float]:
    """The same as a range, least and most: a life goes with volts to the -12 to -16. Raises as ``rerated``."""
    rerated(quantity, share_of_volts)
    row = next(row for row in rows("lamps", "rerating") if row["quantity"] == quantity)
    ends = (share_of_volts ** float(row["least"]), share_of_volts ** float(row["most"]))
    return min(ends), max(ends)


def inrush_i2t(amps: float) -> float:
    """The I2t in A2s of switching on a cold lamp of ``amps`` A, at most: the cold current falling evenly to the hot.

    The wires' own resistance holds it lower. The mean square of a straight fall from n to 1 is (n^2 + n + 1) / 3.
    """
    times, seconds = figure("lamps", "inrush_times").value, figure("lamps", "inrush_seconds").value
    return amps * amps * (times * times + times + 1.0) / 3.0 * seconds
