"""``cut``, ``buy`` and ``labels``: for a terminal, as CSV that opens in a spreadsheet, and on paper."""

from __future__ import annotations

import csv
import io
import math
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from outside import require_tool

from loomwright.checks.bench.labels import Label
from loomwright.cli import main
from loomwright.render.bench.label_sheet import LabelSheet, fitted, labels_pdf

SPECS = Path(__file__).parents[2] / "specs"
REBUILD = SPECS / "rebuild.loom"
SHELF = SPECS / "rebuild-shelf.csv"
SMALL = """loom "small"
place tray, bars
source BAT battery at tray
fuse F 10 A blade at tray
load L 21 W lamp at bars { lamp 21 W: 1 2 }
wire 1 BAT.+ to F.1 red 2 mm2 0.2 m
wire 2 F.2 to L.1 red 1 mm2
"""


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


def table(raw: bytes) -> list[dict[str, str]]:
    assert raw.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"), newline="")))


def words_of(file: Path) -> str:
    found = subprocess.run(
        [require_tool("pdftotext"), "-layout", file, "-"], capture_output=True, text=True, check=True
    )
    return " ".join(found.stdout.split())


# --- cut --------------------------------------------------------------------------------------------------------------
def test_the_longest_piece_of_a_spool_comes_first() -> None:
    lines = run("cut", REBUILD).stdout.split("\n")
    at = lines.index("brown 2 mm2 class B: 4 pieces, 1.7 m")
    first, second = (" ".join(line.split()) for line in lines[at + 1 : at + 3])
    assert first == (
        "14.1 895 mm REG.D+: push-on 6.3 mm, strip 6 mm, in one crimp with 12 "
        "C-PANEL.6s: socket contact 1.6 mm, strip 5 mm, seal for 2.8 mm"
    )
    assert second == (
        "14.2 475 mm C-PANEL.6p: pin contact 1.6 mm, strip 5 mm, seal for 2.8 mm "
        "WARN.D+: push-on 6.3 mm, strip 6 mm, in one crimp with 112"
    )
    assert lines[-3] == "118 pieces, 52.6 m in 8 looms; 19 kept wires left out"


def test_by_loom_each_stretch_says_how_thick_it_is() -> None:
    text = run("cut", REBUILD, "--by", "loom").stdout
    assert "loom C-LEFT, along bars - headstock: 7 pieces" in text
    row = next(" ".join(line.split()) for line in text.split("\n") if line.startswith("  C-LEFT "))
    assert row == (
        "C-LEFT headstock - bars 0.45 m 7 wires 6.3 mm across pulled tight, 6.6 mm in a sleeve "
        "29 g of copper, 41 g in all braid, bend radius at least 66 mm: 7 of 1 mm2"
    )


def test_csv_has_one_row_a_piece(tmp_path: Path) -> None:
    target = tmp_path / "new" / "cut.csv"
    assert run("cut", REBUILD, "-o", target).exit_code == 0
    rows = {row["piece"]: row for row in table(target.read_bytes())}
    assert len(rows) == 118
    assert (rows["14.1"]["cut_mm"], rows["14.1"]["crimp_a"], rows["14.1"]["seal_mm_b"]) == (
        "895",
        "push-on 6.3 mm",
        "2.8",
    )
    assert rows["S1"]["remarks"] == "spare: insulate both ends"
    assert rows["146.2"]["together_with_b"] == "147"


def test_on_paper_each_piece_has_its_box_and_the_same_bytes_come_again(tmp_path: Path) -> None:
    target = tmp_path / "cut.pdf"
    assert run("cut", REBUILD, "-o", target).exit_code == 0
    first, shown = target.read_bytes(), words_of(target)
    for piece in (row["piece"] for row in table(run("cut", REBUILD, "--format", "csv").stdout_bytes)):
        assert f" {piece} " in shown
    assert re.search(r"page 1 of \d", shown)
    run("cut", REBUILD, "-o", target)
    assert target.read_bytes() == first


def test_a_piece_without_a_length_is_blank_and_named(tmp_path: Path) -> None:
    bike = tmp_path / "bike.loom"
    bike.write_text(SMALL, "utf-8")
    found = run("cut", bike)
    assert found.exit_code == 1
    why = "no routes lead from tray to bars: write `route tray bars LENGTH`, or a length on the line of wire 2"
    assert f"missing: length of 2: {why}\n" in found.stdout
    assert "missing: crimps of 4 ends: BAT.+, F.1, F.2, L.1: write what" in found.stdout
    cut = {row["piece"]: row["cut_mm"] for row in table(run("cut", bike, "--format", "csv").stdout_bytes)}
    assert cut == {"1": "220", "2": ""}


def test_a_file_that_stands_there_survives_what_cannot_be_done(tmp_path: Path) -> None:
    old = tmp_path / "cut.csv"
    old.write_text("old", "utf-8")
    wrong = tmp_path / "wrong.loom"
    wrong.write_text("fues F 10 A\n", "utf-8")
    assert run("cut", wrong, "-o", old).exit_code == 1
    assert old.read_text("utf-8") == "old"
    found = run("cut", REBUILD, "-o", tmp_path / "cut.csv" / "below.csv")
    assert (found.exit_code, "cannot be written" in found.stderr) == (2, True)
    assert "expected one of pdf, csv" in run("cut", REBUILD, "-o", tmp_path / "cut.xlsx").stderr


# --- buy --------------------------------------------------------------------------------------------------------------
def test_what_the_list_prints_can_be_filled_in_and_read_back(tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.csv"
    shelf.write_bytes(run("buy", REBUILD, "--format", "csv").stdout_bytes)
    found = run("buy", REBUILD, "--shelf", shelf)
    assert found.exit_code == 0
    assert "not needed" not in found.stdout
    text = run("buy", REBUILD, "--shelf", SHELF).stdout
    row = next(" ".join(line.split()) for line in text.split("\n") if " black 1 mm2 class B " in line)
    assert row == "- black 1 mm2 class B need 5.64 m, have 6 m, sold by 5 m, 0.355 m left over 21 pieces"
    assert "on the shelf and not needed: white 4 mm2 class A (needed is white 1 mm2 class B)" in text


def test_the_plan_of_spools_cuts_each_piece_once_and_prints_its_bound() -> None:
    rows = table(run("buy", REBUILD, "--shelf", SHELF, "--spools", "--format", "csv").stdout_bytes)
    pieces = table(run("cut", REBUILD, "--format", "csv").stdout_bytes)
    assert sorted(row["piece"] for row in rows) == sorted(piece["piece"] for piece in pieces)
    used: dict[tuple[str, str], int] = {}
    for row in rows:
        key = (row["wire"], row["spool"])
        used[key] = used.get(key, round(float(row["length_m"]) * 1000)) - int(row["cut_mm"])
    assert min(used.values()) >= 0
    assert all(int(row["rest_mm"]) == used[row["wire"], row["spool"]] for row in rows)
    text = run("buy", REBUILD, "--shelf", SHELF, "--spools").stdout
    assert "165 m of wire to buy, 0.23 m in ends under 0.3 m; no plan is better (bound: by the solver" in text


def test_the_solver_writes_nothing_into_a_csv_file() -> None:
    command = [sys.executable, "-m", "loomwright", "buy", REBUILD, "--shelf", SHELF, "--spools", "--format", "csv"]
    found = subprocess.run(command, capture_output=True, check=True)
    assert {len(row) for row in csv.reader(io.StringIO(found.stdout.decode("utf-8-sig"), newline=""))} == {6}


def test_the_list_on_paper(tmp_path: Path) -> None:
    target = tmp_path / "buy.pdf"
    assert run("buy", REBUILD, "--shelf", SHELF, "--spools", "-o", target).exit_code == 0
    shown = words_of(target)
    for word in (
        "crimps",
        "ring M6 for 4 mm2",
        "spools: 165 m of wire to buy",
        "F-KEY, 1 spare",
    ):
        assert word in shown


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--spools",), "name it with --shelf"),
        (("--shelf", "nowhere.csv"), "cannot read nowhere.csv: no such file"),
        (("--shelf", SPECS), "cannot read"),
        (("--shelf", REBUILD), "unknown column"),
    ],
)
def test_a_shelf_that_cannot_be_read_is_said(arguments: tuple[object, ...], said: str) -> None:
    found = run("buy", REBUILD, *arguments)
    assert (found.exit_code, said in found.stderr) == (2, True)


# --- labels -----------------------------------------------------------------------------------------------------------
def test_every_end_plug_and_fuse_has_a_label() -> None:
    rows = table(run("labels", REBUILD, "--format", "csv").stdout_bytes)
    assert [sum(row["sort"] == sort for row in rows) for sort in ("wire", "connector", "fuse")] == [236, 14, 3]
    one = next(row for row in rows if row["of"] == "14.1 at C-PANEL.6s")
    assert (one["head"], one["line"], one["around_mm"]) == ("14.1 C-PANEL.6s", "to REG.D+", "2.8")
    assert run("labels", REBUILD, "--only", "fuse").stdout.split("\n")[0].split() == ["fuse", "MAIN", "25", "A", "tray"]


def test_labels_lie_where_the_millimetres_say(tmp_path: Path) -> None:
    target = tmp_path / "labels.pdf"
    found = run("labels", REBUILD, "-o", target, "--used", "1")
    assert (found.exit_code, "Print at 100 %" in found.stderr) == (0, True)
    told = subprocess.run([require_tool("pdftotext"), "-bbox", target, "-"], capture_output=True, text=True, check=True)
    boxes = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)', told.stdout)
    mm = 25.4 / 72
    left, top, right, bottom, word = boxes[0]
    assert word == "1"  # wire 1 at BAT.+, on the second label: 5 + 40 mm from the left
    assert float(left) * mm == pytest.approx(45 + 0.8, abs=0.5)
    assert float(top) * mm >= 8.5 - 0.5
    assert float(bottom) * mm <= 8.5 + 20 + 0.5
    assert float(right) * mm <= 45 + 40


def test_what_does_not_fit_is_named_and_no_letter_is_lower_than_it_may_be(tmp_path: Path) -> None:
    flags = ("--as", "flag", "--label", "60x8.5", "--first", "10x10", "--step", "65x10")
    found = run("labels", REBUILD, "-o", tmp_path / "flags.pdf", *flags)
    assert found.exit_code == 1
    assert found.stderr.split("\n")[0] == (
        "the label of wire 117 at STARTER-RELAY.86 does not fit 60x8.5 mm with letters of 1.8 mm"
    )
    sheet = LabelSheet(width=60, height=8.5, x=10, y=10, step_x=65, step_y=10)
    for head, fits in (("1 BAT.+", True), ("118 STARTER-RELAY.85", False)):
        label = Label(sort="wire", of=head, head=head, line="", where="", around=2.1)
        printed = fitted(label, sheet, "flag")
        assert (printed is not None) is fits
        if printed is not None:
            assert printed.letters >= 1.8
            halves = sorted(left for _, left, _, _ in printed.words)
            assert halves[1] - halves[0] == pytest.approx(60 / 2 + math.pi * 2.1 / 2)  # both halves, the wire between


def test_only_a_plain_sheet_gets_lines_to_cut_along() -> None:
    label = Label(sort="wire", of="x", head="1 BAT.+", line="", where="", around=2.1)
    plain = labels_pdf("x", [label], LabelSheet(), "wrap")
    ready = labels_pdf("x", [label], LabelSheet(step_x=41.0), "wrap")
    assert (LabelSheet().is_cut_up, LabelSheet(step_x=41.0).is_cut_up) == (True, False)
    assert len(plain) > len(ready), "the rectangle and its dashes"


def test_round_a_wire_the_words_are_in_sight_from_each_side() -> None:
    label = Label(sort="wire", of="x", head="101 F-KEY.1", line="", where="", around=4.3)
    printed = fitted(label, LabelSheet(), "wrap")
    assert printed is not None
    bases = [down for _, _, down, _ in printed.words]
    apart = {round(b - a, 6) for a, b in pairwise(bases)}
    assert apart == {round(math.pi * 4.3 / 3, 6)}
    assert fitted(label, LabelSheet(height=8.0, step_y=8.0), "wrap") is None  # does not reach round it


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--label", "40"), "expected two lengths in mm, such as 40x20"),
        (("--label", "nanx5"), "expected lengths from 1 to 1000 mm"),
        (("--step", "10x10"), "would lie on each other"),
        (("--first", "200x10"), "no such label fits a sheet of A4"),
        (("--used", "70"), "a sheet has 70 labels: expected fewer"),
    ],
)
def test_a_sheet_that_cannot_be_is_said(arguments: tuple[str, ...], said: str) -> None:
    found = run("labels", REBUILD, *arguments)
    assert (found.exit_code, said in found.stderr) == (2, True)


def test_splices_of_one_place_lie_one_behind_the_other() -> None:
    text = run("cut", REBUILD, "--by", "loom").stdout
    rows = [" ".join(line.split()) for line in text.partition("splices, 30 mm apart\n")[2].split("\n")]
    assert rows[0] == "tray 6 splices 150 mm of the bundle SP-30, SP-G0, SP-15T, SP-KILL, SP-N, SP-ST"
