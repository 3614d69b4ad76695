"""The order of places along a motorcycle."""

from __future__ import annotations

import pytest

from loomwright.checks.conversion.trunk import along
from loomwright.lang.files.reading import read_text


@pytest.mark.parametrize(
    ("places", "routes", "order"),
    [
        ("a, b, c", ("c a 1", "a b 2"), "b a c"),  # the end that is named first begins
        ("tail, tray, head, engine", ("tail tray 0.6", "tray head 0.7", "tray engine 0.4"), "tail tray engine head"),
        ("a, b, c, d", ("a b 1", "b c 1", "c a 3", "c d 1"), "a b c d"),  # the longest route of the loop is passed over
        ("x, a, b, y", ("a b 1",), "a b x y"),  # without a route: last
        ("a", (), "a"),
    ],
)
def test_the_longest_way_first_its_branches_where_they_leave_it(
    places: str, routes: tuple[str, ...], order: str
) -> None:
    lines = ['loom "x"', f"place {places}", *(f"route {route} m" for route in routes)]
    reading = read_text("\n".join(lines) + "\n")
    assert not reading.mistakes
    assert along(reading.harness) == tuple(order.split())


def test_no_place_at_all() -> None:
    assert along(read_text('loom "x"\n').harness) == ()
