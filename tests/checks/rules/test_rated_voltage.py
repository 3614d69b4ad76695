"""Rated voltage of capacitors, lamps, coils and batteries against that of the system."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.rules.behaviour.wrong_voltage import RULE
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.branch_types import OF_ELEMENT, BranchType
from loomwright.lang.files.reading import read_text


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
    notes = [note.text for f in findings(CAPACITOR.format(rating=rating), "not-judged") for note in f.notes]
    assert notes.count("rated voltage of CAP: not checked against the charging voltage") == listed


def test_a_capacitor_below_the_battery_is_an_error() -> None:
    (found,) = findings(CAPACITOR.format(rating="22 mF 10 V"), "capacitor-volts")
    assert found.level is Level.ERROR
    assert found.message == "CAP is rated 10 V, and BAT puts up to 12.6 V across it"


RIG = """
loom "Rated voltage"
source BAT battery {{ voltage 12.6 V; capacity 9 Ah; resistance 25 mohm }}
fuse MAIN 10 A blade
switch KEY 10 A key {{ off: ; on: 1 2 }}
ground F
splice S
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red 2.5 mm2 0.15 m
wire 3 KEY.2 to S red 2.5 mm2 0.15 m
wire 4 BAT.- to F black 4 mm2 0.3 m
state riding {{ KEY on }}
{more}
"""


def one(element: str, between: str = "wire 5 S to X.1 red 1 mm2 0.2 m") -> str:
    return RIG.format(more=f"load X {{ a {element}: 1 2 }}\n{between}\nwire 6 X.2 to F black 1 mm2 0.2 m")


@pytest.mark.parametrize(
    ("element", "message"),
    [
        ("21 W at 6 V lamp tail-lamp", "X.a is rated 6 V, and the system is 12 V: it soon burns out"),
        ("21 W at 24 V lamp tail-lamp", "X.a is rated 24 V, and the system is 12 V: it stays dim"),
        ("2 W at 6 V led", "X.a is rated 6 V, and the system is 12 V: it soon burns out"),
        ("3 A at 6 V horn", "X.a is rated 6 V, and the system is 12 V: it overheats"),
        ("1.5 ohm at 8 V ignition", "X.a is rated 8 V, and the system is 12 V: it overheats"),
    ],
)
def test_a_load_of_another_voltage_is_a_warning(element: str, message: str) -> None:
    (found,) = findings(one(element), "wrong-voltage")
    assert (found.level, found.message, found.about) == (Level.WARNING, message, ("X",))
    assert found.to_do.startswith("fit one rated 12 V at X.a")


@pytest.mark.parametrize(
    "element", ["21 W lamp tail-lamp", "21 W at 12 V lamp", "21 W at 13.5 V lamp", "3 A at 14 V horn"]
)
def test_what_is_made_for_the_system_is_silent(element: str) -> None:
    assert findings(one(element), "wrong-voltage") == []


def test_a_relay_coil_of_another_voltage_is_a_warning() -> None:
    relay = "relay K 20 A {{ coil {ohms} ohm at {volts} V: 86 85; pulled: 30 87 }}\n"
    wires = "wire 7 S to K.86 red 1 mm2 0.2 m\nwire 8 K.85 to F black 1 mm2 0.2 m"
    (low,) = findings(RIG.format(more=relay.format(ohms=20, volts=6) + wires), "wrong-voltage")
    assert low.message == "K coil is rated 6 V, and the system is 12 V: it overheats"
    (high,) = findings(RIG.format(more=relay.format(ohms=300, volts=24) + wires), "wrong-voltage")
    assert high.message == "K coil is rated 24 V, and the system is 12 V: it may not pull in"
    # Its pull-in voltage is that of a 24 V coil, so `weak-relay` has a figure for it.
    (weak,) = findings(RIG.format(more=relay.format(ohms=300, volts=24) + wires), "weak-relay")
    assert "pulls in from 16.1 V" in weak.message
    assert not findings(RIG.format(more=relay.format(ohms=300, volts=12) + wires), "weak-relay")


TWO = """
load X {{ a {one} W at 6 V lamp: 1 2 }}
load Y {{ a {other} W at 6 V lamp: 1 2 }}
wire 5 S to X.1 red 1 mm2 0.2 m
wire 6 X.2 to Y.1 red 1 mm2 0.2 m
wire 7 Y.2 to F black 1 mm2 0.2 m
"""


def test_two_lamps_of_half_the_voltage_in_series_are_sound_while_alike() -> None:
    assert findings(RIG.format(more=TWO.format(one=21, other=21)), "wrong-voltage") == []
    (found,) = findings(RIG.format(more=TWO.format(one=21, other=5)), "wrong-voltage")
    assert found.about == ("Y",)
    assert found.state == "riding"
    assert found.message.startswith("Y.a is rated 6 V and gets ")
    assert found.message.endswith(" V in series, at most 7.5 V is allowed: it soon burns out")


def test_a_coil_behind_its_ballast_is_sound_though_cranking_bypasses_it() -> None:
    ballast = """
resistor R 1.5 ohm 30 W
switch START 10 A momentary {{ rest: ; press: 1 2 }}
load X {{ a 1.5 ohm at 8 V ignition: 1 2 }}
wire 5 S to R.1 red 1 mm2 0.2 m
wire 6 R.2 to X.1 red 1 mm2 0.2 m
wire 7 S to START.1 red 1 mm2 0.2 m
wire 8 START.2 to X.1 red 1 mm2 0.2 m
wire 9 X.2 to F black 1 mm2 0.2 m
state cranking {{ KEY on, START press, engine cranking }}
""".replace("{{", "{").replace("}}", "}")
    assert findings(RIG.format(more=ballast), "wrong-voltage") == []


def test_a_starter_of_the_old_voltage_is_left_out() -> None:
    motor = """
load M motor for starting {{ a 100 A at 6 V: 1 2 }}
wire 5 BAT.+ to M.1 red 16 mm2 0.2 m
wire 6 M.2 to F black 16 mm2 0.2 m
""".replace("{{", "{").replace("}}", "}")
    assert findings(RIG.format(more=motor), "wrong-voltage") == []


def test_a_lamp_has_its_watts_at_its_own_voltage() -> None:
    """21 W at 6 V are 3.5 A there, and by the exponent of 0.55 5.2 A at 12.5 V; as a 12 V lamp 1.8 A."""
    text = one("21 W at 6 V lamp") + "expect in riding: X at least 5 A, X at most 5.4 A\n"
    assert findings(text, "unmet-expectation") == []
    text = one("21 W lamp") + "expect in riding: X at least 1.7 A, X at most 1.9 A\n"
    assert findings(text, "unmet-expectation") == []


@pytest.mark.parametrize("kind", OF_ELEMENT.values(), ids=lambda kind: kind.title)
def test_the_rule_says_what_a_wrong_voltage_does_to_every_element(kind: BranchType) -> None:
    assert {f"{kind.name.lower()}-over", f"{kind.name.lower()}-under"} <= RULE.says.keys()
