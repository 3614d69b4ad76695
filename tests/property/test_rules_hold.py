"""No rule breaks down, whatever the harness, and the same harness gives the same findings."""

from __future__ import annotations

from datetime import date

import hand_made
import random_harness
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.proof.strategies import faulty
from loomwright.checks.runner.run import RuleStudy, catalogue, examine
from loomwright.lang.model.harness import Harness

TODAY = date(2026, 1, 1)
RULES = [rule for rule in catalogue() if rule.family in ("fire", "workmanship", "ground", "coverage")]


@given(st.one_of(hand_made.harnesses(), random_harness.harnesses(), faulty().map(lambda planted: planted.harness)))
@settings(max_examples=30)
def test_no_rule_breaks_down(harness: Harness) -> None:
    found = examine(RuleStudy(harness, today=TODAY), RULES)
    assert [f.message for f in found if "by a fault of Loomwright" in f.message] == []
    assert found == examine(RuleStudy(harness, today=TODAY), RULES)
    assert all("\n" not in finding.message for finding in found)
