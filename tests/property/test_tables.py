"""What must hold for every size, class, temperature and current."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from published import ambient_share

from loomwright.checks.tables import fuses
from loomwright.checks.tables.ampacity import Ampacity, ampacity
from loomwright.checks.tables.conductors import resistance_per_metre
from loomwright.checks.tables.fuses import FORMS, opening
from loomwright.checks.tables.profiles import profile_names
from loomwright.checks.tables.short_time import adiabatic_k, withstand_i2t

areas = st.floats(0.05, 150.0)
ambients = st.floats(-40.0, 260.0)
letters = st.sampled_from("ABCDEFGH")
profiles = st.sampled_from(profile_names())
forms = st.sampled_from([*FORMS, None])
ratings = st.sampled_from([1.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 35.0, 50.0, 100.0])


def value(found: Ampacity) -> float:
    """Where nothing is published, less than anything that is."""
    return -1.0 if found.amps is None else found.amps


@given(areas, areas, letters, ambients, profiles)
def test_thicker_never_carries_less(a: float, b: float, letter: str, ambient: float, profile: str) -> None:
    thin, thick = sorted((a, b))
    assert value(ampacity(thin, letter, ambient, profile)) <= value(ampacity(thick, letter, ambient, profile)) + 1e-9


@given(st.floats(0.05, 1.2), st.floats(0.05, 1.2), letters, st.floats(20.0, 130.0), profiles)
def test_nor_where_the_tables_meet(a: float, b: float, letter: str, ambient: float, profile: str) -> None:
    thin, thick = sorted((a, b))
    assert value(ampacity(thin, letter, ambient, profile)) <= value(ampacity(thick, letter, ambient, profile)) + 1e-9


@given(areas, letters, ambients, ambients, profiles)
def test_hotter_never_carries_more(area: float, letter: str, a: float, b: float, profile: str) -> None:
    cold, hot = sorted((a, b))
    assert value(ampacity(area, letter, hot, profile)) <= value(ampacity(area, letter, cold, profile)) + 1e-9


@given(areas, letters, letters, ambients, profiles)
def test_a_higher_class_never_carries_less(area: float, a: str, b: str, ambient: float, profile: str) -> None:
    low, high = sorted((a, b))
    assert value(ampacity(area, low, ambient, profile)) <= value(ampacity(area, high, ambient, profile)) + 1e-9


@given(areas, letters, ambients, profiles)
def test_an_answer_always_says_why(area: float, letter: str, ambient: float, profile: str) -> None:
    found = ampacity(area, letter, ambient, profile)
    assert found.why
    assert found.source is not None
    assert (found.amps is None) <= found.beyond
    if found.amps is not None:
        assert found.tabulated is not None
        assert found.amps == found.tabulated * found.factor
        assert found.amps >= 0.0


@given(areas, areas, st.floats(-40.0, 250.0), st.floats(-40.0, 250.0), st.booleans())
def test_thicker_and_colder_never_resists_more(a: float, b: float, c: float, d: float, tinned: bool) -> None:
    thin, thick = sorted((a, b))
    cold, hot = sorted((c, d))
    best, worst = (resistance_per_metre(thick, cold, tinned=tinned), resistance_per_metre(thin, hot, tinned=tinned))
    assert 0.0 < best <= worst * (1 + 1e-12)


@given(areas, areas, letters)
def test_thicker_stands_more_for_a_short_time(a: float, b: float, letter: str) -> None:
    thin, thick = sorted((a, b))
    assert withstand_i2t(thin, letter) <= withstand_i2t(thick, letter)


@given(st.floats(-40.0, 300.0), st.floats(-40.0, 300.0), st.floats(-40.0, 300.0))
def test_heat_adds_up(a: float, b: float, c: float) -> None:
    """From a to c takes as much as from a to b and from b to c: k squared is additive."""
    low, middle, high = sorted((a, b, c))
    whole = adiabatic_k(low, high) ** 2
    assert math.isclose(
        whole, adiabatic_k(low, middle) ** 2 + adiabatic_k(middle, high) ** 2, abs_tol=1e-6 * (1 + whole)
    )


@given(forms, ratings, st.floats(0.1, 60.0), st.floats(0.1, 60.0))
def test_more_current_never_opens_later(form: str | None, rating: float, a: float, b: float) -> None:
    less, more = sorted((a, b))
    slow, quick = opening(form, rating, less * rating), opening(form, rating, more * rating)
    if form == "link":
        assert slow.most is quick.most is None
    if quick.most is not None:
        assert slow.most is not None, "a table that ends does so where more flows"
    if slow.most is not None and quick.most is not None:
        assert quick.most <= slow.most * (1 + 1e-9)
        assert quick.least <= slow.least * (1 + 1e-9)
        assert slow.least <= slow.most


@given(forms, ratings, st.floats(1.0, 60.0))
def test_no_more_than_the_greatest_i2t_is_let_through_once_at_a_published_point(
    form: str | None, rating: float, multiple: float
) -> None:
    """Beyond the table's end the I2t stays what it was, so the greatest of the table bounds it."""
    found, greatest = opening(form, rating, multiple * rating), fuses.largest_i2t(form, rating)
    if found.most is not None and greatest is not None and not found.within and math.isfinite(found.most):
        assert (multiple * rating) ** 2 * found.most <= greatest * (1 + 1e-9)


@given(st.floats(0.2, 300.0), st.floats(0.2, 300.0))
def test_a_larger_fuse_never_resists_more(a: float, b: float) -> None:
    small, large = sorted((a, b))
    assert 0.0 < fuses.cold_resistance(large) <= fuses.cold_resistance(small) * (1 + 1e-12)


@given(st.floats(-60.0, 150.0), st.floats(-60.0, 150.0))
def test_a_hotter_fuse_never_carries_more(a: float, b: float) -> None:
    cold, hot = sorted((a, b))
    assert 0.0 < ambient_share(hot) <= ambient_share(cold)
