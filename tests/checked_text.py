"""What one rule says of a text, or all of them: for tests of rules and for trials."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.run import RuleStudy, check, examine, is_broken, rule_named
from loomwright.lang.files.reading import Reading, read_text

TODAY = date(2026, 6, 1)
TRIALS = Path(__file__).parent / "trials"

BENCH = """
loom "bench"
place tray, bars
place tail wet
route tray bars 0.8 m flexing
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, bars, tail
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { off: ; on: 1 2 }
wire b BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire m MAIN.2 to KEY.1 red 2 mm2 0.1 m
wire g BAT.- to FRAME black 6 mm2 0.2 m
"""
"""A battery, a fuse and a key at the tray; what is behind KEY.2 is for the test to add."""


def sound(text: str) -> Reading:
    """A text as it is read, which must be without a mistake."""
    reading = read_text(text, "bike.loom")
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return reading


def all_findings(text: str) -> list[Finding]:
    """What all rules find in a text."""
    return list(check(sound(text), today=TODAY).findings)


def trial(name: str, *changes: tuple[str, str]) -> str:
    """The text of a trial with something in it exchanged, each time as ``(old, new)``."""
    text = (TRIALS / f"{name}.loom").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def findings(rule: str, text: str, *, bench: bool = True) -> tuple[Finding, ...]:
    """What the rule finds in the text, put behind the bench unless that is stated not to be."""
    reading = sound((BENCH if bench else "") + text)
    found = rule_named(rule)
    assert found is not None, rule
    result = examine(RuleStudy(reading.harness, today=TODAY), [found])
    assert not [f.message for f in result if is_broken(f)]
    return result


def about(rule: str, text: str, *, bench: bool = True) -> list[str]:
    """The first thing that each finding of the rule is about, in order."""
    return [finding.about[0] for finding in findings(rule, text, bench=bench)]
