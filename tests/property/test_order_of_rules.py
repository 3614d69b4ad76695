"""What a rule finds does not depend on which rules asked before it: in any order, and alone, each finds the same."""

from __future__ import annotations

import random
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planted_faults import planted, sound_harnesses

from loomwright.checks.rule import Rule
from loomwright.checks.runner.run import RuleStudy, catalogue, examine
from loomwright.lang.model.harness import Harness
from loomwright.render.report.findings import finding_text

TODAY = date(2026, 1, 1)
SOUND = tuple(sound_harnesses())
RULES = tuple(rule for rule in catalogue() if not rule.needs_all)
ASKING = (
    "both-beams",
    "feedback-path",
    "floating-ground",
    "held-on",
    "live-with-key-out",
    "run-on",
    "stop-always-on",
    "stop-lamp-controls",
    "unreliable-ground",
)
"""Rules that read what is in the scope of a question, or solve a combination of it."""


def of(harness: Harness, rules: list[Rule]) -> list[tuple[str, str]]:
    """What rules say, by rule; what was not judged aside, which is reported of all rules together."""
    found = examine(RuleStudy(harness, today=TODAY), rules)
    return [(f.rule, finding_text(f)) for f in found if f.rule != "not-judged"]


def faulty(seed: int) -> Harness:
    """A sound harness with one fault, where this kind of fault finds a place in it."""
    harness = SOUND[seed % len(SOUND)]
    found = planted(harness, seed)
    return harness if found is None else found.faulty


def same_in_any_order(harness: Harness, chance: random.Random) -> None:
    whole = of(harness, list(RULES))
    mixed = list(RULES)
    chance.shuffle(mixed)
    assert of(harness, mixed) == whole
    for rule in RULES:
        if rule.name in ASKING:
            assert of(harness, [rule]) == [told for told in whole if told[0] == rule.name]


@pytest.mark.parametrize("seed", [1, 3, 19, 51])
def test_rules_find_the_same_in_any_order_and_alone(seed: int) -> None:
    same_in_any_order(faulty(seed), random.Random(seed))


@given(st.integers(0, 1 << 32), st.randoms(use_true_random=False))
@settings(max_examples=3, deadline=None)
def test_rules_find_the_same_in_any_order_with_any_fault(seed: int, chance: random.Random) -> None:
    same_in_any_order(faulty(seed), chance)
