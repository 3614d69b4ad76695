"""A reading between two ends of a winding that alternate against ground, each its own way."""

from __future__ import annotations

from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

TAPPED = """
loom "A winding grounded at its tap, beside a battery"
system 12 V negative ground
source MAG alternator { winding light 0.6 ohm open 24 V short 6 A: A T B }
load HEAD lamp { dip 35 W dip-beam: 1 2 }
source BAT battery { voltage 12.6 V; capacity 5 Ah; resistance 20 mohm }
ground FRAME
wire 1 MAG.A to HEAD.1 yellow 1.5 mm2 0.5 m
wire 2 MAG.B to HEAD.2 white 1.5 mm2 0.5 m
wire 3 MAG.T to FRAME black 1 mm2 0.1 m
wire 4 BAT.- to FRAME black 1.5 mm2 0.2 m
state riding { engine running }
"""


def test_what_is_between_them_is_no_difference_of_what_each_has_to_ground() -> None:
    """Each end has half of it against the tap, in opposite step."""
    reading = read_text(TAPPED)
    assert [m.message for m in reading.mistakes] == []
    diagnoser = Diagnoser(Sweep(Operation(build_circuit(reading.harness))), "riding")
    assert diagnoser.inquire(observations("18.4 V from HEAD.1 to HEAD.2", diagnoser.places)).sound
    assert diagnoser.inquire(observations("9.2 V from HEAD.1 to FRAME", diagnoser.places)).sound
    assert not diagnoser.inquire(observations("1 V AC from HEAD.1 to HEAD.2", diagnoser.places)).sound
