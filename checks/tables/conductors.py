"""Copper conductors: gauges, standard sizes, resistance at a temperature, insulation classes.

Figures are read from ``conductors.toml``, each with its document. Areas in mm2, diameters in mm, temperatures in degC.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from functools import cache

from ...lang.named_tuples import NamedTuple
from .sourced import Cited, rows

SAME_SIZE = 0.02
"""Of an area: strands that differ no more from a nominal size are meant as it (ours; 14 x 0.30 mm is sold as 1 mm2)."""


class Copper(NamedTuple):
    """Constants of annealed copper.

    ``resistivity`` ohm mm2/m and ``temperature_coefficient`` 1/K, both at 20 degC; ``zero_resistance`` the K below 0
    degC at which the straight line of resistance meets zero; ``heat_capacity`` J/(K mm3); ``melting_point`` degC;
    ``density`` kg/m3.
    """

    resistivity: float
    temperature_coefficient: float
    zero_resistance: float
    heat_capacity: float
    melting_point: float
    density: float


class StandardSize(NamedTuple):
    """A metric size and the greatest resistance of its conductor, in ohm/m at 20 degC, bare and tinned."""

    area: float
    bare: float
    tinned: float
    cited: Cited


class InsulationClass(NamedTuple):
    """A temperature class of ISO 6722: the conductor may be between ``lowest`` and ``highest`` degC."""

    letter: str
    lowest: float
    highest: float
    cited: Cited


@cache
def copper() -> Copper:
    """The constants of copper (IEC 60028, AC 43.13-1B, IEC 60364-5-54; each row of the data names its own)."""
    return Copper(**{row["name"]: row["value"] for row in rows("conductors", "copper")})


@cache
def metric_sizes() -> tuple[StandardSize, ...]:
    """The ladder of standard metric sizes, smallest first (ISO 6722-1)."""
    return tuple(
        StandardSize(row["area"], row["bare"] / 1e3, row["tinned"] / 1e3, row.cited)
        for row in rows("conductors", "iso6722")
    )


@cache
def stocked_gauges() -> tuple[int, ...]:
    """The AWG sizes that are sold, smallest conductor first; 00 is -1, 0000 is -3 (common practice)."""
    return tuple(row["gauge"] for row in rows("conductors", "awg_stocked"))


@cache
def insulation_classes() -> dict[str, InsulationClass]:
    """The temperature classes A to H by letter (ISO 6722-1 clause 4.2)."""
    return {
        row["letter"]: InsulationClass(row["letter"], row["lowest"], row["highest"], row.cited)
        for row in rows("conductors", "classes")
    }


def insulation_class(letter: str) -> InsulationClass:
    """The temperature class with this letter. Raises ``ValueError`` for a letter that is none."""
    try:
        return insulation_classes()[letter]
    except KeyError:
        raise ValueError(f"insulation class {letter!r} is none of {', '.join(insulation_classes())}") from None


@cache
def awg_diameter(gauge: int) -> float:
    """Diameter in mm of a solid conductor of this American wire gauge; 00 is -1, 0000 is -3.

    From the definition in ASTM B258: 0.127 mm at 36, 11.684 mm at 0000, equal ratios between. Raises ``ValueError``
    outside 0000 to 56, which the standard does not go beyond.
    """
    if not -3 <= gauge <= 56:
        raise ValueError(f"gauge {gauge} is outside ASTM B258, which goes from 0000 (written -3) to 56")
    defined = {row["name"]: row["value"] for row in rows("conductors", "awg")}
    ratio = defined["gauge_0000_diameter"] / defined["gauge_36_diameter"]
    return float(defined["gauge_36_diameter"] * ratio ** ((36 - gauge) / defined["steps"]))


def awg_area(gauge: int) -> float:
    """Area in mm2 of a conductor of this American wire gauge (ASTM B258): pi/4 times the square of its diameter."""
    return math.pi / 4 * awg_diameter(gauge) ** 2


def awg_name(gauge: int) -> str:
    """A gauge as the trade writes it: ``18 AWG``, ``0 AWG``, ``00 AWG``."""
    return f"{gauge if gauge >= 0 else '0' * (1 - gauge)} AWG"


def temperature_factor(celsius: float) -> float:
    """How many times its resistance at 20 degC a copper conductor has at ``celsius`` degC: (234.5 + T) / 254.5.

    AC 43.13-1B paragraph 11-66. Raises ``ValueError`` at or below -234.5 degC, where the straight line ends.
    """
    zero = copper().zero_resistance
    if celsius <= -zero:
        raise ValueError(f"copper's resistance at {celsius} degC is below the straight line's end at -{zero} degC")
    return (zero + celsius) / (zero + 20.0)


def resistance_per_metre(area: float, celsius: float = 20.0, *, tinned: bool = False) -> float:
    """Greatest resistance in ohm/m of a stranded copper conductor of ``area`` mm2 at ``celsius`` degC.

    At a standard metric size the limit of ISO 6722-1; between two, straight on logarithmic scales, so that a thicker
    conductor never has more; outside the ladder, the product of area and resistance of its end. A real conductor may
    have some 5 % less. Raises ``ValueError`` for an area that is not above zero.
    """
    if not area > 0.0:
        raise ValueError(f"a conductor's area must be above 0 mm2, found {area}")
    return _resistance_at_20(area, tinned) * temperature_factor(celsius)


@cache
def _resistance_at_20(area: float, tinned: bool) -> float:
    ladder = [(size.area, size.tinned if tinned else size.bare) for size in metric_sizes()]
    place = bisect_left(ladder, (area, 0.0))
    if place == 0 or place == len(ladder):
        end_area, end_ohms = ladder[min(place, len(ladder) - 1)]
        return end_ohms * end_area / area
    (below, more), (above, less) = ladder[place - 1], ladder[place]
    share = math.log(area / below) / math.log(above / below)
    return float(more * (less / more) ** share)
