"""What a rule could not search is stated, and is distinguished from what it found."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.behaviour import Behaviour, TooWideError
from loomwright.checks.runner.baseline import new_baseline
from loomwright.checks.runner.run import Report, check
from loomwright.lang.files.reading import read_file
from loomwright.render.formats import json_report, sarif

RULES = Path(__file__).parents[3] / "specs" / "rules"


@pytest.fixture(params=["feedback-path", "lamp-leak"])
def searched(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> tuple[str, Report]:
    """The rule, and what is reported where every question through loads depends on too much."""
    space = Behaviour.space

    def too_wide(self: Behaviour, *questions: object) -> object:
        if any("Through" in type(each).__name__ for each in questions):
            raise TooWideError(frozenset({"KEY", "DIP"}), 1 << 30)
        return space(self, *questions)  # type: ignore[arg-type]

    monkeypatch.setattr(Behaviour, "space", too_wide)
    reading = read_file(next((RULES / request.param).glob("bad*.loom")))
    return request.param, check(reading, today=date(2026, 1, 1))


def test_it_is_not_checked_and_nothing_is_broken(searched: tuple[str, Report]) -> None:
    rule, report = searched
    mine = [each for each in report.findings if each.case == "not-searched"]
    assert rule in {each.rule for each in mine}
    assert {each.outcome for each in mine} == {"not-checked"}
    assert {each.outcome for each in report.findings if each not in mine} <= {"found"}
    assert report.unchecked == ""
    assert new_baseline([report], "accepted.json", {}).refused == ()


def test_machines_are_told(searched: tuple[str, Report]) -> None:
    rule, report = searched
    listed = json.loads(json_report.write([report]))["harnesses"][0]["findings"]
    assert {each["outcome"] for each in listed if each["case"] == "not-searched"} == {"not-checked"}
    assert {each["outcome"] for each in listed if each["case"] != "not-searched"} <= {"found"}
    results = json.loads(sarif.write([report]))["runs"][0]["results"]
    told = [each["ruleId"] for each in results if each.get("properties") == {"outcome": "not-checked"}]
    assert rule in told
    assert set(told) == {each.rule for each in report.findings if each.case == "not-searched"}
