"""Fuses against the standards. Opening times of ISO 8820-3 are mostly from memory: the data says so row by row."""

from __future__ import annotations

import math

import pytest

from loomwright.checks.tables.fuses import cold_resistance, opening, opening_points, ratings
from loomwright.checks.tables.sourced import rows


@pytest.mark.parametrize(
    ("percent", "least", "most"),
    [
        (110, 360_000, math.inf),  # 100 h; read: a 10 A blade carries 11 A for 100 h
        (135, 0.75, 600),  # read: it may take 10 min at 13.5 A
        (160, 0.25, 50),
        (200, 0.15, 5),
        (350, 0.04, 0.5),
        (600, 0.02, 0.1),
    ],
)
@pytest.mark.parametrize("rating", [3.0, 10.0, 30.0])
def test_ordinary_blade_of_iso_8820_3(rating: float, percent: int, least: float, most: float) -> None:
    found = opening("blade", rating, rating * percent / 100)
    assert (found.least, found.most) == (least, most)
    assert found.cited is not None
    assert "ISO 8820-3" in str(found.cited)


@pytest.mark.parametrize(
    ("percent", "least", "most"),
    [(110, 360_000, math.inf), (135, 60, 1800), (200, 2, 60), (350, 0.2, 7), (600, 0.04, 1)],
)
def test_large_blade_of_iso_8820_3(percent: int, least: float, most: float) -> None:
    found = opening("blade", 50.0, 50.0 * percent / 100)
    assert (found.least, found.most) == (least, most)


@pytest.mark.parametrize(("amps", "most"), [(13.5, 3600), (20.0, 120)])
def test_glass_of_ul_248_14(amps: float, most: float) -> None:
    """10 A: opens within an hour at 135 %, within 2 minutes at 200 %."""
    assert opening("glass", 10.0, amps).most == most


def test_a_ul_fuse_opens_sooner_than_an_iec_fuse_of_the_same_mark() -> None:
    """IEC 60127-2 lets 150 % flow for an hour at least; by UL it is gone in an hour at 135 %. So IEC's greatest times
    at 2.75, 4 and 10 times bound a UL fuse too."""
    most = opening("glass", 10.0, 15.0).most
    assert most is not None
    assert most < 3600
    assert [opening("glass", 10.0, amps).most for amps in (27.5, 40.0, 100.0)] == [2, 0.3, 0.02]


@pytest.mark.parametrize("form", ["blade", "strip", "glass", "torpedo", "breaker"])
@pytest.mark.parametrize("rating", [8.0, 20.0, 50.0])
def test_published_times_fall_as_the_current_rises(form: str, rating: float) -> None:
    points = opening_points(form, rating)
    assert [p.multiple for p in points] == sorted({p.multiple for p in points})
    assert [p.most for p in points] == sorted((p.most for p in points), reverse=True)
    assert all(p.least < p.most for p in points)


def test_cold_resistance_fits_the_drop_at_rated_current() -> None:
    """Two columns of one maker's sheet: the hot drop is 1.3 to 1.7 times rated current times cold resistance."""
    for row in rows("fuses", "cold"):
        hot = row["millivolts"] / (row["amps"] * row["milliohms"])
        assert 1.3 <= hot <= 1.7
        assert cold_resistance(row["amps"]) == pytest.approx(row["milliohms"] / 1e3)


def test_drop_at_rating_is_within_what_the_standard_allows() -> None:
    """ISO 8820-3 (from memory, low confidence): 200 mV up to 5 A, 150 mV from 10 A."""
    for row in rows("fuses", "cold"):
        assert row["millivolts"] <= (200 if row["amps"] <= 5 else 150)


def test_ratings_of_sae_j1284() -> None:
    """The ordinary blade: 1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25 and 30 A, and 35 and 40 sold beside them."""
    assert set(ratings("blade")) >= {1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40}
    assert ratings("torpedo") == (5, 8, 16, 25)


def test_colours_of_two_pages() -> None:
    """Two trade pages: 3 violet, 7.5 brown, 10 red, 15 blue, 20 yellow, 30 green. One has tan for 1 A: not taken."""
    table = {row["amps"]: row["colour"] for row in rows("fuses", "colours") if row["form"] == "blade"}
    assert {amps: table[amps] for amps in (3, 7.5, 10, 15, 20, 30)} == {
        3: "violet", 7.5: "brown", 10: "red", 15: "blue", 20: "yellow", 30: "green",
    }  # fmt: skip
    assert table[1] != "tan"
    assert len(set(table.values())) == len(table)
