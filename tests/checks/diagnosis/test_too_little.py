"""Across a battery that is charged a regulator holds nearer than a meter's whole span: a proof calls less off, and so
does an inquiry.
"""

from __future__ import annotations

import pytest
from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.render.report.diagnosis import inquiry_text


def asked(name: str, state: str, seen: str) -> Diagnosis:
    found = detective(name, state)
    return found.inquire(observations(seen, found.places))


def suspects(found: Diagnosis) -> set[str]:
    return {str(suspect) for suspect in found.suspects}


@pytest.mark.parametrize("volts", ["13.1", "13.3", "13.5", "13.7"])
@pytest.mark.parametrize(("name", "lead"), [("rebuild", "wire 8"), ("stock", "wire 8")])
def test_a_battery_that_gets_too_little_has_what_loses_it_on_the_way(name: str, lead: str, volts: str) -> None:
    """A bad joint of 0.14 ohm loses 1 V of the charging current: 13.3 V was "without any fault", as far as 8 % off."""
    found = asked(name, "riding-dip", f"{volts} V at BAT.+")
    assert not found.sound
    assert [str(each) for each in found.too_little] == [f"{volts} V at BAT.+"]
    assert f"{lead} high resistance" in suspects(found)
    assert {"wire 1 high resistance", "wire 5 high resistance"} <= suspects(found)
    assert len(suspects(found)) < 30
    said = " ".join(inquiry_text(found, detective(name, "riding-dip").point.circuit.harness, "riding-dip").split())
    assert "the battery is charged with 13.8 V at least here" in said


def test_two_readings_of_which_one_is_as_it_should_be_are_not_without_any_fault() -> None:
    found = asked("rebuild", "riding-dip", "13.1 V at BAT.+, 14.2 V at RECT.B+")
    assert not found.sound
    assert "wire 8 high resistance" in suspects(found)


@pytest.mark.parametrize("volts", ["13.8", "14.0", "14.2", "14.6"])
def test_what_a_proof_takes_is_sound(volts: str) -> None:
    assert asked("rebuild", "riding-dip", f"{volts} V at BAT.+").sound


@pytest.mark.parametrize(("state", "seen"), [("key-on", "12.1 V at BAT.+"), ("riding-dip", "13.3 V at F-KEY.2")])
def test_elsewhere_a_meter_has_its_span(state: str, seen: str) -> None:
    assert asked("rebuild", state, seen).sound


def test_beside_something_that_is_dead_the_volts_of_the_battery_have_their_span() -> None:
    """Whoever hunts a dead horn has a battery that is not quite full, too."""
    found = asked("rebuild", "riding-dip", "POS dead, 13.5 V at BAT.+")
    assert found.too_little == ()
    assert not found.partial
    assert "wire 133.1 open" in suspects(found)
