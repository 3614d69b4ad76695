"""Numbers as shown: three digits, thousands grouped, no power of ten, and a limit apart from what breaks it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.quantity import Quantity, all_apart, apart, number_text, shown


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (13.4159, "13.4"),
        (13.0, "13"),
        (0.8234, "0.823"),
        (0.00012, "0.00012"),
        (0.0, "0"),
        (-0.0, "0"),
        (-3.14159, "-3.14"),
        (99.96, "100"),
        (999.6, "1,000"),
        (1315.2, "1,315"),
        (1.32e5, "132,000"),
        (9.996, "10"),
        (math.inf, "unlimited"),
        (math.nan, "unknown"),
    ],
)
def test_three_digits_thousands_grouped_no_power_of_ten(value: float, text: str) -> None:
    assert number_text(value) == text


def test_a_unit_stands_behind_a_space() -> None:
    assert shown(Quantity(1315.2, "A2s")) == "1,315 A2s"
    assert shown(Quantity(4.0)) == "4"


@pytest.mark.parametrize(
    ("value", "limit", "texts"),
    [
        (18.02, 18.0, ("18.02 A", "18 A")),
        (1315.4, 1315.1, ("1,315.4 A", "1,315.1 A")),
        (13.4, 10.0, ("13.4 A", "10 A")),
        (10.0, 10.0, ("10 A", "10 A")),
        (100.04, 100.0, ("100.04 A", "100 A")),
    ],
)
def test_a_limit_and_what_breaks_it_look_different(value: float, limit: float, texts: tuple[str, str]) -> None:
    assert apart(Quantity(value, "A"), Quantity(limit, "A")) == texts


FLOATS = st.floats(min_value=-1e9, max_value=1e9, allow_nan=False).filter(lambda v: v == 0 or abs(v) > 1e-9)


@given(FLOATS)
def test_what_is_shown_is_within_half_a_digit_and_has_no_power(value: float) -> None:
    text = number_text(value)
    assert "e" not in text
    assert float(text.replace(",", "")) == pytest.approx(value, rel=0.0051, abs=1e-12)


@given(FLOATS, FLOATS)
def test_what_differs_by_a_millionth_looks_different(one: float, other: float) -> None:
    texts = all_apart((Quantity(one, "V"), Quantity(other, "V")))
    if abs(one - other) > 1e-6 * max(abs(one), abs(other), 1e-3):
        assert texts[0] != texts[1]
    if one == other:
        assert texts[0] == texts[1]
