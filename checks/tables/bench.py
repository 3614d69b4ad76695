"""What a loom needs on the bench: cores, bundles, strip lengths, allowances.

Figures are read from ``bench.toml``. Areas in mm2, diameters in mm, lengths in m.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from functools import cache

from .conductors import copper
from .sourced import Figure, figure, rows

THUE = math.pi / math.sqrt(12.0)
"""The density of the hexagonal packing: no equal circles fill the plane better (Thue 1910, Fejes Toth 1940)."""


def bench_figure(name: str) -> Figure:
    """The figure called ``name`` of the data's table ``figures``. Raises ``KeyError`` with those that are there."""
    return figure("bench", name)


@cache
def _cores() -> tuple[tuple[float, float], ...]:
    return tuple((float(row["area"]), float(row["diameter"])) for row in rows("bench", "cores"))


@cache
def core_diameter(area: float) -> float:
    """Diameter in mm of a core with thin-wall insulation around ``area`` mm2 (ISO 6722-1).

    Between two sizes straight in the root of the area, in which the conductor's own diameter grows; outside the table
    in proportion to that root. Raises ``ValueError`` for an area that is not above zero.
    """
    if not area > 0.0:
        raise ValueError(f"a conductor's area must be above 0 mm2, found {area}")
    table = _cores()
    place = bisect_left(table, (area, 0.0))
    if place < len(table) and table[place][0] == area:
        return table[place][1]
    if place == 0 or place == len(table):
        end, diameter = table[min(place, len(table) - 1)]
        return diameter * math.sqrt(area / end)
    (below, thin), (above, thick) = table[place - 1], table[place]
    share = (math.sqrt(area) - math.sqrt(below)) / (math.sqrt(above) - math.sqrt(below))
    return thin + share * (thick - thin)


@cache
def best_fill(count: int) -> float:
    """The greatest share of a circle that ``count`` equal circles fill, where it is tabulated; Thue's bound beyond."""
    ratio = next((row["ratio"] for row in rows("bench", "packings") if row["circles"] == count), None)
    return THUE if ratio is None else count / float(ratio) ** 2


def bundle_diameter(diameters: Sequence[float], *, tight: bool) -> float:
    """Diameter in mm of a bundle of round cores, pulled ``tight`` or loose in a sleeve; 0 for none.

    The cores' areas together, over the share of the cross-section that they fill. Few cores fill less than many: no
    more than equal ones in their best packing do, and never may the bundle be thinner than its two thickest side by
    side.
    """
    if not diameters:
        return 0.0
    fill = min(bench_figure("tight_fill" if tight else "loose_fill").value, best_fill(len(diameters)))
    if len(diameters) == 1:
        fill = 1.0
    thickest = sum(sorted(diameters)[-2:])
    return max(thickest, math.sqrt(sum(each**2 for each in diameters) / fill))


def strip_length(crimp: str) -> float:
    """m of insulation that a crimp of this sort wants off. Raises ``KeyError`` for one that is not tabulated."""
    return {row["crimp"]: float(row["strip"]) / 1000 for row in rows("bench", "strips")}[crimp]


def mass_per_metre(area: float) -> tuple[float, float]:
    """kg of copper, and kg of copper and insulation, of a metre of core around ``area`` mm2."""
    metal = area * 1e-6 * copper().density
    coat = math.pi / 4 * core_diameter(area) ** 2 - area
    return metal, metal + max(coat, 0.0) * 1e-6 * bench_figure("insulation_density").value
