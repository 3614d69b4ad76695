"""A rule that a harness judges otherwise is reported in every report, a danger before all else."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import jsonschema
import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main

BIKE = """loom "bike"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.6 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.1 m
wire 3 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
judge short-wire error because "we measure twice"
judge unfused-feed off because "sheathed all the way"
"""

SAID = "unfused-feed, a rule of family fire, is switched off in this harness (1 finding): sheathed all the way"


@pytest.fixture(autouse=True)
def _bike(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_text(BIKE)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


def test_text_says_it_first_and_last() -> None:
    result = run("check", "bike.loom")
    assert result.exit_code == 0
    lines = result.output.splitlines()
    assert lines[0] == f"bike.loom:14:7: note: {SAID} [judged-rule]"
    assert "what it catches can burn, strand or hurt" in lines[2]
    assert "unfused-feed (fire) is switched off" in lines[-1]
    assert "short-wire counts as an error" in result.output


def test_what_it_found_is_shown_where_asked_for() -> None:
    shown = run("check", "bike.loom", "--show-waived").output
    assert "wire 1 has no fuse between it and BAT" in shown
    assert "waived: switched off: sheathed all the way" in shown


def test_json_has_it_as_the_schema_says(root: Path) -> None:
    document = json.loads(run("check", "bike.loom", "--format", "json").output)
    jsonschema.validate(document, json.loads((root / "render/formats/report.schema.json").read_text()))
    (harness,) = document["harnesses"]
    off, raised = harness["judged"]
    assert (off["rule"], off["family"], off["level"], off["danger"]) == ("unfused-feed", "fire", "off", True)
    assert (off["as_it_comes"], off["findings"], off["because"]) == ("error", 1, "sheathed all the way")
    assert (raised["rule"], raised["danger"], raised["findings"]) == ("short-wire", False, 0)
    assert [f["rule"] for f in harness["waived"]] == ["unfused-feed"]
    assert harness["counts"]["error"] == 0


def test_sarif_has_it_as_a_note_and_knows_its_rule(root: Path) -> None:
    log = json.loads(run("check", "bike.loom", "--format", "sarif").output)
    (schema,) = (root / "tests/reference/schemas").glob("*sarif*")
    jsonschema.validate(log, json.loads(schema.read_text()))
    first = log["runs"][0]["results"][0]
    assert (first["ruleId"], first["level"]) == ("judged-rule", "note")
    assert first["message"]["text"].startswith(SAID)
    assert log["runs"][0]["tool"]["driver"]["rules"][first["ruleIndex"]]["id"] == "judged-rule"
    assert "suppressions" not in first


def test_junit_has_it_beside_what_passes() -> None:
    (suite,) = ElementTree.fromstring(run("check", "bike.loom", "--format", "junit").output)
    assert suite.get("failures") == "0"
    assert SAID in (suite.findtext("system-out") or "")


def test_github_shows_a_danger_before_all_as_a_warning() -> None:
    first, second = run("check", "bike.loom", "--format", "github").output.splitlines()[:2]
    assert first.startswith("::warning file=bike.loom,line=14")
    assert SAID in first
    assert second.startswith("::notice file=bike.loom,line=13")


def test_gitlab_has_it() -> None:
    issues = json.loads(run("check", "bike.loom", "--format", "gitlab").output)
    assert [(i["check_name"], i["severity"]) for i in issues] == [("judged-rule", "info")] * 2
    assert issues[0]["description"] == SAID


def test_it_cannot_be_accepted_away() -> None:
    assert run("accept", "bike.loom").exit_code == 0
    assert SAID in run("check", "bike.loom", "--accepted", "accepted.json").output


def test_off_without_a_reason_is_an_error() -> None:
    for reason in ("", ' because ""'):
        Path("bike.loom").write_text(BIKE + f"judge dead-short off{reason}\n")
        result = run("check", "bike.loom")
        assert result.exit_code == 1
        assert "1 error" in result.output
