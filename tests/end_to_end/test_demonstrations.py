"""The demonstrations are clean by every rule; each faulty harness is wrong as its name says, and in no other way."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import pytest
from spec_files import harnesses

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import Report, catalogue, check
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[2] / "specs"
DEMONSTRATIONS = sorted(
    path.relative_to(SPECS).as_posix()
    for folder in ("", "small")
    for path in harnesses((SPECS / folder).glob("*.loom"))
)
RULES = tuple(rule.name for rule in catalogue())
NEAR = sorted(path.parent.name for path in (SPECS / "rules").glob("*/edge-near.loom"))
TODAY = date(2026, 1, 1)

# One fault that two rules must name: a spark too weak while cranking is a starved load as well, a filament whose lead
# was cut off has a terminal that is not connected, an LED that is wired as in the days of the grounded + is wired
# backwards, what a waiver covered comes back on the day after its last, a winding that nothing limits gives too much
# at full speed, and where the headlamp alone holds it down there is little between too much with it and without.
COMPANIONS = {
    "split-ground": {"floating-ground"},
    "lamp-out": {"overvoltage"},
    "limiter-off": {"loose-end", "overvoltage"},
    "no-cut-out": {"key-off-drain", "live-with-key-out"},
    "overcharge": {"loose-end"},
    "cranking-brownout": {"voltage-drop"},
    "cut-lead": {"loose-end"},
    "polarity-changed": {"reversed-polarity"},
    "expired-waiver": {"unsealed"},
}

# What a missing value leaves unchecked, as of a winding by its watts alone, is stated in a note.
SAID = {"not-judged"}


@cache
def report(name: str) -> Report:
    return check(read_file(str(SPECS / name)), today=TODAY)


def said(findings: tuple[Finding, ...]) -> list[str]:
    return [f"{finding.rule}: {finding.message}" for finding in findings]


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_demonstrations_are_clean(name: str) -> None:
    found = report(name)
    assert not found.mistakes
    assert not found.unchecked
    assert said(tuple(f for f in found.findings if f.rule not in SAID)) == []


@pytest.mark.parametrize("rule", RULES)
def test_each_rule_finds_its_faulty_harness(rule: str) -> None:
    found = report(f"rules/{rule}/edge-found.loom")
    assert rule in {finding.rule for finding in found.findings}


@pytest.mark.parametrize("rule", RULES)
def test_a_faulty_harness_is_otherwise_sound(rule: str) -> None:
    found = report(f"rules/{rule}/edge-found.loom")
    others = {finding.rule for finding in found.findings if finding.level > Level.NOTE} - {rule}
    assert others <= COMPANIONS.get(rule, set())


# A dozen lines with a starter have no gearbox to sense: a note says so.
NEAR_SAID = {*SAID, "starter-interlock"}


@pytest.mark.parametrize("rule", NEAR)
def test_near_misses_are_silent(rule: str) -> None:
    found = report(f"rules/{rule}/edge-near.loom")
    noted = {f.rule for f in found.findings if f.level is Level.NOTE} & (NEAR_SAID - {rule} if rule in RULES else SAID)
    assert said(tuple(f for f in found.findings if f.rule not in noted)) == []
