"""Every rule's own examples: it finds fault with the bad one, passes the near miss, and says nothing else untoward."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.findings.finding import Level
from loomwright.checks.rule import Rule
from loomwright.checks.runner.examples import FOLDER, example
from loomwright.checks.runner.run import Report, catalogue, check
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 6, 1)

ALSO: dict[str, set[str]] = {
    "split-ground": {"floating-ground"},  # whatever is on such a ground has no ground return
    "cranking-brownout": {"voltage-drop"},  # an ignition that starves while cranking is starved
    "undecided-path": {"floating-ground"},  # only what returns through other loads is ever undecided
}
"""Errors of other rules that a bad example cannot but have."""


@pytest.fixture(params=catalogue(), ids=lambda rule: rule.name)
def rule(request: pytest.FixtureRequest) -> Rule:
    found: Rule = request.param
    return found


def report(text: str, name: str) -> Report:
    reading = read_text(text, f"{name}.loom", load=lambda path: (FOLDER / name / path.name).read_text("utf-8"))
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return check(reading, today=TODAY)


def test_the_bad_example_is_found(rule: Rule) -> None:
    found = report(example(rule, "bad"), rule.name)
    assert found.unchecked == ""
    mine = [f for f in (*found.findings, *found.waived) if f.rule == rule.name]
    assert mine, [f.message for f in found.findings]
    assert all(f.level <= rule.level for f in mine)
    for finding in mine:
        assert finding.span.file == f"{rule.name}.loom"
        assert "\n" not in finding.message
        assert not finding.message.endswith(".")
        assert finding.source
        assert finding.to_do


def test_the_bad_example_shows_no_other_error(rule: Rule) -> None:
    others = {f.rule: f.message for f in report(example(rule, "bad"), rule.name).findings if f.level is Level.ERROR}
    others.pop(rule.name, None)
    assert {name: text for name, text in others.items() if name not in ALSO.get(rule.name, ())} == {}


def test_the_near_miss_passes(rule: Rule) -> None:
    found = report(example(rule, "good"), rule.name)
    assert found.unchecked == ""
    assert [f.message for f in found.findings if f.rule == rule.name] == []
    assert [f"{f.rule}: {f.message}" for f in found.findings if f.level is Level.ERROR] == []
