"""Fuses: opening between and beyond published points, what they pass, ratings."""

from __future__ import annotations

import math

import published
import pytest

from loomwright.checks.tables import fuses
from loomwright.checks.tables.fuses import FORMS, largest_i2t, opening, short_i2t


def test_between_points_it_is_straight_on_logarithmic_scales() -> None:
    """Halfway, by logarithms, between 2 times (5 s) and 3.5 times (0.5 s)."""
    found = opening("blade", 10.0, 10.0 * math.sqrt(2.0 * 3.5))
    assert found.most == pytest.approx(math.sqrt(5.0 * 0.5))
    assert found.within


def test_beyond_the_end_the_same_i2t_and_it_is_said() -> None:
    found = opening("blade", 10.0, 600.0)
    assert found.most == pytest.approx(0.1 / 100.0)
    assert not found.within
    assert "beyond the table's end" in found.why


def test_below_the_first_point_it_need_not_open() -> None:
    found = opening("blade", 10.0, 10.0)
    assert (found.least, found.most, found.within) == (math.inf, math.inf, False)
    between = opening("blade", 10.0, 12.0)
    assert between.most == math.inf
    assert 0.75 < between.least < 360000


@pytest.mark.parametrize("rating", [1.0, 3.0, 7.5, 15.0, 30.0])
def test_a_multiple_is_meant_as_written(rating: float) -> None:
    assert opening("blade", rating, 1.35 * rating).most == 600.0


def test_a_link_has_no_published_times() -> None:
    found = opening("link", 30.0, 300.0)
    assert found.most is None
    assert "no opening times are published" in found.why
    assert largest_i2t("link", 30.0) is None
    assert short_i2t("link", 30.0) is None


def test_where_the_form_is_not_written_the_slower_counts() -> None:
    for multiple in (1.2, 1.5, 2.0, 2.5, 3.0, 5.0, 8.0, 20.0):
        blade, glass = opening("blade", 10.0, multiple * 10), opening("glass", 10.0, multiple * 10)
        found = opening(None, 10.0, multiple * 10)
        assert blade.most is not None
        assert glass.most is not None
        assert found.most == max(blade.most, glass.most)
        assert found.least == min(blade.least, glass.least)
    assert largest_i2t(None, 10.0) == max(largest_i2t("blade", 10.0) or 0, largest_i2t("glass", 10.0) or 0)
    assert short_i2t(None, 10.0) is not None


def test_the_greatest_i2t_within_five_seconds() -> None:
    """Ordinary blade: 2 times for 5 s is the most, 20 times the square of the rating; large body: 6 times for 1 s."""
    assert largest_i2t("blade", 20.0) == pytest.approx(20 * 400)
    assert largest_i2t("blade", 50.0) == pytest.approx(36 * 2500)
    assert largest_i2t("blade", 20.0, 0.5) == pytest.approx(3.5**2 * 0.5 * 400)
    assert largest_i2t("blade", 20.0, 0.01) is None


def test_a_branch_fuse_is_selective_to_a_main_of_three_times_its_rating() -> None:
    branch, main, near = short_i2t("blade", 10.0), short_i2t("blade", 30.0), short_i2t("blade", 20.0)
    assert branch is not None
    assert main is not None
    assert near is not None
    assert branch.most < main.least
    assert not branch.most < near.least


def test_large_glass_may_take_twice_as_long() -> None:
    assert opening("glass", 35.0, 70.0).most == 240.0
    assert opening("glass", 30.0, 60.0).most == 120.0


def test_marked_by_what_blows_it() -> None:
    assert fuses.continuous_amps(None, 35.0) == 17.5
    assert fuses.continuous_amps(20.0, 35.0) == 20.0
    assert fuses.continuous_amps(None, None) is None


def test_ratings_are_those_sold() -> None:
    assert fuses.largest_rating_within("blade", 13.4) == 10.0
    assert fuses.largest_rating_within(None, 7.4) == 5.0
    assert fuses.largest_rating_within("strip", 20.0) is None
    assert fuses.ratings("link") == ()
    for form in FORMS:
        assert list(fuses.ratings(form)) == sorted(set(fuses.ratings(form)))


def test_colours() -> None:
    assert fuses.colour("blade", 10.0) == "red"
    assert fuses.colour("blade", 50.0) == "red"  # colour alone tells no rating across bodies
    assert fuses.colour("torpedo", 8.0) == "white"
    assert fuses.colour("glass", 10.0) is None


def test_resistance_at_and_outside_the_table() -> None:
    assert fuses.cold_resistance(20.0) == pytest.approx(3.38e-3)
    assert 3.38e-3 < fuses.cold_resistance(18.0) < 4.80e-3
    assert fuses.cold_resistance(80.0) == pytest.approx(1.44e-3 / 2)
    assert fuses.cold_resistance(0.5) == pytest.approx(0.246)


def test_ambient_share() -> None:
    assert published.ambient_share(25.0) == 1.0
    assert published.ambient_share(45.0) == pytest.approx(0.955)
    assert published.ambient_share(-60.0) == 1.10
    assert published.ambient_share(200.0) == 0.80


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: opening("wire", 10.0, 20.0), "none of blade, strip"),
        (lambda: opening("blade", 0.0, 20.0), "above 0 A"),
        (lambda: fuses.cold_resistance(-1.0), "above 0 A"),
        (lambda: fuses.ratings("wire"), "none of blade, strip"),
    ],
)
def test_wrong_questions_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
