"""Layout sheets: they can be read, and what is 1:1 on them is 1:1 in the PDF."""

from __future__ import annotations

import csv
import io
import re
import subprocess
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from looms_of_any_shape import LOOMS
from outside import require_tool
from sheets import crossings, faults

from loomwright.checks.bench.board import Board
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness
from loomwright.render.bench.frame import Book
from loomwright.render.bench.layout_sheet import boards, layout_files, layout_leaves
from loomwright.render.bench.one_to_one import LAP, cut_up, hole
from loomwright.render.bench.peg_list import pegs_text
from loomwright.render.drawing.leaves import Leaf, leaves_pdf
from loomwright.render.drawing.primitives import Rect

SPECS = Path(__file__).parents[3] / "specs"
REBUILD = read_file(str(SPECS / "rebuild.loom")).harness
TINY = 'loom "tiny"\nplace a\nfuse F 5 A blade at a\nsplice S at a\nwire 1 S to F.1 red 1 mm2\n'


def harness(text: str) -> Harness:
    reading = read_text(text, "bike.loom")
    assert reading.mistakes == ()
    return reading.harness


def leaves(made: Harness, paper: str = "A4", *, tiles: bool = False) -> tuple[Leaf, ...]:
    return layout_leaves(made, boards(made), paper=paper, tiles=tiles)


def crowded() -> Harness:
    """Forty parts at five places, some near each other, one with a long name, a loop, kept wires, long legs."""
    text = 'loom "crowded"\nplace tray, nose, bars, rack, a-place-with-a-really-long-name-indeed\n'
    text += "route tray bars 0.9 m braid\nroute bars nose 0.06 m\nroute tray rack 0.3 m tube\nroute rack bars 1.1 m\n"
    text += "route bars a-place-with-a-really-long-name-indeed 0.4 m tape\nsplice S at tray\nground G at rack, bars\n"
    places = ["tray", "nose", "bars", "rack", "a-place-with-a-really-long-name-indeed"]
    for number in range(40):
        leg = f"leg 0.{10 + number} m" if number % 7 == 0 else ""
        name = f"PART-{number}" + "-WITH-A-NAME-OF-MANY-LETTERS" * (number % 11 == 0)
        text += f"switch {name} at {places[number % 5 if number > 16 else 0]} {leg} {{ a: 1 2 }}\n"
        text += f"wire W{number} S to {name}.1 red 1 mm2\n"
        text += f"wire V{number} {name}.2 to G black 1 mm2 2 m{' kept' * (number % 6 == 0)}\n"
    return harness(text)


@pytest.mark.parametrize(
    ("made", "paper"),
    [(harness(TINY), "A4"), (REBUILD, "A3"), (read_file(str(SPECS / "stock.loom")).harness, "A4"), (crowded(), "A4")],
    ids=["tiny", "rebuild", "stock", "crowded"],
)
def test_leaves_can_be_read(made: Harness, paper: str) -> None:
    assert said_of(leaves(made, paper)) == []


@given(LOOMS)
def test_leaves_of_any_loom_can_be_read(text: str) -> None:
    assert said_of(leaves(harness(text))) == []


def said_of(leaves: tuple[Leaf, ...]) -> list[str]:
    """What is wrong with leaves; on a bar of 100 mm marks may cross."""
    found = [f"{leaf.title}: {fault}" for leaf in leaves for fault in faults(leaf)]
    return found + [fault for leaf in leaves if ": layout of " in leaf.title for fault in crossings(leaf)]


def test_each_stretch_says_how_thick_how_long_and_how_many() -> None:
    said = [text.words for text in leaves(REBUILD, "A3")[0].texts]
    assert "A  650 mm braid" in said
    assert "21 wires, \u2300 12 mm" in said
    assert "2 kept wires" in said  # to the engine: kept wires alone, which have no diameter here
    assert "BAT 100 mm: 1; kept 2, 4, 5" in said
    assert "inside: 101 SP-30 - F-KEY.1, 100 mm" in said


def test_a_shortened_comb_says_where_the_rest_is() -> None:
    """A place too near to its neighbours for all its legs on paper; the list and the 1:1 leaf have all of them."""
    near = 'loom "near"\nplace a, b, c\nroute a b 0.9 m\nroute b c 0.03 m\nsplice S at a\n'
    near += "".join(f"switch T{n} at b {{ a: 1 2 }}\nwire W{n} S to T{n}.1 red 1 mm2\n" for n in range(9))
    near += "switch U at c { a: 1 2 }\nwire U1 S to U.1 red 1 mm2\n"
    said = [text.words for leaf in leaves(harness(near)) for text in leaf.texts]
    for number in range(9):
        assert f"T{number} 75 mm: W{number}" in said


def test_both_ends_of_an_opened_stretch_say_so() -> None:
    loop = 'loom "loop"\nplace a, b, c\nroute a b 0.40 m\nroute b c 0.30 m\nroute a c 0.50 m\n'
    loop += "".join(f"splice S{each} at {each}\n" for each in "abc")
    for number, (a, b) in enumerate(["ab", "ab", "bc", "bc", "ac"]):
        loop += f"wire {number} S{a} to S{b} red 1 mm2\n"
    said = [text.words for text in leaves(harness(loop))[0].texts]
    opened = ["opened: to a, 500 mm, 1 wire", "opened: to c, 500 mm, 1 wire"]
    assert sorted(each for each in said if each.startswith("opened: to ")) == opened


# --- 1:1 in the PDF --------------------------------------------------------------------------------------------------
DOTS = 10
"""A mm, in the pictures that are measured: 254 dots an inch."""


def picture(file: Path, page: int, folder: Path) -> tuple[int, bytes]:
    """A page in shades of grey by another program: dots a line, and the dots."""
    stem = folder / "page"
    tool = require_tool("pdftoppm")
    words = [tool, "-r", "254", "-gray", "-singlefile", "-f", str(page), "-l", str(page), file, stem]
    subprocess.run(words, check=True, capture_output=True)
    _, size, _, dots = stem.with_suffix(".pgm").read_bytes().split(b"\n", 3)
    return int(size.split()[0]), dots


def dark(picture: tuple[int, bytes], y: float, left: float, right: float) -> list[tuple[float, float]]:
    """Where a line of the picture is dark between two mm: begin and end of each run, in mm."""
    width, dots = picture
    begin = round(y * DOTS) * width
    row = dots[begin + round(left * DOTS) : begin + round(right * DOTS)]
    return [(left + m.start() / DOTS, left + m.end() / DOTS) for m in re.finditer(rb"[\x00-\x90]+", row)]


@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_tiles_are_true_to_half_a_mm_in_the_pdf(paper: str, tmp_path: Path) -> None:
    """The bar is 100 mm, and legs that two tiles show are where the peg list has them: so the tiles fit each other."""
    listed = boards(REBUILD)
    laid = listed[0][0]
    all_leaves = leaves(REBUILD, paper, tiles=True)
    book = Book(title="x", paper=paper)
    upright, cuts = cut_up(Rect(0.0, 0.0, laid.width, laid.height), book)
    room = hole(book, upright=upright)
    for one, other in pairwise(cuts):
        if one.row == other.row:
            assert other.left - one.left == pytest.approx(room.width - LAP)
    file = tmp_path / "tiles.pdf"
    file.write_bytes(leaves_pdf("x", all_leaves))
    measured = 0
    for cut in cuts:
        title = f"tile of loom main: row {cut.row}, column {cut.column}"
        page = next((n for n, leaf in enumerate(all_leaves, 1) if leaf.title.endswith(title)), None)
        ends = list(ends_in(laid, Rect(cut.left, cut.top, cut.left + room.width, cut.top + room.height)))
        if page is None or not ends or measured > 8:
            continue
        seen = picture(file, page, tmp_path)
        ((begin, end),) = dark(seen, room.bottom + 5.5, room.left - 1.0, room.left + 101.5)
        assert end - begin - 0.25 == pytest.approx(100.0, abs=0.5)  # less half of the mark at each end
        for x, y in ends:
            at = room.left + x - cut.left
            runs = dark(seen, room.top + y - cut.top, at - 2.0, at + 2.0)
            assert [(a + b) / 2 for a, b in runs] == [pytest.approx(at, abs=0.5)]
            measured += 1
    assert measured >= 8


def ends_in(laid: Board, seen: Rect) -> list[tuple[float, float]]:
    """Points 10 mm before the ends of upright legs within a tile that are drawn in one line."""
    points = [
        (tooth.tip[0], laid.height - tooth.tip[1] + 10.0 * (1.0 if tooth.direction[1] > 0 else -1.0))
        for tooth in laid.teeth
        if abs(tooth.direction[0]) < 1e-9 and not getattr(tooth.wanted.of, "kept", False)
    ]
    return [(x, y) for x, y in points if seen.left + 3 < x < seen.right - 3 and seen.top + 3 < y < seen.bottom - 3]


# --- the peg list ----------------------------------------------------------------------------------------------------
def test_the_peg_list_for_a_terminal_and_a_spreadsheet() -> None:
    lines = [" ".join(line.split()) for line in pegs_text(boards(REBUILD)).split("\n")]
    assert lines[:4] == [
        "loom main: board of 1,585 x 595 mm",
        "peg x mm y mm what name at",
        "1 60 135 place headlamp",
        "2 60 210 leg end FL headlamp",
    ]
    raw = layout_files(REBUILD, "bike", formats=("csv",))["bike-pegs.csv"].decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(raw, newline="")))
    assert rows[1]["loom"] == "main"
    assert (rows[1]["peg"], rows[1]["what"], rows[1]["x_mm"], rows[1]["y_mm"]) == ("2", "leg end", "60.0", "210.0")
    assert len({(row["loom"], row["peg"]) for row in rows}) == len(rows)


def test_the_same_files_each_time() -> None:
    once = layout_files(REBUILD, "bike", formats=("pdf", "svg", "csv"), paper="A3")
    assert once == layout_files(REBUILD, "bike", formats=("pdf", "svg", "csv"), paper="A3")
    assert {name.rpartition(".")[2] for name in once} == {"pdf", "svg", "csv"}
