"""Changes of a proposal written into a text: just these, and every other word and byte as it was."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from own_syntaxes import own_syntaxes

from loomwright.lang.diagnostics.messages import Diagnostics
from loomwright.lang.editing.fixing import FixError, edits, fixed_reading, fixed_texts
from loomwright.lang.editing.proposals import (
    AddLine,
    AddWords,
    Change,
    DropLine,
    MoveEnd,
    Proposal,
    Resize,
    SetQuantity,
    SetWord,
    SwapEnds,
    SwapWords,
    TurnWire,
    for_wires,
    resized,
    swap,
    together,
)
from loomwright.lang.files.reading import read_text
from loomwright.lang.quantities.units import metric
from loomwright.lang.syntax.parser import parse

BIKE = """loom "A bike"  # its title
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah }
ground FRAME at tray
fuse MAIN 10 A blade at tray
connector C1 2 ways 2 A at tray
splice SP at tray
switch KEY 10 A key at tray {
    off:
    on: 1 2
}
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2  MAIN.2 to KEY.1  via C1.1 gray/RD 7 x 0.30 mm 65 mm class B   # moves
wire 3 KEY.2 to SP orange 1 mm2 solid
wire 4 SP to LAMP.1 orange 1 mm2
mount LAMP.2 to FRAME
capped C1.2p
wire 5 BAT.- to FRAME black 6 mm2
"""


def after(text: str, *changes: Change) -> str:
    """The text after some changes."""
    found = fixed_texts((parse(text, "bike.loom", Diagnostics()),), changes)
    assert set(found) == {"bike.loom"}
    return found["bike.loom"]


def differing(text: str, *changes: Change) -> dict[str, str]:
    """The lines that differ after changes which add none, old to new."""
    old, new = text.split("\n"), after(text, *changes).split("\n")
    assert len(old) == len(new)
    return {a: b for a, b in zip(old, new, strict=True) if a != b}


# --- one change each -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("change", "old", "new"),
    [
        (Resize(sizes=(("1", metric("4")),)), "red 2 mm2 0.15 m", "red 4 mm2 0.15 m"),
        (Resize(sizes=(("2", metric("4")),)), "gray/RD 7 x 0.30 mm 65 mm", "gray/RD 4 mm2 65 mm"),
        (Resize(ratings=(("MAIN", 7.5),)), "fuse MAIN 10 A blade", "fuse MAIN 7.5 A blade"),
        (MoveEnd("4", "SP", "KEY.2"), "wire 4 SP to LAMP.1", "wire 4 KEY.2 to LAMP.1"),
        (MoveEnd("", "LAMP.2", "LAMP.1"), "mount LAMP.2 to", "mount LAMP.1 to"),
        (SwapEnds("C1.2p", "C1.1p"), "capped C1.2p", "capped C1.1p"),
        (SwapWords("KEY", "on", "1", "2"), "    on: 1 2", "    on: 2 1"),
        (SetWord("3", "solid", ""), "orange 1 mm2 solid", "orange 1 mm2"),
        (SetWord("3", "orange", "pink/white"), "orange 1 mm2 solid", "pink/white 1 mm2 solid"),
        (SetWord("2", "grey/red", "blue"), "gray/RD 7 x", "blue 7 x"),
        (AddWords("SP", "sealed"), "splice SP at tray", "splice SP at tray sealed"),
        (AddWords("2", "kept"), "class B   # moves", "class B kept   # moves"),
        (SetQuantity("1", "length", ""), "2 mm2 0.15 m", "2 mm2"),
        (SetQuantity("2", "length", "0.2 m"), "0.30 mm 65 mm", "0.30 mm 0.2 m"),
        (SetQuantity("C1", "count", "3 ways"), "C1 2 ways 2 A", "C1 3 ways 2 A"),
        (SetQuantity("C1", "current", "10 A"), "C1 2 ways 2 A", "C1 2 ways 10 A"),
        (TurnWire("2"), "wire 2  MAIN.2 to KEY.1  via", "wire 2  KEY.1 to MAIN.2  via"),
        (DropLine("bike.loom", 18), "capped C1.2p", ""),
    ],
)
def test_a_change_is_one_line_and_nothing_else(change: Change, old: str, new: str) -> None:
    ((before, now),) = differing(BIKE, change).items()
    assert old in before
    assert now == before.replace(old, new)


def test_ends_are_exchanged_on_every_line_that_has_one() -> None:
    assert differing(BIKE, SwapEnds("LAMP.1", "LAMP.2")) == {
        "wire 4 SP to LAMP.1 orange 1 mm2": "wire 4 SP to LAMP.2 orange 1 mm2",
        "mount LAMP.2 to FRAME": "mount LAMP.1 to FRAME",
    }


def test_exchanging_twice_is_nothing() -> None:
    once = after(BIKE, SwapEnds("BAT.+", "BAT.-"))
    assert once != BIKE
    assert after(once, SwapEnds("BAT.+", "BAT.-")) == BIKE


# --- lines -----------------------------------------------------------------------------------------------------------
def test_a_line_is_added_behind_the_last_of_its_kind() -> None:
    new = after(BIKE, AddLine("splice SP2 at tray"), AddLine("wire 6 SP to SP2"), AddLine("wire 7 SP2 to FRAME"))
    rows = new.split("\n")
    assert rows[rows.index("splice SP at tray") + 1] == "splice SP2 at tray"
    assert rows[rows.index("wire 5 BAT.- to FRAME black 6 mm2") + 1 :] == [
        "wire 6 SP to SP2",
        "wire 7 SP2 to FRAME",
        "",
    ]
    assert [row for row in rows if row in BIKE.split("\n")] == BIKE.split("\n")


def test_a_line_of_a_new_kind_stands_at_the_end() -> None:
    assert after(BIKE, AddLine("diode D 1 A at tray")) == f"{BIKE}diode D 1 A at tray\n"


def test_a_last_line_without_its_end_gets_one() -> None:
    assert after(BIKE.rstrip("\n"), AddLine("wire 6 SP to FRAME")).endswith("6 mm2\nwire 6 SP to FRAME")


def test_the_ends_of_lines_stay_what_they_are() -> None:
    new = after(BIKE.replace("\n", "\r\n"), AddLine("wire 6 SP to FRAME"), SetWord("3", "solid", ""))
    assert new.count("\n") == new.count("\r\n") == BIKE.count("\n") + 1
    assert "wire 3 KEY.2 to SP orange 1 mm2\r\n" in new


def test_a_mark_at_the_start_of_a_file_moves_nothing() -> None:
    change = Resize(ratings=(("MAIN", 5.0),))
    plain, marked = (edits((parse(text, "bike.loom", Diagnostics()),), [change]) for text in (BIKE, "\ufeff" + BIKE))
    assert plain == marked


# --- what has no place -----------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "change",
    [
        Resize(sizes=(("9", metric("4")),)),
        MoveEnd("4", "FRAME", "SP"),
        SwapEnds("LAMP.8", "LAMP.9"),
        SwapWords("KEY", "off", "1", "2"),
        SetWord("3", "black", "red"),
        SetWord("MAIN", "A", ""),  # it is there, and it is no flag: what comes of that is read and refused later
        AddWords("SP9", "sealed"),
        SetQuantity("3", "length", "1 m"),
        DropLine("bike.loom", 8),  # a block follows it
        DropLine("other.loom", 17),
        TurnWire("LAMP"),
    ],
    ids=repr,
)
def test_what_has_no_place_is_refused(change: Change) -> None:
    if change == SetWord("MAIN", "A", ""):
        assert differing(BIKE, change) == {"fuse MAIN 10 A blade at tray": "fuse MAIN 10 blade at tray"}
        return
    with pytest.raises(FixError):
        after(BIKE, change)


def test_two_changes_of_one_word_are_refused() -> None:
    with pytest.raises(FixError, match=r"bike\.loom:5: two changes of one word"):
        after(BIKE, Resize(ratings=(("MAIN", 5.0),)), Resize(ratings=(("MAIN", 7.5),)))


def test_the_same_change_twice_is_one() -> None:
    change = Resize(ratings=(("MAIN", 5.0),))
    assert after(BIKE, change, change) == after(BIKE, change)


def test_a_word_that_stands_twice_is_not_guessed() -> None:
    with pytest.raises(FixError, match="no line of the harness's own files has this"):
        after(BIKE.replace("LAMP.1 orange", "LAMP.1 orange was orange"), SetWord("4", "orange", "pink"))


# --- files -----------------------------------------------------------------------------------------------------------
def test_what_comes_with_the_tool_is_not_changed() -> None:
    reading = read_text('loom "x"\nuse relays\n' + BIKE.partition("\n")[2], "bike.loom")
    assert any(file.startswith("library/") for file in reading.texts)
    assert [syntax.file for syntax in own_syntaxes(reading)] == ["bike.loom"]


def test_the_new_text_is_read_and_nothing_is_written() -> None:
    reading = read_text(BIKE, "bike.loom")
    texts = fixed_texts(own_syntaxes(reading), [MoveEnd("4", "SP", "KEY.2")])
    again = fixed_reading(reading, texts)
    assert again.harness.wires["4"].a.node == "KEY.2"
    assert reading.harness.wires["4"].a.node == "SP"
    assert [m.message for m in again.mistakes] == []


# --- any of them -----------------------------------------------------------------------------------------------------
CHANGES: tuple[Change, ...] = (
    Resize(sizes=(("1", metric("4")), ("4", metric("0.5")))),
    Resize(ratings=(("MAIN", 5.0),)),
    SwapEnds("LAMP.1", "LAMP.2"),
    MoveEnd("3", "SP", "FRAME"),
    SwapWords("KEY", "on", "1", "2"),
    SetWord("2", "grey/red", "blue"),
    AddWords("C1", "sealed"),
    SetQuantity("C1", "count", "4 ways"),
    TurnWire("5"),
    AddLine("wire 6 SP to FRAME"),
    DropLine("bike.loom", 18),
)


@given(st.sets(st.sampled_from(range(len(CHANGES))), min_size=1), st.integers())
def test_changes_do_not_depend_on_their_order(chosen: set[int], seed: int) -> None:
    changes = [CHANGES[number] for number in sorted(chosen)]
    mixed = random.Random(seed).sample(changes, len(changes))
    assert after(BIKE, *mixed) == after(BIKE, *changes)


@given(st.sets(st.sampled_from(range(len(CHANGES))), min_size=1))
def test_lines_without_an_edit_are_kept_to_the_byte(chosen: set[int]) -> None:
    changes = [CHANGES[number] for number in sorted(chosen)]
    syntax = parse(BIKE, "bike.loom", Diagnostics())
    touched = {edit.line for edit in edits((syntax,), changes)["bike.loom"]}
    rows = after(BIKE, *changes).split("\n")
    for number, row in enumerate(BIKE.split("\n"), 1):
        assert number in touched or row in rows


# --- words -----------------------------------------------------------------------------------------------------------
def test_what_is_done_alike_for_wires_is_said_once() -> None:
    found = together([*resized("3", metric("2.5")), *resized("4", metric("2.5")), *resized("5", metric("10"))])
    assert found.says == "use 2.5 mm2 or thicker for wires 3, 4; use 10 mm2 or thicker for wire 5"
    (change,) = found.changes
    assert isinstance(change, Resize)
    assert {wire: size.text for wire, size in change.sizes} == {"3": "2.5 mm2", "4": "2.5 mm2", "5": "10 mm2"}


def test_one_fix_of_many_findings_is_said_and_done_once() -> None:
    fuse = Proposal("fit a fuse of 5 A at MAIN", (Resize(ratings=(("MAIN", 5.0),)),))
    assert together([fuse, fuse]) == fuse


def test_what_is_not_alike_is_said_one_after_the_other() -> None:
    found = together([swap("A.1", "A.2"), for_wires("use red", ("7",), (SetWord("7", "blue", "red"),))])
    assert found.says == "swap the wires at A.1 and A.2; use red for wire 7"


def test_no_size_is_no_proposal() -> None:
    assert resized("3", None) == ()
