"""A charge lamp that is on since nothing charges is fed forwards: it follows from the field without feed."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.run import RuleStudy, check_examined
from loomwright.lang.files.reading import read_text

SPECS = Path(__file__).parents[3] / "specs"
STOCK = (SPECS / "stock.loom").read_text("utf-8")
REBUILD = (SPECS / "rebuild.loom").read_text("utf-8")
LED = STOCK.replace("load WARN lamp", "load WARN led").replace("charge 3 W tell-tale", "charge 0.3 W tell-tale")
NO_112 = "\n".join(line for line in REBUILD.splitlines() if not line.startswith("wire 112 ")) + "\n"
R_620 = REBUILD.replace("R-FIELD 62 ohm", "R-FIELD 620 ohm")


def found(text: str) -> tuple[Finding, ...]:
    reading = read_text(text, str(SPECS / "bike.loom"))
    assert not reading.mistakes
    return check_examined(reading, RuleStudy(reading.harness, today=date(2026, 6, 1), old=reading.old)).findings


@pytest.mark.parametrize("text", [LED, NO_112, R_620], ids=["LED", "without wire 112", "620 ohm"])
def test_the_lamp_follows_from_the_field_without_feed(text: str) -> None:
    findings = found(text)
    (field,) = (f for f in findings if f.rule == "no-field-feed")
    (lamp,) = (f for f in field.members if f.about == ("WARN",))
    assert lamp.rule == "unmet-expectation"
    assert lamp.message.startswith("WARN.charge is expected dead in riding-dip and is on (")
    assert lamp.message.endswith("), since RECT does not charge")
    assert "1 other finding follows from this" in field.message
    assert lamp.to_do.startswith("settle this first") or field.members[0].message in lamp.to_do
    assert "backwards" not in " ".join(f.to_do for f in findings)


def test_where_no_finding_says_why_nothing_charges_the_lamp_says_to_cure_that_first() -> None:
    """The same with the other finding waived: what is left says what it follows from."""
    text = LED + 'waive no-field-feed for ALT because "the field is flashed by hand"\n'
    lamps = [f for f in found(text) if f.rule == "unmet-expectation" and f.about == ("WARN",)]
    assert [f.to_do for f in lamps] == [
        "find out why RECT does not charge, and cure that first: WARN.charge is on for no other reason"
    ]


BACKWARDS = """loom "two lamps, one return"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch ON 10 A at tray { off: ; on: 1 2 }
switch TWO-ON 10 A at tray { off: ; on: 1 2 }
load ONE lamp at tray { one 10 W: 1 2 }
load TWO lamp at tray { two 5 W: 1 2 }
load THREE lamp at tray { three 10 W: 1 2 }
splice SP at tray
splice SP-2 at tray
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to ON.1 red 1 mm2 0.2 m
wire 3 ON.2 to ONE.1 orange 1 mm2 0.2 m
wire 4 ONE.2 to SP black 1 mm2 0.2 m
wire 5 TWO.2 to SP black 1 mm2 0.2 m
wire 6 SP-2 to TWO.1 green 1 mm2 0.2 m
wire 7 SP-2 to THREE.1 green 1 mm2 0.2 m
wire 8 THREE.2 to FRAME black 1 mm2 0.2 m
wire 9 MAIN.2 to TWO-ON.1 red 1 mm2 0.2 m
wire 10 TWO-ON.2 to SP-2 green 1 mm2 0.2 m
wire 11 BAT.- to FRAME black 6 mm2 0.2 m
state one { ON on }
expect in one: TWO dead
"""


def test_what_is_fed_from_its_return_is_fed_backwards() -> None:
    (lamp,) = (f for f in found(BACKWARDS) if f.rule == "unmet-expectation")
    assert lamp.message.startswith("TWO is expected dead in one and gets too much through other loads")
    assert lamp.to_do == "find the load that feeds TWO backwards, or correct the expectation"
