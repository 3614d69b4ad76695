"""Which wire of a rebuild is which old one: by ``was``, by name and ends, by ends, by name and one end; by hand."""

from __future__ import annotations

import pytest

from loomwright.checks.conversion.matching import Match, wire_pairs
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness

PARTS = 'loom "x"\n' + "".join(f"splice {name}\n" for name in "ABCD")


def harness(wires: str) -> Harness:
    reading = read_text(PARTS + "".join(f"wire {each} red 1 mm2\n" for each in wires.split(", ")), "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return reading.harness


@pytest.mark.parametrize(
    ("old", "new", "pairs"),
    [
        ("1 A to B, 2 A to B", "1 A to B, 2 A to B", {"1": "1", "2": "2"}),
        ("1 A to B, 2 A to B", "1 B to A, 2 A to C", {"1": "1", "2": "2"}),  # turned round; one end moved
        ("1 A to B, 2 A to C", "7 A to C, 8 A to B", {"7": "2", "8": "1"}),
        ("1 A to B", "1 C to D", {}),  # the same name alone is another wire
        ("1 A to B, 2 C to D", "2 A to B, 1 C to D", {"2": "1", "1": "2"}),  # names exchanged: the ends decide
    ],
)
def test_wires_are_paired(old: str, new: str, pairs: dict[str, str]) -> None:
    assert wire_pairs(Match(harness(old), harness(new))) == pairs


def test_an_old_wire_that_was_names_has_no_second_counterpart() -> None:
    """Wire 2 says that it was 1: a new wire of the name 1 on the same ends is what is left, the old 2."""
    old = harness("1 A to B, 2 A to B")
    new = read_text(PARTS + "wire 2 A to B red 1 mm2 was 1\nwire 1 A to B red 1 mm2\n", "bike.loom")
    assert [m.message for m in new.mistakes] == []
    assert wire_pairs(Match(old, new.harness)) == {"2": "1", "1": "2"}
