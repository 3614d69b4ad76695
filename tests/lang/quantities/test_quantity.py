"""Numbers as people read them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.quantities.quantity import Quantity, all_apart, apart, shown


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (12.0, "12"),
        (12.34, "12.3"),
        (-1.006, "-1.01"),
        (999.6, "1,000"),
        (1318.4, "1,318"),
        (999.4, "999"),
        (-4711.7, "-4,712"),
        (1e9, "1,000,000,000"),
        (1234567.4, "1,234,567"),
        (0.0001234, "0.000123"),
        (0.00005, "0.00005"),
        (100.0, "100"),
        (float("inf"), "unlimited"),
        (float("nan"), "unknown"),
    ],
)
def test_three_digits_grouped_and_no_power_of_ten(value: float, text: str) -> None:
    assert shown(value) == text


@pytest.mark.parametrize(
    ("value", "limit", "texts"),
    [
        (1440.0, 1315.0, ("1,440", "1,315")),
        (1318.0, 1315.0, ("1,318", "1,315")),
        (10.004, 10.0, ("10.004", "10")),
        (10.0000001, 10.0, ("just over 10", "10")),
        (9.9999999, 10.0, ("just under 10", "10")),
        (10.0, 10.0, ("10", "10")),
    ],
)
def test_a_limit_and_what_breaks_it_differ(value: float, limit: float, texts: tuple[str, str]) -> None:
    assert apart(value, limit) == texts


@given(st.floats(1e-9, 1e9))
def test_what_is_shown_is_the_value_to_three_digits(value: float) -> None:
    text = shown(value)
    assert "e" not in text
    assert float(text.replace(",", "")) == pytest.approx(value, rel=0.00501)


@given(st.floats(1e-6, 1e9), st.floats(1e-6, 1e9))
def test_unlike_values_never_look_alike(value: float, limit: float) -> None:
    texts = apart(value, limit)
    assert (texts[0] == texts[1]) is (value == limit)


def test_a_unit_follows_behind_a_space() -> None:
    assert shown(Quantity(1315.2, "A2s")) == "1,315 A2s"
    assert shown(Quantity(4.0)) == "4"
    assert shown(Quantity(math.inf, "A")) == "unlimited A"


@pytest.mark.parametrize(
    ("value", "limit", "texts"),
    [
        (18.02, 18.0, ("18.02 A", "18 A")),
        (1315.4, 1315.1, ("1,315.4 A", "1,315.1 A")),
        (13.4, 10.0, ("13.4 A", "10 A")),
        (10.0, 10.0, ("10 A", "10 A")),
        (100.04, 100.0, ("100.04 A", "100 A")),
        (10.0000001, 10.0, ("just over 10 A", "10 A")),
    ],
)
def test_quantities_are_set_apart_with_their_units(value: float, limit: float, texts: tuple[str, str]) -> None:
    assert apart(Quantity(value, "A"), Quantity(limit, "A")) == texts


def test_several_are_shown_with_digits_enough_for_all() -> None:
    assert all_apart((12.0, 12.0, 12.04)) == ("12", "12", "12.04")
    assert all_apart((Quantity(1.0, "V"), Quantity(1.0, "A"))) == ("1 V", "1 A")


def test_below_zero_the_sign_stays_and_nothing_is_minus_nothing() -> None:
    assert shown(-3.14159) == "-3.14"
    assert shown(-0.0) == "0"
    assert shown(-1.2e-12) == "0"
    assert shown(2.5e-7) == "0.00000025"
