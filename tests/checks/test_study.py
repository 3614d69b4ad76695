"""One harness under examination: what is asked for at one place only."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import planted_faults
import pytest

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.run import RuleStudy, rule_named
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.files.reading import read_file

ROOT = Path(__file__).resolve().parents[2]
NARROWED = (
    "floating-ground",
    "impossible-state",
    "never-live",
    "no-field-feed",
    "no-kill-path",
    "undecided-path",
    "unmet-expectation",
)
"""Rules that leave out what lies at other places."""


def found(name: str, study: RuleStudy) -> list[Finding]:
    rule = rule_named(name)
    assert rule is not None
    return list(rule.find(study))


@pytest.mark.parametrize("name", NARROWED)
def test_at_one_place_a_rule_finds_what_it_finds_there_anyway(name: str) -> None:
    harness = read_file(str(ROOT / "specs" / "rules" / name / "bad.loom")).harness
    study = RuleStudy(harness, today=date(2026, 1, 1))
    everything = found(name, study)
    assert everything
    for at in {finding.span for finding in everything} | {Span(harness.file, 1, 1, 2)}:
        with study.asking_only(at):
            there = [finding for finding in found(name, study) if finding.span == at]
        assert there == [finding for finding in everything if finding.span == at]
    assert found(name, study) == everything


def test_what_is_left_out_is_not_worked_out() -> None:
    harness = next(iter(planted_faults.sound_harnesses()))
    study = RuleStudy(harness, today=date(2026, 1, 1))
    (first, *others) = [claim for expectation in harness.expectations for claim in expectation.claims]
    assert others
    with study.asking_only(first.span):
        assert {proved.claim for proved in study.properties.claims} <= {first}
        assert study.properties.kills == ()
    assert len(study.properties.claims) > 1
    assert study.properties.kills
