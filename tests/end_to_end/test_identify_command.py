"""``loomwright identify`` as it is used at the workbench: the answer, the dialog, and what is wrong with a survey."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main
from loomwright.lang.survey.reading import read_survey_file

SPECS = Path(__file__).parents[2] / "specs"
SURVEY = """survey "Two plugs" of "points-single.loom" at saddle
half P1 at tail gy pk bk
half P2 at headlamp bu/bk bu/wh bk
half P3 at bars og bu bu gy
half P4 at bars og pk
beeps P1.3 P2.3 FRAME
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copy(SPECS / "small" / "points-single.loom", tmp_path)
    Path("plugs.loom").write_text(SURVEY)
    return Path("plugs.loom")


def run(*arguments: str, data: str | None = None) -> Result:
    result = CliRunner().invoke(main, ["identify", *arguments], input=data, catch_exceptions=False)
    assert "Traceback" not in result.output
    return result


def test_what_is_told(bench: Path) -> None:
    result = run("plugs.loom")
    assert (result.exit_code, result.stderr) == (0, "")
    lines = result.stdout.split("\n")
    assert lines[0].startswith("P1: sure: REAR (99")
    assert "    for: 3 of 3 leads have the colours that are drawn at REAR" in lines
    assert "    for: it is at tail, as REAR is" in lines
    assert "    for: line 6" in lines
    assert "    P1.2  pink   REAR.54  wire 25 to SP-54  99.9 %, by colour alone" in lines
    assert "    P1.3  black  REAR.31  wire 20 to FRAME  sure" in lines
    assert "P3: likely: LIGHTS (99.9 %), by colour and place alone" in lines
    assert any(
        line.startswith("    P3.2  blue    LIGHTS.56b  wire 16 to HEAD.56b  by its place in the plug") for line in lines
    )
    asked = "next: black probe on P2.1, red probe on P3.2, at headlamp and bars: beeps with 50 %, worth 0.86 bit"
    assert asked in lines
    assert lines[-3] == "plugs.loom: 4 halves: 2 sure, 2 likely (1 line of readings)"
    assert lines[-2] == "Only readings and colours were judged; cut nothing before you have seen where it goes."
    assert "battery disconnected" in result.stdout


def test_the_demonstration_is_identified() -> None:
    """Six of eight halves are sure, and right; key and plug on one set of wires are shown as what no reading parts."""
    result = run(str(SPECS / "stock-survey.loom"), "--format", "json")
    assert result.exit_code == 0
    found = {half["name"]: half for half in json.loads(result.stdout)["halves"]}
    sure = {name: half["candidates"][0]["name"] for name, half in found.items() if half["verdict"] == "sure"}
    assert sure == {
        "P1": "C-LEFT.s", "P2": "C-LEFT.p", "P3": "C-RIGHT.s", "P6": "C-HEAD.s", "P7": "HORN", "P8": "FLASH",
    }  # fmt: skip
    for name in ("P4", "P5"):
        assert {each["name"] for each in found[name]["candidates"]} == {"KEY", "C-KEY.p"}
        assert found[name]["alike"] == "two ends of the same wires"
    assert json.loads(result.stdout)["unexplained"] == []


def test_json_says_the_same(bench: Path) -> None:
    result = run("plugs.loom", "--format", "json")
    assert result.exit_code == 0
    found = json.loads(result.stdout)
    assert found["version"] == 1
    assert [(half["name"], half["verdict"], half["candidates"][0]["name"]) for half in found["halves"]] == [
        ("P1", "sure", "REAR"),
        ("P2", "sure", "HEAD"),
        ("P3", "likely", "LIGHTS"),
        ("P4", "likely", "BRAKE-FRONT"),
    ]
    assert found["halves"][0]["leads"][1]["goes_to"] == ["SP-54"]
    assert set(found["next"]) == {"black", "red", "places", "beeps", "gain_bit", "confirms"}
    assert (found["next"]["black"], found["next"]["red"], found["next"]["confirms"]) == ("P2.1", "P3.2", False)
    assert found["unexplained"] == []


def test_the_dialog_asks_adds_and_ends(bench: Path) -> None:
    result = run("plugs.loom", "--ask", data="y\nn\ns\nl\nbeeps P1.9 FRAME\nP1.1 P2.1 open\nq\n")
    assert result.exit_code == 0
    added = [line.removeprefix("> ").removeprefix("added: ") for line in result.stdout.split("\n") if "added: " in line]
    assert added[0].startswith("beeps ")
    assert added[1].startswith("silent ")
    assert added[2] == "not added: `P1` has no lead `9`; expected `P1.1` to `P1.3`"
    assert added[3] == "P1.1 P2.1 open"
    lines = bench.read_text().split("\n")
    assert "    P3: sure: LIGHTS (99.9 %)" in result.stdout.split("\n")
    assert lines[:6] == SURVEY.split("\n")[:6]
    assert lines[6:] == [added[0], added[1], "P1.1 P2.1 open", ""]
    assert read_survey_file(bench).mistakes == ()


def test_the_dialog_ends_when_nobody_answers(bench: Path) -> None:
    result = run("plugs.loom", "--ask", data="")
    assert result.exit_code == 0
    assert bench.read_text() == SURVEY


def test_a_file_that_somebody_else_changed_is_not_written_over(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.lang.editing import replace as replacing

    real = replacing.replace_file

    def meanwhile(path: Path, data: bytes, *, was: bytes | None = None) -> None:
        path.write_text(f"{SURVEY}# mine\n")
        real(path, data, was=was)

    monkeypatch.setattr(replacing, "replace_file", meanwhile)
    result = run("plugs.loom", "--ask", data="y\n")
    assert result.exit_code == 2
    assert "it was changed by somebody else in the meantime" in result.stderr
    assert bench.read_text() == f"{SURVEY}# mine\n"


def test_a_mistake_costs_its_line_and_the_rest_is_told(bench: Path) -> None:
    bench.write_text(f"{SURVEY}half P9 rde\nbeeps P1.1 P1.2 with KEY of\n")
    result = run("plugs.loom")
    assert result.exit_code == 1
    assert "plugs.loom:7:9: error: `rde` is no colour of the list [unknown-colour]" in result.stderr
    assert "plugs.loom:8:26: error: `KEY` has no position `of` [unknown-position]" in result.stderr
    assert "P1: sure: REAR" in result.stdout


def test_a_reading_that_contradicts_is_told_with_what_to_do(bench: Path) -> None:
    bench.write_text(f"{SURVEY}silent P1.3 FRAME\nbeeps P1.3 FRAME\nbeeps P1.3 P2.3\n")
    result = run("plugs.loom")
    assert result.exit_code == 1
    assert "plugs.loom:7:1: `silent P1.3 FRAME` contradicts the other readings and the diagram" in result.stdout
    assert "    fix: take this reading again" in result.stdout


@pytest.mark.parametrize(
    ("text", "status", "said"),
    [
        ('survey "None"\nhalf P1 rd bk\n', 2, "has no diagram to identify its halves by"),
        ('survey "None" of "points-single.loom"\n', 2, "names no half with a lead"),
        ('survey "None" of "gone.loom"\nhalf P1 rd\n', 1, "`gone.loom` cannot be used: there is no such file"),
        ('loom "Bike"\n', 1, "this is a harness and no survey"),
        ("", 1, "no line begins with `survey`"),
    ],
)
def test_what_cannot_be_identified(bench: Path, text: str, status: int, said: str) -> None:
    bench.write_text(text)
    result = run("plugs.loom")
    assert result.exit_code == status
    assert said in result.stderr


def test_a_diagram_with_mistakes_is_used_as_far_as_it_was_understood(bench: Path) -> None:
    diagram = Path("points-single.loom")
    diagram.write_text(diagram.read_text().replace("wire 24 ", "wyre 24 "))
    result = run("plugs.loom")
    assert result.exit_code == 1
    assert "no statement begins with `wyre`" in result.stderr
    assert "what was understood of it is used" in result.stderr
    assert "P1: sure: REAR" in result.stdout


def test_a_file_that_is_not_there(bench: Path) -> None:
    result = run("gone.loom")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "cannot read gone.loom" in result.stderr


def test_check_says_what_a_survey_is(bench: Path) -> None:
    result = CliRunner().invoke(main, ["check", "plugs.loom"], catch_exceptions=False)
    assert result.exit_code == 1
    assert "this is a survey, not a harness" in result.output
