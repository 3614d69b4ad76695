"""Ampacity against 33 CFR 183.425 and what others publish of it."""

from __future__ import annotations

import math

import pytest
from published import engine_space_factor

from loomwright.checks.tables.ampacity import ampacity, ampacity_table, bundle_factor

# 33 CFR 183.425 table 5 (federal.elaws.us, title 33), allowable amperage at 30 degC, by degC of insulation.
COLUMNS = (60, 75, 80, 90, 105, 125, 200)
TABLE_5 = {
    "18 AWG": (10, 10, 15, 20, 20, 25, 25),
    "16 AWG": (15, 15, 20, 25, 25, 30, 35),
    "14 AWG": (20, 20, 25, 30, 35, 40, 45),
    "12 AWG": (25, 25, 35, 40, 45, 50, 55),
    "10 AWG": (40, 40, 50, 55, 60, 70, 70),
    "8 AWG": (55, 65, 70, 70, 80, 90, 100),
    "6 AWG": (80, 95, 100, 100, 120, 125, 135),
    "4 AWG": (105, 125, 130, 135, 160, 170, 180),
    "3 AWG": (120, 145, 150, 155, 180, 195, 210),
    "2 AWG": (140, 170, 175, 180, 210, 225, 240),
    "1 AWG": (165, 195, 210, 210, 245, 265, 280),
    "0 AWG": (195, 230, 245, 245, 285, 305, 325),
    "00 AWG": (225, 265, 285, 285, 330, 355, 370),
    "000 AWG": (260, 310, 330, 330, 385, 410, 430),
    "0000 AWG": (300, 360, 385, 385, 445, 475, 510),
}


def test_table_5_read_back() -> None:
    table = ampacity_table("boat-law")
    assert table.columns == COLUMNS
    assert {size.name: size.amps for size in table.sizes} == TABLE_5
    assert table.base == 30.0


# UL 1426 boat cable, 105 degC, as a cable maker prints it: up to 2, 3, 4 to 6, 7 to 24 conductors, each outside and
# inside an engine space. Not copied from the law, so it checks column, engine-space factor and bundle factor together.
BOAT_CABLE_105 = {
    "18 AWG": (20, 17, 14, 11.9, 12, 10.2, 10, 8.5),
    "16 AWG": (25, 21.3, 17.5, 14.9, 15, 12.8, 12.5, 10.6),
    "14 AWG": (35, 29.8, 24.5, 20.8, 21, 17.9, 17.5, 14.9),
    "12 AWG": (45, 38.3, 31.5, 26.8, 27, 23, 22.5, 19.1),
    "10 AWG": (60, 51, 42, 35.7, 36, 30.6, 30, 25.5),
    "8 AWG": (80, 68, 56, 47.6, 48, 40.8, 40, 34),
    "6 AWG": (120, 102, 84, 71.4, 72, 61.2, 60, 51),
    "4 AWG": (160, 136, 112, 95.2, 96, 81.6, 80, 68),
}


@pytest.mark.parametrize("size", BOAT_CABLE_105)
def test_factors_as_a_cable_maker_applies_them(size: str) -> None:
    table = ampacity_table("boat-law")
    whole = next(row for row in table.sizes if row.name == size).amps[table.columns.index(105)]
    found = [
        whole * bundle_factor(conductors) * place
        for conductors in (2, 3, 5, 24)
        for place in (1.0, engine_space_factor(105))
    ]
    assert found == pytest.approx(BOAT_CABLE_105[size], abs=0.0501)


def test_bundle_factors_of_note_2() -> None:
    """3: 0.70; 4 to 6: 0.60; 7 to 24: 0.50; 25 and above: 0.40 (a marine catalogue that credits the US Coast Guard)."""
    assert [bundle_factor(n) for n in (1, 2, 3, 4, 6, 7, 24, 25, 200)] == [1, 1, 0.7, 0.6, 0.6, 0.5, 0.5, 0.4, 0.4]


@pytest.mark.parametrize(
    ("insulation", "factor"), [(60, 0.58), (75, 0.75), (80, 0.78), (90, 0.82), (105, 0.85), (125, 0.89)]
)
def test_engine_space_factors_follow_the_square_root_law(insulation: float, factor: float) -> None:
    """Note 1: 50 degC instead of 30. The law that is used at every other ambient gives the same to a hundredth."""
    assert engine_space_factor(insulation) == factor
    assert math.sqrt((insulation - 50) / (insulation - 30)) == pytest.approx(factor, abs=0.0071)


def test_the_law_is_kinder_than_the_square_root_at_200_degrees() -> None:
    """Note 1 has 1.00 for 200 degC, where the square root gives 0.94: the lower one is used."""
    assert engine_space_factor(200) == 1.0
    assert ampacity(1.0, "F", 50.0).factor == pytest.approx(0.939, abs=5e-4)


# NEC ambient correction factors, 30 degC base (wiresizecalculator.net), for 60, 75 and 90 degC insulation.
NEC = {
    (31, 35): (0.91, 0.94, 0.96),
    (36, 40): (0.82, 0.88, 0.91),
    (41, 45): (0.71, 0.82, 0.87),
    (46, 50): (0.58, 0.75, 0.82),
    (51, 55): (0.41, 0.67, 0.76),
}


@pytest.mark.parametrize("band", NEC)
def test_the_square_root_law_gives_the_nec_factors(band: tuple[int, int]) -> None:
    """At the upper end of each band, to a hundredth."""
    for insulation, factor in zip((60, 75, 90), NEC[band], strict=True):
        assert math.sqrt((insulation - band[1]) / (insulation - 30)) == pytest.approx(factor, abs=0.0071)


def test_ambient_of_a_class_b_wire_follows_the_nec() -> None:
    for (_, hottest), factors in NEC.items():
        assert ampacity(1.0, "B", float(hottest)).factor == pytest.approx(factors[2], abs=0.0071)


def test_table_11_9_read_back() -> None:
    """AC 43.13-1B change 1 page 11-23, size 24 to 0000, 105, 150 and 200 degC."""
    table = ampacity_table("aircraft-bundle")
    assert table.columns == (105, 150, 200)
    assert table.base == 70
    assert [size.amps for size in table.sizes] == [
        (2.5, 4, 5), (3, 5, 6), (4, 7, 9), (6, 9, 12), (7, 11, 14), (10, 14, 18), (13, 19, 25), (17, 26, 32),
        (38, 57, 71), (50, 76, 97), (68, 103, 133), (95, 141, 179), (113, 166, 210), (128, 192, 243),
        (147, 222, 285), (172, 262, 335), (204, 310, 395),
    ]  # fmt: skip


def test_table_a_read_back() -> None:
    """ISO 10133:2012 table A, from memory, at 30 degC: each entry lies near the boat law's for the gauge beside it."""
    table = ampacity_table("small-craft")
    assert table.columns == (60, 70, 85, 105, 125, 200)
    assert {size.area: size.amps for size in table.sizes} == {
        0.75: (6, 10, 12, 16, 20, 25),
        1.0: (8, 14, 18, 20, 25, 35),
        1.5: (12, 18, 21, 25, 30, 40),
        2.5: (17, 25, 30, 35, 40, 45),
        4.0: (22, 35, 40, 45, 50, 55),
        6.0: (29, 45, 50, 60, 70, 75),
        10.0: (40, 65, 70, 90, 100, 120),
        16.0: (54, 90, 100, 130, 150, 170),
        25.0: (71, 120, 140, 170, 185, 200),
    }
    branch_type = ampacity_table("boat-law")
    for area, gauge in ((1.0, "18 AWG"), (1.5, "16 AWG"), (2.5, "14 AWG"), (4.0, "12 AWG"), (6.0, "10 AWG")):
        craft = next(size.amps for size in table.sizes if size.area == area)[table.columns.index(105)]
        boat = next(size.amps for size in branch_type.sizes if size.name == gauge)[branch_type.columns.index(105)]
        assert craft == pytest.approx(boat, rel=0.01)


# --- thinner than the law's table ------------------------------------------------------------------------------------
def test_fine_wire_agrees_with_small_craft() -> None:
    """ISO 10133 table A, 0.75 mm2, 70 degC insulation at 30 degC: 10 A. IEC 60204-1 carried there gives 4 % more; at
    the class A column it stays below ISO's 85 degC column, 12 A."""
    assert 9.0 * math.sqrt((70 - 30) / (70 - 40)) == pytest.approx(10.0, rel=0.05)
    found = ampacity(0.75, "A", 30.0).amps
    assert found is not None
    assert found < 12.0


@pytest.mark.parametrize(("area", "amps"), [(0.5, 11.0), (0.75, 14.0), (1.0, 16.5), (1.5, 21.0), (2.5, 29.0)])
def test_never_above_what_sellers_of_thin_wall_cable_print(area: float, amps: float) -> None:
    """Listings of thin-wall vehicle cable (class B, from memory): ours at class A and 40 degC is below each."""
    found = ampacity(area, "A", 40.0).amps
    assert found is not None
    assert 0.7 * amps < found < amps


def test_never_below_the_rule_of_thumb() -> None:
    """Vehicle wiring, 5 A/mm2 continuously (a hobby page): the tables allow at least that up to 6 mm2."""
    for area in (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0):
        found = ampacity(area, "A", 40.0).amps
        assert found is not None
        assert found >= 5.0 * area
