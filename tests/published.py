"""Published figures of the tables that only judge what the product computes: no code of the product reads them."""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import cache
from pathlib import Path
from typing import NamedTuple

from loomwright.checks.tables.conductors import copper
from loomwright.checks.tables.sourced import Cited, Row, read_file, rows
from loomwright.lang.quantities.quantity import shown

HERE = Path(__file__).parent / "reference"


@cache
def _subject(name: str) -> dict[str, tuple[Row, ...]]:
    return read_file(HERE / f"{name}.toml")


def _rows(name: str, table: str) -> tuple[Row, ...]:
    """The rows of a data file that the product does not have."""
    return _subject(name)[table]


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
def lamp_ratios() -> dict[float, float]:
    """By nominal watts: the share of 12 V at which a filament has them: UN R37's test voltage where the greatest watts
    there are within its 15 %, else 12 V; of categories with the same watts, that of the one that takes most.
    """
    found: dict[float, float] = {}
    for lamp in lamp_categories().values():
        for watts, most in zip(lamp.watts, lamp.most, strict=True):
            share = lamp.volts / 12.0 if most / watts < 1.1501 else 1.0
            found[watts] = min(share, found.get(watts, share))
    return found


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
        for row in _rows("lamps", "categories")
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


class DropLimit(NamedTuple):
    """A limit: a ``share`` of battery volts that may be lost on the way to a load and back."""

    name: str
    share: float
    cited: Cited


class BenchLimit(NamedTuple):
    """V that may be measured across ``what`` while its current flows."""

    what: str
    volts: float
    cited: Cited


def drop_limits() -> tuple[DropLimit, ...]:
    """The published limits as shares of battery volts."""
    return tuple(DropLimit(row["name"], float(row["share"]), row.cited) for row in _rows("drops", "shares"))


def bench_limits() -> tuple[BenchLimit, ...]:
    """What a good joint, switch, run and ground side lose at most, by the trade; published figures disagree widely."""
    return tuple(BenchLimit(row["what"], float(row["volts"]), row.cited) for row in _rows("drops", "bench"))


def aircraft_volts(nominal: float, *, intermittent: bool = False) -> float:
    """V that AC 43.13-1B table 11-6 allows from bus to ground on a nominal 14, 28, 115 or 200 V system.

    Raises ``ValueError`` for another.
    """
    table = {float(row["nominal"]): row for row in _rows("drops", "aircraft")}
    if nominal not in table:
        raise ValueError(f"table 11-6 has {', '.join(map(shown, table))} V, not {shown(nominal)}")
    return float(table[nominal]["intermittent" if intermittent else "continuous"])


def rerated(quantity: str, share_of_volts: float) -> float:
    """How many times its rated value a lamp's ``quantity`` has at a share of its rated volts.

    ``quantity``: current, power, light, colour temperature or life (Standard Handbook for Electrical Engineers). Raises
    ``ValueError`` for any other, or a share that is not above zero.
    """
    exponents = {row["quantity"]: float(row["exponent"]) for row in _rows("lamps", "rerating")}
    if quantity not in exponents:
        raise ValueError(f"a lamp's {quantity!r} is none of {', '.join(exponents)}")
    if not share_of_volts > 0.0:
        raise ValueError(f"a share of rated volts must be above 0, found {share_of_volts}")
    return float(share_of_volts ** exponents[quantity])


def pull_by_area(area: float) -> float | None:
    """The pull in newtons for a conductor of ``area`` mm2 by IEC 60352-2: that of the largest size not above it.

    ``None`` for a conductor thinner than the table.
    """
    within = [float(row["newtons"]) for row in rows("crimps", "iec") if row["area"] <= area * 1.005]
    return max(within, default=None)
