"""Settings and rules of one's own from the command line; above all, that no code runs which nobody asked for."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main

BIKE = """loom "bike"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
relay K1 30 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
switch HORN-BUTTON 5 A key at tray { off: ; on: 1 2 }
load HORN horn at tray { horn 4 A: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to HORN-BUTTON.1 red 1 mm2 0.1 m
wire 3 HORN-BUTTON.2 to K1.86 grey 1 mm2 0.1 m
wire 4 K1.85 to FRAME black 1 mm2 0.1 m
wire 5 MAIN.2 to K1.30 red/white 1 mm2 0.1 m
wire 6 K1.87 to HORN.1 blue 1 mm2 0.1 m
wire 7 HORN.2 to FRAME black 1 mm2 0.1 m
wire 8 BAT.- to FRAME black 6 mm2 0.2 m
state hooting { HORN-BUTTON on }
"""

SETTINGS = 'own-rules = ["rules/shop.py"]\n'


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, root: Path) -> Path:
    """A folder as DEVELOPERS.md describes it, with the example that is there."""
    text = (root / "DEVELOPERS.md").read_text("utf-8")
    section = text.partition("## Rules of your own\n")[2].partition("\n## ")[0]
    (example,) = re.findall(r"```python\n(.*?)```", section, re.DOTALL)
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "shop.py").write_text(example)
    (tmp_path / "loomwright.toml").write_text(SETTINGS)
    (tmp_path / "bike.loom").write_text(BIKE)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("LOOMWRIGHT_OWN_RULES", raising=False)
    return tmp_path


def run(*arguments: str, **environment: str) -> Result:
    return CliRunner().invoke(main, arguments, env=environment)


def test_the_worked_example_of_the_guide(shop: Path) -> None:
    result = run("check", "bike.loom", "--own-rules")
    assert result.exit_code == 0, result.output
    assert "bike.loom:6:1: note: K1 switches up to 30 A and has no label [unlabelled-relay]" in result.output
    assert "rating: 30 A" in result.output
    assert "not run" not in result.output


def test_its_own_examples_hold(shop: Path) -> None:
    from datetime import date

    from loomwright.checks.runner.own_rules import rules_from_files
    from loomwright.checks.runner.run import catalogue, check
    from loomwright.lang.files.reading import read_text

    (rule,) = rules_from_files(("rules/shop.py",), catalogue())
    for text, times in ((rule.bad, 1), (rule.good, 0)):
        report = check(read_text(text), today=date(2026, 6, 1), own_rules=(rule,))
        assert len([f for f in report.findings if f.rule == rule.name]) == times


def test_the_environment_asks_for_them_too(shop: Path) -> None:
    assert "unlabelled-relay" in run("check", "bike.loom", LOOMWRIGHT_OWN_RULES="1").output


def test_nothing_of_a_folder_runs_by_being_checked(shop: Path) -> None:
    (shop / "rules" / "shop.py").write_text("from pathlib import Path\nPath('ran').write_text('')\nRULES = []\n")
    for command in (
        ["check", "bike.loom"],
        ["check", "."],
        ["check", "bike.loom", "--format", "json"],
        ["accept", "bike.loom"],
        ["size", "bike.loom"],
        ["states", "bike.loom"],
        ["rules"],
        ["tidy", "--check", "."],
    ):
        assert run(*command).exit_code in (0, 1), command
        assert not (shop / "ran").exists(), command
    assert run("check", "bike.loom", "--own-rules").exit_code == 2
    assert (shop / "ran").exists(), "the test itself works"


@pytest.mark.parametrize("format_", ["text", "json", "sarif", "junit", "github", "gitlab"])
def test_every_report_says_that_they_were_not_run(shop: Path, format_: str) -> None:
    result = run("check", "bike.loom", "--format", format_)
    assert result.exit_code == 0, result.output
    if format_ == "json":
        (harness,) = json.loads(result.output)["harnesses"]
        assert harness["own_rules"] == {"run": [], "not_run": ["rules/shop.py"]}
    else:
        assert "own rules were not run: rules/shop.py" in result.output
    if format_ == "text":
        assert result.output.startswith("loomwright.toml:1:1: note: own rules were not run")


def test_they_are_listed_and_explained_where_asked_for(shop: Path) -> None:
    assert "unlabelled-relay" not in run("rules").output
    assert "unlabelled-relay" in run("rules", "--own-rules").output
    assert run("explain", "unlabelled-relay").exit_code == 2
    explained = run("explain", "unlabelled-relay", "--own-rules")
    assert explained.exit_code == 0
    assert "What decides" in explained.output
    assert "our workshop" in explained.output


def test_their_metadata_stand_in_sarif(shop: Path) -> None:
    (logged,) = json.loads(run("check", "bike.loom", "--own-rules", "--format", "sarif").output)["runs"]
    assert "unlabelled-relay" in [rule["id"] for rule in logged["tool"]["driver"]["rules"]]
    indices = {rule["id"]: place for place, rule in enumerate(logged["tool"]["driver"]["rules"])}
    for result in logged["results"]:
        assert result["ruleIndex"] == indices[result["ruleId"]]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("RULE = (", "rules/shop.py: it cannot be imported: line 1: "),
        ("import no_such_module", "ModuleNotFoundError"),
        ("pass", "neither `RULE` nor `RULES`"),
    ],
)
def test_a_file_that_cannot_be_used_is_status_2_and_no_traceback(shop: Path, text: str, said: str) -> None:
    (shop / "rules" / "shop.py").write_text(text)
    result = run("check", "bike.loom", "--own-rules")
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_a_rule_that_breaks_down_is_a_finding(shop: Path) -> None:
    rule = (shop / "rules" / "shop.py").read_text()
    (shop / "rules" / "shop.py").write_text(rule.replace("isinstance(part, Relay)", "isinstance(part, Rely)"))
    result = run("check", "bike.loom", "--own-rules")
    assert result.exit_code == 1
    assert "a fault in the rule itself, NameError at shop.py" in result.output
    assert "Traceback" not in result.output


# --- the other settings ----------------------------------------------------------------------------------------------
THIN = BIKE.replace("wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m", "wire 1 BAT.+ to MAIN.1 red 1 mm2 0.6 m")


def test_settings_say_from_which_level_a_check_fails(shop: Path) -> None:
    (shop / "bike.loom").write_text(BIKE.replace("blue 1 mm2", "blue 0.5 mm2"))
    (shop / "loomwright.toml").write_text('profile = "boat-law"\n')
    assert run("check", "bike.loom").exit_code == 1
    (shop / "loomwright.toml").write_text('fail-on = "error"\n')
    assert run("check", "bike.loom").exit_code == 0
    assert run("check", "bike.loom", "--fail-on", "warning").exit_code == 1, "the command line comes before them"


def test_each_harness_has_the_settings_of_its_own_folder(shop: Path) -> None:
    (shop / "loomwright.toml").write_text('fail-on = "error"\n')
    for name in ("a", "b"):
        (shop / name).mkdir()
        (shop / name / "bike.loom").write_text(BIKE.replace("blue 1 mm2", "blue 0.5 mm2"))
    (shop / "b" / "loomwright.toml").write_text('fail-on = "warning"\n')
    assert run("check", "a/bike.loom").exit_code == 0
    assert run("check", "a/bike.loom", "b/bike.loom").exit_code == 1


def test_settings_name_the_list_of_accepted_findings(shop: Path) -> None:
    (shop / "bike.loom").write_text(THIN)
    (shop / "loomwright.toml").write_text('accepted = "known.json"\n')
    assert run("check", "bike.loom").exit_code == 1, "a list that is not there yet is empty"
    assert "known.json: 1 accepted" in run("accept", "bike.loom").output
    assert run("check", "bike.loom").exit_code == 0
    (shop / "elsewhere").mkdir()
    assert run("check", "bike.loom", "--accepted", "other.json").exit_code == 1


def test_settings_name_a_profile_and_the_harness_comes_before_them(shop: Path) -> None:
    (shop / "loomwright.toml").write_text('profile = "small-craft"\n')

    def profile(*more: str) -> str:
        (harness,) = json.loads(run("check", "bike.loom", "--format", "json", *more).output)["harnesses"]
        return str(harness["profile"])

    assert profile() == "small craft"
    (shop / "bike.loom").write_text(BIKE + "house profile boat-law-3-percent\n")
    assert profile() == "US boat law (used for want of one for motorcycles), 3 % drop"
    assert profile("--profile", "aircraft") == "aircraft practice"


@pytest.mark.parametrize("command", [["check", "bike.loom"], ["accept", "bike.loom"], ["watch", "bike.loom"]])
def test_settings_that_say_something_else_are_status_2(shop: Path, command: list[str]) -> None:
    (shop / "loomwright.toml").write_text('fail_on = "error"\n')
    result = run(*command)
    assert result.exit_code == 2
    assert "no setting is named `fail_on`" in result.output
    assert "the nearest is `fail-on`" in result.output


def test_a_profile_of_the_shop_from_the_command_line(shop: Path) -> None:
    (shop / "bad.toml").write_text("[profile]\n")
    result = run("check", "bike.loom", "--profile", "bad.toml")
    assert result.exit_code == 2
    assert "bad.toml" in result.output
