"""Small parts that fixes ask for: ratings that are sold, and the preferred values of resistors."""

from __future__ import annotations

import pytest

from loomwright.checks.tables.spares import resistance_near, resistance_sold, spare_rating


@pytest.mark.parametrize(("part", "carries", "rated"), [("diode", 0.6, 1.0), ("diode", 0.7, 3.0), ("relay", 3.9, 20.0)])
def test_a_part_is_rated_with_a_margin(part: str, carries: float, rated: float) -> None:
    assert spare_rating(part, carries) == rated  # type: ignore[arg-type]


def test_what_is_not_sold_is_not_named() -> None:
    assert spare_rating("diode", 1000.0) is None


@pytest.mark.parametrize(("most", "sold"), [(114.0, 100.0), (100.0, 100.0), (8.0, 6.8), (0.99, 0.82), (1.0, 1.0)])
def test_the_greatest_resistance_sold_is_not_above(most: float, sold: float) -> None:
    """IEC 60063, series E12: 10 12 15 18 22 27 33 39 47 56 68 82."""
    assert resistance_sold(most) == pytest.approx(sold)


@pytest.mark.parametrize(("ohms", "near"), [(8.0, 8.2), (9.3, 10.0), (1.65, 1.8), (1.6, 1.5)])
def test_the_nearest_resistance_is_nearest_by_ratio(ohms: float, near: float) -> None:
    assert resistance_near(ohms) == pytest.approx(near)


def test_no_resistance_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0 ohm"):
        resistance_sold(0.0)
