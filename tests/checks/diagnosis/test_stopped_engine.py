"""What is measured where every suspect stops the engine: there is no spark then, and the points stand still."""

from __future__ import annotations

from pathlib import Path

import pytest
from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"
DEAD = "COIL dead, HEAD live, 12.5 V at COIL.15, 12.5 V at COIL.1"


def asked(name: str, *seen: str) -> Diagnosis:
    one = detective(name, "riding")
    return one.inquire([each for text in seen for each in observations(text, one.places)])


def shown(name: str, *seen: str) -> str:
    return inquiry_text(asked(name, *seen), detective(name, "riding").point.circuit.harness, "riding")


def test_the_points_are_read_with_the_engine_stopped() -> None:
    """Behind a coil that is fed 12.5 V with the points open, whatever else is wrong, unless their wire is open."""
    assert (
        "Measure next, with everything as in riding, but the engine stopped with POINTS open; key off while\n"
        "you turn it to there:\n"
        "  meter  DC volts, range 20 V\n"
        "  red    POINTS.1 (switch at engine)\n"
        "  black  BAT.- (source at saddle)\n"
        "  under 6.2 V  3 (predicts 0.0 V)\n"
        "  over 6.2 V   1; 2; 4; nothing wrong (predicts 12.5 V)\n"
    ) in shown("small/points-single", DEAD)


@pytest.mark.parametrize(("reading", "kept"), [("0.0 V at POINTS.1", True), ("12.5 V at POINTS.1", False)])
def test_the_answer_tells_the_wire_to_the_points(reading: str, kept: bool) -> None:
    found = asked("small/points-single", DEAD, reading)
    opened = {each.fault.key for each in found.suspects if each.mode == "open"}
    assert opened == ({"wire 13"} if kept else {"POINTS 1-2", "mount POINTS.2", "wire 7"})


def test_what_is_left_is_measured_with_the_points_closed() -> None:
    said = shown("small/points-single", DEAD, "12.5 V at POINTS.1")
    assert "  POINTS 1-2: POINTS.1 to POINTS.2, turned until it is closed, one end taken off" in said


def test_a_running_engine_is_not_said_to_stand() -> None:
    found = asked("small/points-single", "HEAD dead").next
    assert found is not None
    assert not found.stands
    assert "Measure next, with everything as in riding:\n" in shown("small/points-single", "HEAD dead")


def test_a_box_is_not_condemned_for_its_ohms() -> None:
    """Its 5 W at 110 V would be 2,420 ohm; a diode and a capacitor show an ohm meter what they like. The winding of
    300 ohm joins the ends of what is between it and the box.
    """
    said = " ".join(shown("small/trail-bike", "BOX dead").split())
    assert (
        "BOX.charge: no ohm meter judges it. The file does not state its ohm, and with electronics inside they tell "
        "nothing: see to what feeds BOX and to its ground; try another BOX last."
    ) in said
    assert "wire 1.1: MAG.X to C-MAG.1s, one end taken off: other things join its ends" in said
