"""Rated voltage of capacitors, lamps, coils and batteries against that of the system."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.finding import Finding, Level
from loomwright.checks.runner import check
from loomwright.lang.reading import read_text


def findings(text: str, rule: str) -> list[Finding]:
    report = check(read_text(text), today=date(2026, 1, 1))
    assert not report.mistakes, [m.message for m in report.mistakes]
    return [f for f in report.findings if f.rule == rule]


CAPACITOR = """
loom "Capacitor"
source BAT battery {{ voltage 12.6 V; capacity 9 Ah; resistance 25 mohm }}
fuse MAIN 10 A blade
ground F
capacitor CAP {rating}
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to CAP.+ red 2.5 mm2 0.15 m
wire 3 CAP.- to F black 2.5 mm2 0.3 m
wire 4 BAT.- to F black 4 mm2 0.3 m
"""


@pytest.mark.parametrize(("rating", "listed"), [("22 mF", 1), ("0.1 mF", 1), ("0.2 uF", 0), ("22 mF 25 V", 0), ("", 0)])
def test_an_electrolytic_capacitor_without_a_voltage_is_listed(rating: str, listed: int) -> None:
    messages = [f.message for f in findings(CAPACITOR.format(rating=rating), "not-judged")]
    said = "rated voltage: CAP (whether it is rated for the charging voltage not judged)"
    assert sum(said in message for message in messages) == listed


def test_a_capacitor_below_the_battery_is_an_error() -> None:
    (found,) = findings(CAPACITOR.format(rating="22 mF 10 V"), "capacitor-volts")
    assert found.level is Level.ERROR
    assert found.message == "CAP is rated 10 V and gets up to 12.6 V from BAT"
