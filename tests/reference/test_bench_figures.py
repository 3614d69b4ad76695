"""Figures of the bench beside what they come from: packings of circles, ISO 6722-1, IEC 61210, IEC 60352-2, UL 486A."""

from __future__ import annotations

import math

import pytest
from published import pull_by_area
from scipy.optimize import minimize

from loomwright.checks.tables.bench import (
    THUE,
    bench_figure,
    best_fill,
    bundle_diameter,
    core_diameter,
    mass_per_metre,
    strip_length,
)
from loomwright.checks.tables.conductors import metric_sizes
from loomwright.checks.tables.crimps import pull
from loomwright.checks.tables.sourced import rows


# --- packings of equal circles in a circle (Kravitz 1967; Graham 1968, Pirl 1969) -------------------------------------
@pytest.mark.parametrize(
    ("count", "ratio"),
    [
        (2, 2.0),
        (3, 1 + 2 / math.sqrt(3)),
        (4, 1 + math.sqrt(2)),
        (5, 1 + math.sqrt(2 * (1 + 1 / math.sqrt(5)))),
        (6, 3.0),
        (7, 3.0),
        (8, 1 + 1 / math.sin(math.pi / 7)),
        (9, 1 + math.sqrt(2 * (2 + math.sqrt(2)))),
        (19, 1 + math.sqrt(2) + math.sqrt(6)),
    ],
)
def test_best_packings_with_a_closed_form(count: int, ratio: float) -> None:
    assert best_fill(count) == pytest.approx(count / ratio**2, abs=1e-6)


@pytest.mark.parametrize("count", range(1, 40))
def test_a_bundle_is_never_thinner_than_the_best_packing_of_its_cores(count: int) -> None:
    for tight in (True, False):
        assert bundle_diameter([2.0] * count, tight=tight) >= 2.0 * math.sqrt(count / best_fill(count)) - 1e-9
    assert best_fill(count) <= 1.0 if count == 1 else best_fill(count) <= THUE
    assert bundle_diameter([2.0] * count, tight=True) <= bundle_diameter([2.0] * count, tight=False)


def test_unlike_cores_fit_into_their_bundle() -> None:
    """Three cores, placed by a search of their own: the circle around them is that of the bundle, but for 3 %."""
    sizes = (4.3, 2.1, 2.1)

    def outer(at: list[float]) -> float:
        points = [(at[2 * i], at[2 * i + 1], size / 2) for i, size in enumerate(sizes)]
        overlap = sum(max(0.0, a[2] + b[2] - math.dist(a[:2], b[:2])) for i, a in enumerate(points) for b in points[:i])
        return max(math.hypot(x, y) + r for x, y, r in points) + 50 * overlap

    best = min(minimize(outer, start, method="Nelder-Mead", options={"maxiter": 4000}).fun for start in (
        [0.0, 0.0, 3.0, 1.0, 3.0, -1.0], [0.0, 1.0, 2.0, -2.0, -2.0, -2.0]
    ))  # fmt: skip
    assert 2 * best > 6.4  # the third does not fit beside the two thickest
    assert bundle_diameter(sizes, tight=True) == pytest.approx(2 * best, rel=0.03)


def test_no_core_makes_no_bundle_and_one_is_its_own() -> None:
    assert bundle_diameter([], tight=True) == 0.0
    assert bundle_diameter([2.1], tight=False) == 2.1


# --- cores (ISO 6722-1) -----------------------------------------------------------------------------------------------
def test_cores_have_their_conductor_inside_and_grow_with_it() -> None:
    areas = [size.area for size in metric_sizes() if size.area <= 25.0]
    diameters = [core_diameter(area) for area in areas]
    assert diameters == sorted(diameters)
    for area, diameter in zip(areas, diameters, strict=True):
        assert 0.2 <= (diameter - 2 * math.sqrt(area / math.pi)) / 2 <= 1.6  # mm of wall and of air between strands


@pytest.mark.parametrize(("area", "diameter"), [(0.5, 1.6), (1.0, 2.1), (2.5, 3.0), (6.0, 4.3)])
def test_cores_of_common_sizes(area: float, diameter: float) -> None:
    assert core_diameter(area) == diameter


def test_between_and_beyond_the_table() -> None:
    assert 2.1 < core_diameter(1.2) < 2.4
    assert core_diameter(50.0) == pytest.approx(8.7 * math.sqrt(2))
    with pytest.raises(ValueError, match="above 0 mm2"):
        core_diameter(0.0)


def test_mass_of_a_metre() -> None:
    copper, whole = mass_per_metre(1.0)
    assert copper == pytest.approx(8.96e-3, rel=0.01)  # a cubic centimetre of copper
    assert whole - copper == pytest.approx((math.pi / 4 * 2.1**2 - 1.0) * 1.4e-3, rel=1e-9)


# --- crimps -----------------------------------------------------------------------------------------------------------
def test_iec_61210_bounds_what_a_tab_takes() -> None:
    assert bench_figure("tab_most_area").value == 6.0
    blades = [row for row in rows("contacts", "contacts") if row["kind"] == "blade"]
    assert {2.8, 4.8, 6.3, 9.5} <= {row["size"] for row in blades}
    assert max(row["most_area"] for row in blades) <= 6.0


@pytest.mark.parametrize("area", [0.85, 1.31, 2.1, 3.4, 5.3])
def test_the_pulls_of_iec_60352_2_and_ul_486a_agree_within_a_seventh(area: float) -> None:
    by_gauge, by_area = pull(area), pull_by_area(area)
    assert by_gauge is not None
    assert by_area == pytest.approx(by_gauge.newtons, rel=0.15)


def test_a_conductor_thinner_than_the_table_has_no_pull() -> None:
    assert pull_by_area(0.1) is None


def test_strips() -> None:
    assert [strip_length(sort) for sort in ("pin", "push-on", "ring", "splice")] == [0.005, 0.006, 0.008, 0.012]
