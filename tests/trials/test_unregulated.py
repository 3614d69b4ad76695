"""A machine that charges, and nothing says the voltage that it is held at: what was not judged is stated."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text

TEXT = """
loom "Charging"
source BAT battery { voltage 12.6 V; capacity 9 Ah; resistance 25 mohm }
source ALT alternator { output 130 W: B+ B-%s }
fuse MAIN 20 A blade
ground F
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to ALT.B+ red 4 mm2 0.15 m
mount ALT.B- to F
wire 3 BAT.- to F black 4 mm2 0.3 m
state riding { engine running }
"""


def said(regulated: str) -> list[str]:
    report = check(read_text(TEXT % regulated), today=date(2026, 1, 1))
    assert not report.mistakes
    found = [f for f in report.findings if f.rule == "not-judged"]
    assert all(f.level is Level.NOTE and "ALT" in f.about for f in found)
    return [note.text for f in found for note in f.notes if "regulated voltage" in note.text]


def test_a_machine_without_a_regulated_voltage_is_said() -> None:
    (message,) = said("")
    assert message == "regulated voltage of ALT: 14.2 V assumed, overcharging not checked"


@pytest.mark.parametrize("volts", ["; regulated 14.2 V"])
def test_one_that_says_it_is_not(volts: str) -> None:
    assert said(volts) == []
