"""Pin-outs: which cavity is where from which side, what is in it, and leaves that can be read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import faults

from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.pinouts import Plug, mirrored, plugs
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness
from loomwright.render.bench.pinout_sheet import NothingToDraw, pinout_files, pinout_leaves

SPECS = Path(__file__).parents[3] / "specs"
REBUILD = read_file(str(SPECS / "rebuild.loom")).harness
SMALL = """loom "small"
place tray, bars
source BAT battery at tray
fuse F 10 A blade at tray
load L lamp at bars { lamp 21 W: 1 2 }
connector C 4 ways sealed at bars { spare: 4; face: 1 2, - 3 4 }
splice S at tray
wire 1 BAT.+ to F.1 red 2 mm2
wire 2 F.2 to L.1 via C.1 dark-green/white 1 mm2
wire 3 L.2 to BAT.- via C.3 black 1 mm2
"""


def harness(text: str) -> Harness:
    reading = read_text(text, "bike.loom")
    assert reading.mistakes == ()
    return reading.harness


def named(harness: Harness) -> dict[str, Plug]:
    return {plug.name: plug for plug in plugs(harness, pieces(harness))}


def words(harness: Harness) -> list[str]:
    return [text.words for leaf in pinout_leaves(harness) for text in leaf.texts]


def test_the_two_halves_face_each_other() -> None:
    """What is left on the mating face of the socket meets what is right on that of the pin half. From the wires each
    half shows what the mating face of the other shows: common practice, no source; try it with two hands.
    """
    found = named(harness(SMALL))
    assert found["C socket"].mating == (("1", "2"), ("-", "3", "4"))
    assert found["C socket"].from_wires == (("-", "2", "1"), ("4", "3", "-"))
    assert found["C pin"].mating == found["C socket"].from_wires
    assert found["C pin"].from_wires == (("1", "2", "-"), ("-", "3", "4"))


@given(st.lists(st.lists(st.sampled_from("1234567-"), max_size=5).map(tuple), max_size=4).map(tuple))
def test_whoever_turns_a_face_twice_sees_it_as_it_was(rows: tuple[tuple[str, ...], ...]) -> None:
    again = mirrored(mirrored(rows))
    assert [row[: len(was)] for row, was in zip(again, rows, strict=True)] == list(rows)
    assert all(set(row[len(was) :]) <= {"-"} for row, was in zip(again, rows, strict=True))


def test_each_wire_of_each_plug_is_there_once() -> None:
    found = pieces(REBUILD)
    ends = [end.end for piece in found for end in piece.ends if end.end is not None]
    for plug in plugs(REBUILD, found):
        here = [wire.end.end for cavity in plug.cavities for wire in cavity.wires]
        assert sorted(here) == sorted(end for end in ends if end in set(here))
    parts = {end.part for end in ends}
    connectors = {plug.part for plug in plugs(REBUILD, found) if plug.half}
    assert connectors == {name for name in parts if REBUILD.parts[name].kind == "connector"}


def test_a_row_says_all_that_goes_into_a_cavity() -> None:
    said = words(REBUILD)
    at = said.index("14.1")
    assert said[at - 2 : at + 4] == ["BN", "2 mm2", "14.1", "REG.D+ at tray", "socket contact 1.6 mm", "2.8 mm"]


def test_an_empty_cavity_of_a_sealed_plug_gets_a_blanking_plug() -> None:
    said = words(harness(SMALL))
    assert said.count("blanking plug") == 2  # cavity 2 of both halves
    assert said.count("blanking plug, left for later") == 2  # cavity 4, written as spare
    assert said.count("blank") == 2 * 2 * 2  # both of them in both views of both halves


def test_colours_have_letters_and_shades_are_said() -> None:
    assert "dk GN/WH" in words(harness(SMALL))


def test_without_a_face_a_table_says_so_and_nothing_is_made_up() -> None:
    said = words(harness(SMALL.replace("; face: 1 2, - 3 4", "")))
    assert sum("no face is given in the file" in each for each in said) == 2
    assert "mating face" not in said
    assert "from the wires" not in said
    assert any(each.startswith("missing: face of 1 connector: C:") for each in said)


def test_a_unit_has_its_terminals_and_the_ways_that_are_left() -> None:
    plug = named(REBUILD)["CTRL plug"]
    assert (plug.ways, plug.unused, plug.mating) == (26, 4, ())
    assert [wire.piece.name for cavity in plug.cavities for wire in cavity.wires if cavity.name == "O3"] == [
        "132",
        "135.1",
    ]
    assert "4 more ways: empty" in words(REBUILD)


def test_a_harness_without_plugs_says_what_was_looked_for() -> None:
    bare = harness('loom "bare"\nsource B battery\nground G\nwire 1 B.- to G black 6 mm2 0.2 m\n')
    with pytest.raises(NothingToDraw, match=re.escape("no wire ends in a connector, in a unit or in a part with a")):
        pinout_files(bare, "bike")


def crowded() -> Harness:
    wide = " ".join(str(way) for way in range(1, 31))
    square = ", ".join(" ".join(str(row * 10 + way) for way in range(1, 11)) for row in range(5))
    colours = ["red", "dark-green/light-blue", "yellow/black", "white"]
    return harness(
        f'loom "{"a long title " * 20}"\nplace tray, a-place-with-a-very-long-name-indeed\nsplice S at tray\n'
        f"connector WIDE 30 ways at tray {{ face: {wide} }}\nconnector WIDER 50 ways at tray {{ face: {square} }}\n"
        f"connector ROW 60 ways at tray {{ face: {' '.join(map(str, range(1, 61)))} }}\n"
        + "".join(f"switch T{n} at a-place-with-a-very-long-name-indeed {{ a: 1 2 }}\n" for n in range(50))
        + "".join(f"wire W{n} S to T{n}.1 via WIDE.{n + 1} {colours[n % 4]} 1 mm2 1 m\n" for n in range(30))
        + "".join(f"wire V{n} S to T{n}.2 via WIDER.{n + 1} {colours[n % 4]} 1 mm2 1 m\n" for n in range(50))
        + "wire X S to WIDER.1s red 1 mm2 1 m\nwire Y S to ROW.1s red 1 mm2 1 m\n"
    )


@pytest.mark.parametrize(
    ("made", "paper"),
    [(harness(SMALL), "A3"), (REBUILD, "A4"), (crowded(), "A4")],
    ids=["small", "rebuild", "crowded"],
)
def test_leaves_can_be_read(made: Harness, paper: str) -> None:
    assert [fault for leaf in pinout_leaves(made, paper=paper) for fault in faults(leaf)] == []


def test_formats_and_revision() -> None:
    files = pinout_files(REBUILD, "bike", formats=("pdf", "svg"), revision="0123456789")
    leaves = pinout_leaves(REBUILD, revision="0123456789")
    assert list(files) == ["bike-pinouts.pdf", *(f"bike-pinouts-{n}.svg" for n in range(1, len(leaves) + 1))]
    assert f"page 1 of {len(leaves)}, git 0123456789" in [text.words for text in leaves[0].texts]
    assert files == pinout_files(REBUILD, "bike", formats=("pdf", "svg"), revision="0123456789")
