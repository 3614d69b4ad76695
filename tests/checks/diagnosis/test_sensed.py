"""What a switch senses and nobody sees: low oil pressure is no fault of the harness, and the engine must stop."""

from __future__ import annotations

import json

import pytest
from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.render.report.diagnosis import inquiry_text
from loomwright.render.report.diagnosis_json import inquiry_json


def asked(name: str, state: str, *texts: str) -> Diagnosis:
    found = detective(name, state)
    return found.inquire([each for text in texts for each in observations(text, found.places)])


@pytest.mark.parametrize(
    ("name", "state", "seen"),
    [
        ("stock", "idling", ("WARN.oil live",)),
        ("rebuild", "riding-dip", ("WARN.oil live",)),
        ("rebuild", "riding-dip", ("WARN.oil live", "14.2 V at C-PANEL.6s")),
        ("stock", "idling", ("WARN.oil live, HORN live",)),  # two things at once: the engine is stopped all the same
    ],
)
def test_a_lamp_that_low_oil_pressure_lights_stops_the_engine_before_anything_is_measured(
    name: str, state: str, seen: tuple[str, ...]
) -> None:
    found = asked(name, state, *seen)
    (low,) = found.sensed
    assert (low.quantity, low.position, low.switches, low.stop) == ("oil-pressure", "low", ("OIL",), True)
    assert str(low.seen[0]) == "WARN.oil live"
    assert (found.next, found.ohms, found.to_ground) == (None, (), ())
    said = " ".join(inquiry_text(found, detective(name, state).point.circuit.harness, state).split())
    assert said.startswith("Stop the engine now: with oil pressure low the harness shows WARN.oil live")
    assert said.partition(" without any fault, ")[2].startswith(
        "and the oil pressure is not judged here. See to the oil level, and measure the pressure with a gauge, before "
        "the engine runs again. Then, with the engine stopped and the key on, pull the wire off OIL: if WARN.oil stays "
        "live, a wire on the way is on ground; if it goes out, the wires are good, and it is the pressure or OIL. "
    )
    for measuring in ("Measure next", "Only this is left", "Stop the engine and turn the key off"):
        assert measuring not in said
    assert json.loads(inquiry_json(found, state))["sensed_otherwise"] == [
        {"quantity": "oil-pressure", "position": "low", "switches": ["OIL"], "stop_the_engine": True}
    ]


@pytest.mark.parametrize(
    ("state", "seen"),
    [
        ("idling", "HEAD.dip dead"),
        ("idling", "WARN.charge live"),
        ("key-on", "WARN.oil dead"),
        ("riding-dip", "HORN live"),
    ],
)
def test_nothing_else_stops_it(state: str, seen: str) -> None:
    """Nor has an engine that stands oil pressure: a dead oil lamp is a fault then."""
    assert asked("stock", state, seen).sensed == ()


FAN = """loom "A fan and its switch"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch HOT 10 A senses temperature at tray { cool: ; hot: 1 2 }
load FAN motor at tray { fan 6 A: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to HOT.1 red 2.5 mm2 0.2 m
wire 3 HOT.2 to FAN.1 blue 2.5 mm2 0.2 m
wire 4 FAN.2 to BAT.- black 2.5 mm2 0.2 m
state cold { }
state warm { HOT hot }
"""


@pytest.mark.parametrize(
    ("state", "seen", "said"),
    [
        ("cold", "FAN live", "With temperature hot the harness shows FAN live without any fault: see to that first."),
        ("warm", "FAN dead", "With temperature cool the harness shows FAN dead without any fault: see to that first."),
    ],
)
def test_another_quantity_comes_before_any_fault(state: str, seen: str, said: str) -> None:
    reading = read_text(FAN, "fan.loom")
    assert reading.mistakes == ()
    found = Diagnoser(Sweep(Operation(build_circuit(reading.harness))), state)
    diagnosis = found.inquire(observations(seen, found.places))
    assert not diagnosis.stops_first
    assert " ".join(inquiry_text(diagnosis, reading.harness, state).split()).startswith(said)
