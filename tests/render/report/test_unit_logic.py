"""What a control unit decides, as its symbol says it."""

from __future__ import annotations

from itertools import pairwise

from loomwright.lang.files.reading import read_text
from loomwright.lang.model.parts import Unit
from loomwright.render.drawing.primitives import Text
from loomwright.render.report.unit_logic import logic, said
from loomwright.render.schematic.symbols.pin_box import LOGIC, Pin, pin_box

UNIT = """
loom "A unit"
place tray
unit CTRL at tray {
    supply 10 mA: 30 31
    input key fed: KEY
    input left-button grounded: I1
    input cancel grounded: I2
    input brake fed: BRK
    latch left: set when left-button and key, cleared when cancel or not key
    latch other: set when brake, cleared when not (brake or key)
    output turn 2 A flashing: O1 when left and (key or brake)
    output fan 2 A holds 5 s: O2 when key and not (left and brake)
    output hot 2 A: O3 when not brake
}
"""


def unit() -> Unit:
    reading = read_text(UNIT)
    assert reading.mistakes == ()
    part = reading.harness.parts["CTRL"]
    assert isinstance(part, Unit)
    return part


def test_conditions_are_said_as_they_are_written() -> None:
    turn, fan, hot = (output.when for output in unit().outputs)
    assert turn is not None
    assert fan is not None
    assert hot is not None
    assert [said(turn), said(fan), said(hot)] == [
        "left and (key or brake)",
        "key and not (left and brake)",
        "not brake",
    ]


def test_only_what_is_on_the_sheet_and_the_latches_that_it_asks() -> None:
    assert list(logic(unit(), {"O1"})) == [
        ("turn", "when left and (key or brake)"),
        ("left", "set when left-button and key, cleared when cancel or not key"),
    ]
    assert list(logic(unit(), {"O3", "KEY"})) == [("hot", "when not brake")]
    assert dict(logic(unit(), {"O1", "O2", "O3"}))["fan"] == "when key and not (left and brake), and 5 s after"
    assert list(logic(unit(), {"KEY"})) == []


def test_a_narrow_box_breaks_long_lines_and_keeps_them_inside_and_apart() -> None:
    lines = ["left set when " + " or ".join(f"button-{n}" for n in range(12)), "horn when horn"]
    box = pin_box("control unit", "CTRL", [], [Pin("30", "top", ("+",)), Pin("O1", "bottom", ("left",))], logic=lines)
    small = [each for each in box.shapes if isinstance(each, Text) and each.tone == "faint"]
    assert " ".join(each.words for each in small) == " ".join(lines)
    assert len(small) > 3
    for text in small:
        assert text.width <= LOGIC
        assert text.width / 2 <= text.at[0] <= box.width - text.width / 2
    assert all(lower.at[1] - upper.at[1] >= upper.size for upper, lower in pairwise(small))
    assert box.width == pin_box("control unit", "CTRL", [], [], logic=lines).width, "no wider for it than it may be"
