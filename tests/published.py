"""Published figures of the tables that only judge what the product computes: no code of the product reads them."""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import cache
from typing import NamedTuple

from loomwright.checks.tables.conductors import copper
from loomwright.checks.tables.sourced import Cited, rows


def engine_space_factor(insulation: float) -> float:
    """The law's own factor for 50 degC (33 CFR 183.425 table 5 note 1), by a tabulated insulation temperature in degC.

    Published for comparison: the ampacity uses the square-root law at the true ambient. Raises ``KeyError`` for a
    temperature that is not tabulated.
    """
    return {float(row["insulation"]): float(row["factor"]) for row in rows("ampacity", "engine_space")}[insulation]


def preece_amps(diameter: float) -> float:
    """The A that melt a long bare copper wire of ``diameter`` mm in free air, in time (Preece)."""
    return float(_melting()["preece_copper"] * (diameter / 25.4) ** 1.5)


def onderdonk_amps(area: float, seconds: float, ambient: float = 40.0) -> float:
    """The A that melt a copper conductor of ``area`` mm2 in ``seconds`` (Onderdonk; good below about 10 s)."""
    figures, metal = _melting(), copper()
    circular_mils = area * 4 / math.pi / 0.0254**2
    rise = math.log10((metal.melting_point - ambient) / (figures["onderdonk_zero"] + ambient) + 1.0)
    return circular_mils * math.sqrt(rise / (figures["onderdonk_factor"] * seconds))


@cache
def _melting() -> dict[str, float]:
    return {row["name"]: row["value"] for row in rows("short_time", "melting")}


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


def ambient_share(celsius: float) -> float:
    """The share of its rating that a blade fuse keeps at an ambient in degC; 1 at 25 degC.

    Straight between the points of the makers' curves; outside them the end's. From memory with low confidence.
    """
    points = [(float(row["celsius"]), float(row["share"])) for row in rows("fuses", "ambient")]
    place = bisect_right([at for at, _ in points], celsius)
    if place == 0 or place == len(points):
        return points[0 if place == 0 else -1][1]
    (low, more), (high, less) = points[place - 1], points[place]
    return more + (less - more) * (celsius - low) / (high - low)
