"""A harness after an edit of wires is what a reading from nothing makes of the text, with its mistakes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.diagnostics.messages import Diagnostics
from loomwright.lang.files.reading import Reading, read_text
from loomwright.lang.resolve.remembered import Remembered
from loomwright.lang.syntax.parser import Memory, parse
from loomwright.lang.syntax.tree import Syntax

SPECS = Path(__file__).parents[3] / "specs"
BIKE = """loom "Two lamps"
place tray
place nose
place rear
route tray nose 0.6 m
route tray rear 0.8 m
system 12 V negative ground
wires class B slack 10 %
source BAT battery at tray
ground FRAME at tray
fuse F 10 A blade at tray
connector C 2 ways 10 A at nose { face: 1 2 }
load HEAD lamp at nose { dip 55 W: 1 2 }
load TAIL lamp at rear { tail 5 W: 1 2 }
wire 1 BAT.+ to F.1 red 2.5 mm2
wire 2 F.2 to HEAD.1 white 1.5 mm2 via C.1
wire 3 HEAD.2 to FRAME black 1.5 mm2
wire 4 F.2 to TAIL.1 white 0.75 mm2
wire 5 TAIL.2 to FRAME black 0.75 mm2 0.9 m
wire 6 BAT.- to FRAME black 2.5 mm2
together 2 4 at F.2
twisted 3, 5
state on {}
expect in on without 2.1: HEAD.dip dead
"""


class Editor:
    """Reads one text after another as the editor does: lines and harnesses remembered."""

    def __init__(self) -> None:
        self.memories: dict[str, Memory] = {}
        self.remembered = Remembered()

    def read(self, text: str, file: str = "bike.loom") -> Reading:
        def parsed(text: str, file: str, mistakes: Diagnostics) -> Syntax:
            return parse(text, file, mistakes, self.memories.setdefault(file, Memory()))

        return read_text(text, file, parsed=parsed, resolved=self.remembered.resolve)


def amended(old: str, new: str, text: str = BIKE) -> tuple[Reading, Reading]:
    """The readings before and after an edit, the latter compared with one from nothing."""
    assert text.count(old) == 1
    editor = Editor()
    before, edited = editor.read(text), text.replace(old, new)
    after, plain = editor.read(edited), read_text(edited, "bike.loom")
    assert not before.mistakes
    assert (after.mistakes, after.harness) == (plain.mistakes, plain.harness)
    assert list(after.harness.wires) == list(plain.harness.wires)
    return before, after


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("red 2.5 mm2", "red 2.5 mm2  # from the tray"),
        ("{ face: 1 2 }", "{ face: 1 2 }  # as bought"),
    ],
)
def test_a_comment_leaves_the_very_harness(old: str, new: str) -> None:
    before, after = amended(old, new)
    assert after.harness is before.harness


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("red 2.5 mm2", "red 4 mm2"),
        ("red 2.5 mm2", "blue 2.5 mm2"),
        ("0.9 m", "1.2 m"),
        ("black 0.75 mm2 0.9 m", "black 0.75 mm2"),
        ("wire 3 HEAD.2 to FRAME", "wire 3 HEAD.2 to BAT.-"),
        ("wire 1 BAT.+ to F.1 red 2.5 mm2", "wire 1 F.1 to BAT.+ red 2.5 mm2"),
        ("wire 1 BAT", "  wire 1 BAT"),
    ],
)
def test_a_wire_is_made_out_and_nothing_else(old: str, new: str) -> None:
    before, after = amended(old, new)
    assert after.harness.parts is before.harness.parts
    changed = [name for name, wire in after.harness.wires.items() if wire is not before.harness.wires[name]]
    assert len(changed) == 1


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("wire 4 F.2", "wire 44 F.2"),  # what is named elsewhere may be this one
        ("wire 1 BAT", "\nwire 1 BAT"),  # every line below has another number
        ("2.5 mm2\nwire 2", "2.5 mm2; wire 2"),
        ("dip 55 W", "dip 60 W"),
        ("slack 10 %", "slack 20 %"),
        ("route tray nose 0.6 m", "route tray nose 0.7 m"),
        ("without 2.1", "without 4"),
        ("twisted 3, 5", "twisted 3, 6"),
    ],
)
def test_all_is_made_out_where_another_line_differs(old: str, new: str) -> None:
    before, after = amended(old, new)
    assert after.harness is not before.harness


@pytest.mark.parametrize(
    ("old", "new", "kinds"),
    [
        ("wire 1 BAT.+ to F.1", "wire 1 BAT.+ to G.1", ["unknown-part"]),
        ("wire 1 BAT.+ to F.1", "wire 1 BAT.+ to BAT.+", ["same-ends"]),
        ("wire 1 BAT", "wire 2 BAT", ["duplicate-name", "not-at-end", "unknown-name"]),
        ("wire 4 F.2 to TAIL.1", "wire 4 F.1 to TAIL.1", ["not-at-end"]),  # it shares a crimp at the other
        (" via C.1", "", ["unknown-name"]),  # the piece that an expectation names is gone
        ("red 2.5 mm2", "red 2.5 mm2 red", ["repeated"]),
        ("wire 1 BAT.+", "wire BAT.+", ["unexpected-word"]),
    ],
)
def test_mistakes_are_those_of_a_reading_from_nothing(old: str, new: str, kinds: list[str]) -> None:
    _, after = amended(old, new)
    assert [each.kind for each in after.mistakes] == kinds


def test_after_a_mistake_the_harness_before_it_serves() -> None:
    editor = Editor()
    before = editor.read(BIKE)
    assert editor.read(BIKE.replace("wire 1 BAT.+ to F.1", "wire 1 BAT.+ to G.1")).mistakes
    after = editor.read(BIKE.replace("red 2.5 mm2", "red 4 mm2"))
    assert after.harness.parts is before.harness.parts


LINES = (SPECS / "rebuild.loom").read_text("utf-8").split("\n")
WIRES = [at for at, line in enumerate(LINES) if line.startswith("wire ")]


@given(st.lists(st.tuples(st.sampled_from(WIRES), st.sampled_from(WIRES), st.integers(0, 3)), min_size=1, max_size=4))
def test_edits_of_the_rebuild_read_as_from_nothing(edits: list[tuple[int, int, int]]) -> None:
    """A wire gets another's end, colour, size or the whole of its line, one edit after the other."""
    file = str(SPECS / "rebuild.loom")
    editor, lines = Editor(), list(LINES)
    editor.read("\n".join(lines), file)
    for at, of, what in edits:
        mine, other = lines[at], LINES[of]
        ends = re.match(r"wire \S+ (\S+ to \S+)", other)
        assert ends is not None
        lines[at] = (
            other
            if what == 0
            else re.sub(r"(wire \S+) \S+ to \S+", rf"\1 {ends[1]}", mine)
            if what == 1
            else re.sub(r"\bto (\S+) .*", rf"to \1 {other.split(' ', 5)[5]}", mine)
            if what == 2 and len(other.split(" ", 5)) == 6
            else f"{mine}  # {of}"
        )
        text = "\n".join(lines)
        found, plain = editor.read(text, file), read_text(text, file)
        assert found.mistakes == plain.mistakes
        assert found.harness == plain.harness
        assert list(found.harness.wires) == list(plain.harness.wires)
