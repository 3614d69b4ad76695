"""Old against new: what is added, removed and changed is marked by line and colour, and said in words."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from geometry import faults
from outside import require_tool

from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness
from loomwright.render.commands.group import main
from loomwright.render.drawing.primitives import Drawing
from loomwright.render.drawing.svg import MARKS, svg_text
from loomwright.render.schematic.against import changes
from loomwright.render.schematic.schematic import draw

OLD = """loom "Before"
source BAT battery { voltage 12.6 V; capacity 14 Ah }
ground FRAME
fuse MAIN 15 A blade
switch KEY 5 A key { off: ; on: 30 15 }
load LAMP lamp { lamp 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 red 1 mm2 0.2 m
wire 3 KEY.15 to LAMP.1 brown 1 mm2 0.2 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.2 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
"""
NEW = (
    OLD.replace("Before", "After")
    .replace("15 A blade", "10 A blade")
    .replace("KEY.30 red 1 mm2", "KEY.30 red 1.5 mm2")
    .replace("wire 3 KEY.15 to LAMP.1 brown 1 mm2 0.2 m\n", "")
    + "fuse F-LAMP 5 A blade\nwire 6 KEY.15 to F-LAMP.1 brown 1 mm2 0.2 m\n"
    "wire 7 F-LAMP.2 to LAMP.1 white 1 mm2 0.2 m\n"
)


def read(text: str) -> Harness:
    reading = read_text(text)
    assert reading.mistakes == ()
    return reading.harness


@cache
def both() -> tuple[Drawing, Drawing]:
    old, new = read(OLD), read(NEW)
    now = changes(old, new)
    return draw(new, now=now[0]), draw(old, now=now[1])


def marks(drawing: Drawing) -> dict[str, str]:
    return {run.name: run.mark for run in drawing.runs if run.mark} | {
        element.key: element.mark for element in drawing.elements if element.mark
    }


def test_the_new_drawing_marks_what_is_added_and_changed() -> None:
    new, _ = both()
    assert marks(new) == {"2": "changed", "6": "added", "7": "added", "F-LAMP": "added", "MAIN": "changed"}
    words = {run.name: [text.words for text in run.texts] for run in new.runs}
    assert "was 1 mm²" in words["2"]
    assert "new" in words["6"]
    assert faults(new) == []


def test_the_old_drawing_marks_what_is_removed_and_changed() -> None:
    _, old = both()
    assert marks(old) == {"2": "changed", "3": "removed", "MAIN": "changed"}
    assert "becomes 1.5 mm²" in [text.words for run in old.runs if run.name == "2" for text in run.texts]
    assert faults(old) == []


def test_marks_differ_in_line_as_well_as_in_colour_and_the_legend_has_them() -> None:
    assert len({dashes for _, dashes in MARKS.values()}) == len(MARKS)
    assert len({colour for colour, _ in MARKS.values()}) == len(MARKS)
    for drawing in both():
        assert {"added", "removed", "changed"} <= {text.words for text in drawing.texts}
        assert svg_text(drawing).count('class="mark"') == len(marks(drawing))
    words = [text.words for text in both()[0].texts]
    assert "Compared with Before." in words
    assert 'class="mark"' not in svg_text(draw(read(NEW)))


def test_the_command_draws_both(tmp_path: Path) -> None:
    for name, text in (("old", OLD), ("new", NEW)):
        (tmp_path / f"{name}.loom").write_text(text, encoding="utf-8")
    call = ["draw", str(tmp_path / "new.loom"), "--against", str(tmp_path / "old.loom")]
    result = CliRunner().invoke(main, [*call, "--into", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["new-old.svg", "new.svg"]
    paper = tmp_path / "both.pdf"
    result = CliRunner().invoke(main, [*call, "--paper", "A4", "-o", str(paper)])
    assert result.exit_code == 0, result.output
    assert paper.stat().st_size > 10_000


def test_a_file_is_drawn_against_a_revision_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git = require_tool("git")

    def run_git(*words: str) -> str:
        who = ("-c", "user.name=x", "-c", "user.email=x@example.org", "-c", "commit.gpgsign=false")
        return subprocess.run([git, *who, *words], cwd=tmp_path, capture_output=True, text=True, check=True).stdout

    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_text(OLD, encoding="utf-8")
    run_git("init", "-q")
    run_git("add", "bike.loom")
    run_git("commit", "-q", "-m", "as found")
    Path("bike.loom").write_text(NEW, encoding="utf-8")
    call = ["draw", "bike.loom", "--against", "HEAD:bike.loom"]
    result = CliRunner().invoke(main, call)
    assert (result.exit_code, result.stdout) == (0, "bike.svg\nbike-old.svg\n"), result.output
    title = read(OLD).title
    assert f"Compared with {title} of revision HEAD." in Path("bike.svg").read_text("utf-8")
    assert f"Revision HEAD, compared with {read(NEW).title}." in Path("bike-old.svg").read_text("utf-8")
    result = CliRunner().invoke(main, [*call, "--paper", "A4", "--format", "svg"])
    assert result.exit_code == 0, result.output
    old = [
        path for path in map(Path, result.stdout.splitlines()) if "Revision HEAD, compared" in path.read_text("utf-8")
    ]
    assert old
    commit = run_git("rev-parse", "HEAD")[:10]
    assert all(f"git {commit}<" in path.read_text("utf-8") for path in old)
    gone = CliRunner().invoke(main, ["draw", "bike.loom", "--against", "nowhere:bike.loom"])
    assert (gone.exit_code, gone.stdout) == (2, "")
    assert "cannot read nowhere:bike.loom: the repository has no revision nowhere" in gone.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-o", "one.svg"), "--against makes two drawings"),
        (("--state", "riding"), "give one of them"),
        (("--sheet", "pinouts"), "--against is for the schematic"),
    ],
)
def test_what_does_not_go_together_is_refused(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    (tmp_path / "bike.loom").write_text(NEW, encoding="utf-8")
    file = str(tmp_path / "bike.loom")
    result = CliRunner().invoke(main, ["draw", file, "--against", file, *words])
    assert result.exit_code == 2
    assert said in result.output
