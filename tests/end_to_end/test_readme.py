"""The README shows what is true: its first harness, its finding, its drawing and its list of commands."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.cli import main
from loomwright.lang.files.reading import read_file
from loomwright.render.bench.pinout_sheet import pinout_leaves
from loomwright.render.drawing.leaves import leaf_svg
from loomwright.render.schematic.schematic import draw, write

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
STOCK = ROOT / "specs" / "stock.loom"


def block(label: str) -> str:
    found = re.search(rf"<!-- {re.escape(label)} -->\n```\n(.*?)```", README, re.DOTALL)
    assert found, label
    return found[1]


def test_the_first_harness_checks_clean_and_its_two_changes_do_not(tmp_path: Path) -> None:
    text = block("first harness")
    changed = {
        "as-shown": (text, 0),
        "longer": (text.replace("0.15 m", "0.60 m"), 1),
        "larger-fuse": (text.replace("MAIN 10 A", "MAIN 30 A"), 1),
    }
    for name, (content, status) in changed.items():
        path = tmp_path / f"{name}.loom"
        path.write_text(content, encoding="utf-8")
        result = CliRunner().invoke(main, ["check", str(path)])
        assert result.exit_code == status, result.output


def test_the_finding_is_what_the_changed_harness_gives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = STOCK.read_text(encoding="utf-8")
    led = text.replace("load WARN lamp", "load WARN led").replace("charge 3 W tell-tale", "charge 0.3 W tell-tale")
    assert led.count("\n") == text.count("\n")
    monkeypatch.chdir(tmp_path)
    Path("specs").mkdir()
    Path("specs/stock.loom").write_text(led, encoding="utf-8")
    output = CliRunner().invoke(main, ["check", "specs/stock.loom"]).output
    assert output.startswith(block("the LED in place of the bulb"))


def test_the_suspects_are_those_of_the_demonstration(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    asked, _, shown = block("a dead turn lamp").partition("\n")
    assert asked.startswith("$ loomwright suspect ")
    result = CliRunner().invoke(main, shlex.split(asked)[2:])
    assert result.output.startswith(shown)


def test_the_cut_list_is_that_of_the_demonstration(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    asked, _, shown = block("a cut list").partition("\n")
    assert asked.startswith("$ loomwright cut ")
    assert f"\n{shown}\n" in CliRunner().invoke(main, shlex.split(asked)[2:]).output


def test_the_proof_is_that_of_the_demonstration(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    asked, _, shown = block("a proof").partition("\n")
    assert asked.startswith("$ loomwright prove ")
    assert f"\n{shown}\n" in CliRunner().invoke(main, shlex.split(asked)[2:]).output


def test_the_key_is_what_the_survey_of_the_demonstration_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    asked, _, shown = block("the key of the demonstration").partition("\n")
    result = CliRunner().invoke(main, shlex.split(asked)[2:])
    assert f"\n\n{shown}\n" in result.output


def test_the_drawing_is_current(tmp_path: Path) -> None:
    target = tmp_path / "charging.svg"
    write(draw(read_file(str(STOCK)).harness, system="charging", engine="graphviz-pure"), target)
    shown = ROOT / "specs" / "drawings" / "stock-charging.svg"
    assert shown.read_bytes() == target.read_bytes(), "draw it again: DEVELOPERS.md tells how"


def test_the_pin_outs_are_current() -> None:
    leaf = pinout_leaves(read_file(str(ROOT / "specs" / "rebuild.loom")).harness)[2]
    shown = ROOT / "specs" / "drawings" / "rebuild-pinouts.svg"
    assert shown.read_text(encoding="utf-8") == leaf_svg(leaf), "write this leaf there again, and look at it"


def test_every_command_is_listed_and_no_other() -> None:
    table = README[README.index("| command |") : README.index("`loomwright COMMAND --help`")]
    listed = {name for cell in re.findall(r"^\| `([^`]+)` \|", table, re.MULTILINE) for name in cell.split(", ")}
    assert listed == set(main.commands)
