"""``draw --sheet layout`` and ``pinouts``: files by their names, revisions, and what is refused without harm."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from outside import require_tool

from loomwright.cli import main

BIKE = """loom "small"
place tray, bars
route tray bars 0.5 m braid
source BAT battery at tray
fuse F 10 A blade at tray
connector C 2 ways at tray { face: 1 2 }
load L lamp at bars { lamp 21 W: 1 2 }
wire 1 BAT.+ to F.1 red 2 mm2
wire 2 F.2 to L.1 via C.1 red 1 mm2
wire 3 L.2 to BAT.- via C.2 black 1 mm2
"""


@pytest.fixture
def bike(tmp_path: Path) -> Path:
    file = tmp_path / "bike.loom"
    file.write_text(BIKE)
    return file


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


def words_of(file: Path) -> str:
    done = subprocess.run([require_tool("pdftotext"), "-layout", file, "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


def test_a_pdf_has_all_leaves_and_other_formats_are_a_file_a_leaf(bike: Path, tmp_path: Path) -> None:
    folder = tmp_path / "sheets"
    done = run(
        "draw", bike, "--sheet", "layout", "--into", folder, "--format", "pdf", "--format", "svg", "--format", "csv"
    )
    assert (done.exit_code, done.stderr) == (0, "")
    names = [Path(line).name for line in done.stdout.splitlines()]
    leaves = [name for name in names if name.endswith(".svg")]
    assert names == ["bike-layout.pdf", *leaves, "bike-pegs.csv"]
    assert leaves[0] == "bike-layout-1.svg"
    assert {path.name for path in folder.iterdir()} == set(names)
    said = words_of(folder / "bike-layout.pdf")
    assert "layout of loom main small" in said
    assert f"page {len(leaves)} of {len(leaves)}" in said
    assert "git" not in said
    png = run("draw", bike, "--sheet", "pinouts", "-o", tmp_path / "pins.png")
    assert png.exit_code == 0
    assert (tmp_path / "pins.png").read_bytes().startswith(b"\x89PNG")


def test_the_revision_stands_on_each_leaf_and_says_when_the_file_is_another_one(bike: Path, tmp_path: Path) -> None:
    git = require_tool("git")

    def run_git(*words: str) -> str:
        who = ("-c", "user.name=x", "-c", "user.email=x@example.org", "-c", "commit.gpgsign=false")
        done = subprocess.run([git, *who, *words], cwd=tmp_path, capture_output=True, text=True, check=True)
        return done.stdout.strip()

    target = tmp_path / "pins.pdf"
    run_git("init", "-q")
    run("draw", bike, "--sheet", "pinouts", "-o", target)
    assert "git" not in words_of(target), "no commit has it yet"
    run_git("add", "bike.loom")
    run_git("commit", "-q", "-m", "begin")
    revision = run_git("rev-parse", "HEAD")[:10]
    run("draw", bike, "--sheet", "pinouts", "-o", target)
    assert f"page 1 of 1, git {revision} Count cavities" in words_of(target)
    bike.write_text(BIKE.replace("21 W", "10 W"))
    run("draw", bike, "--sheet", "pinouts", "-o", target)
    assert f"page 1 of 1, git {revision} + changes Count cavities" in words_of(target)


def test_the_peg_list_on_a_terminal_and_as_csv(bike: Path, tmp_path: Path) -> None:
    done = run("draw", bike, "--sheet", "layout", "--pegs")
    assert done.exit_code == 0
    assert done.stdout.startswith("loom main: board of ")
    assert run("draw", bike, "--sheet", "layout", "-o", tmp_path / "pegs.csv").exit_code == 0
    head, first = (tmp_path / "pegs.csv").read_text(encoding="utf-8-sig").splitlines()[:2]
    assert head == "loom,peg,what,name,place,x_mm,y_mm,note"
    assert first.startswith("main,1,place,")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--tiles",), "--tiles is for a layout: give --sheet layout, too"),
        (("--pegs", "--sheet", "pinouts"), "--pegs is for a layout: give --sheet layout, too"),
        (("--format", "csv"), "--format csv is for a layout: give --sheet layout, too"),
        (("--paper", "A3", "--system", "lighting"), "leave --system out"),
        (
            ("--system", "lighting", "--sheet", "layout"),
            "--system is for the schematic: leave it out with --sheet layout",
        ),
        (("--pegs", "--sheet", "layout", "-o", "pegs.csv"), "--pegs prints the list: leave it out to write one"),
        (("--sheet", "layout", "-o", "layout.svg"), "leaves: name a PDF, or give --into FOLDER"),
        (("--sheet", "pinouts", "-o", "pins.csv"), "the ending tells the format; expected one of svg, png, pdf"),
        (("--sheet", "floor"), "'floor' is not one of 'current', 'layout', 'pinouts', 'owner'"),
    ],
)
def test_what_belongs_to_another_sheet_is_refused(
    words: tuple[str, ...], said: str, bike: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("draw", bike, *words)
    assert done.exit_code == 2
    assert said in " ".join(done.stderr.split())
    assert [path.name for path in tmp_path.iterdir()] == ["bike.loom"]


@pytest.mark.parametrize("sheet", ["layout", "pinouts"])
def test_what_cannot_be_written_leaves_the_old_file(sheet: str, bike: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file of somebody's")
    done = run("draw", bike, "--sheet", sheet, "--into", taken, "--format", "pdf")
    assert (done.exit_code, taken.read_text()) == (2, "a file of somebody's")
    assert f"{taken / f'bike-{sheet}.pdf'}: cannot be written: " in done.stderr
    target = tmp_path / "old.pdf"
    target.write_text("the old drawing")
    bike.write_text(
        BIKE.replace("at tray", "").replace(" via C.1", "").replace(" via C.2", "").replace("connector", "#")
    )
    done = run("draw", bike, "--sheet", sheet, "-o", target)
    assert (done.exit_code, target.read_text()) == (2, "the old drawing")
    assert f"{bike}: no " in done.stderr


def test_wires_without_a_way_are_listed_with_what_to_write(bike: Path) -> None:
    bike.write_text(BIKE.replace("route tray bars 0.5 m braid\n", ""))
    done = run("draw", bike, "--sheet", "layout", "--pegs")
    assert done.exit_code == 2
    assert done.stderr.splitlines() == [
        f"loomwright: {bike}: no route is known for 2 of 5 new pieces of wire:",
        "  2.2: no routes lead from tray to bars: write `route tray bars LENGTH`",
        "  3.1: no routes lead from bars to tray: write `route bars tray LENGTH`",
    ]


def test_a_layout_and_pin_outs_of_standard_input(bike: Path, tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["draw", "-", "--sheet", "pinouts", "--into", str(tmp_path)], input=BIKE)
    assert done.stdout.splitlines() == [str(tmp_path / "harness-pinouts.svg")]
