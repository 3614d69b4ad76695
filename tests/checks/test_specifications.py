"""The demonstration harnesses under the rules of fire, build and honesty: sound ones pass, faulty ones are found."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.runner.run import Report, catalogue, check, rule_named
from loomwright.lang.files.reading import read_file

TODAY = date(2026, 6, 1)
SPECS = Path(__file__).parents[2] / "specs"
SOUND = [SPECS / "stock.loom", SPECS / "rebuild.loom", *sorted((SPECS / "small").glob("*.loom"))]
FAMILIES = ("fire", "workmanship", "coverage")
FAULTY = sorted(
    path
    for path in (SPECS / "rules").glob("*/edge-*.loom")
    if path.stem in ("edge-found", "edge-near") and (rule := rule_named(path.parent.name)) and rule.family in FAMILIES
)

SAID = {
    "magneto-single.loom": {"not-judged"},
    "stock.loom": {"not-judged"},
    "six-volt-dynamo.loom": {"not-judged"},
}
"""Alternating current is not solved, and no law has opening times for a glass fuse above 10 A: that is stated."""


def report(path: Path) -> Report:
    reading = read_file(path)
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return check(reading, today=TODAY)


@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.name)
def test_a_sound_harness_raises_no_false_alarm(path: Path) -> None:
    mine = {rule.name for rule in catalogue() if rule.family in FAMILIES}
    found = report(path)
    assert found.unchecked == ""
    others = [f"{f.span}: {f.rule}: {f.message}" for f in found.findings if f.rule not in SAID.get(path.name, ())]
    assert [line for line in others if line.split(": ")[1] in mine] == []


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_fault_is_found_and_its_near_miss_is_not(path: Path) -> None:
    found = [f for f in report(path).findings if f.rule == path.parent.name]
    assert bool(found) is (path.stem == "edge-found"), [f.message for f in found]
