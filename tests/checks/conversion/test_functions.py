"""What an old element did is done now by one of its name, of its role, or by the only one of its part."""

from __future__ import annotations

import pytest

from loomwright.checks.conversion.comparison import Comparison
from loomwright.checks.conversion.functions import lost
from loomwright.checks.conversion.side import Side
from loomwright.lang.files.reading import read_text

BIKE = """loom "x"
source BAT battery {{ voltage 12.6 V }}
ground F
switch KEY 10 A key {{ off: ; on: 30 15 }}
load PANEL lamp {{ {elements} }}
wire 1 BAT.+ to KEY.30 red 1 mm2
wire 2 BAT.- to F black 1 mm2
"""


def side(elements: str, fed: str) -> Side:
    text = BIKE.format(elements="; ".join(elements.split(", ")))
    terminals = [pair.split(": ")[1].split() for pair in elements.split(", ")]
    text += "".join(f"wire p{a} KEY.15 to PANEL.{a} red 1 mm2\n" for a, _ in terminals if a in fed.split())
    text += "".join(f"wire p{b} PANEL.{b} to F black 1 mm2\n" for _, b in terminals)
    reading = read_text(text, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return Side(reading.harness)


OLD = "left 3 W: 1 2, right 3 W: 3 4"


@pytest.mark.parametrize(
    ("new", "fed", "gone"),
    [
        (OLD, "1 3", []),
        (OLD, "1", ["right"]),  # one of another name does not do it
        (OLD, "3", ["left"]),
        (OLD, "", ["left", "right"]),
        ("both 3 W: 1 2", "1", []),  # the only one of its part does what either did
        ("both 3 W: 1 2", "", ["left", "right"]),
    ],
)
def test_functions_that_are_lost(new: str, fed: str, gone: list[str]) -> None:
    comparison = Comparison(side(OLD, "1 3"), side(new, fed))
    assert [element.name for _, element in lost(comparison)] == gone
