"""Control units by numbers: what their supply, their inputs and their stop lead make of outputs."""

from __future__ import annotations

import pytest

from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BOX = """loom "a box with a kill wire"
source BAT battery {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground F
switch KILL 6 A {{ run: ; stop: 1 2 }}
unit BOX for ignition {{ supply 200 mA: 30 31; stop-lead{half}: K 31; output coil 6 A grounded: C }}
load COIL ignition for ignition {{ primary 3.4 ohm duty 40 %: 15 1 }}
{more}wire 1 BAT.+ to BOX.30 red 1 mm2 0.2 m
wire 2 BOX.31 to F black 1 mm2 0.2 m
wire 3 BAT.+ to COIL.15 red 1 mm2 0.2 m
wire 4 COIL.1 to BOX.C black 1 mm2 0.2 m
wire 5 BOX.K to KILL.1 yellow 1 mm2 0.2 m
wire 6 BAT.- to F black 4 mm2 0.2 m
state riding {{ engine running }}
state stopped {{ KILL stop, engine running }}
"""
STRAIGHT = "wire 7 KILL.2 to F black 1 mm2 0.2 m\n"
FORWARD = "diode D 3 A\nwire 7 KILL.2 to D.A black 1 mm2 0.2 m\nwire 8 D.K to F black 1 mm2 0.2 m\n"
BACKWARD = "diode D 3 A\nwire 7 KILL.2 to D.K black 1 mm2 0.2 m\nwire 8 D.A to F black 1 mm2 0.2 m\n"


@pytest.mark.parametrize(
    ("half", "more", "stops"),
    [
        ("", STRAIGHT, True),
        ("", FORWARD, False),  # both ways are asked for, and a diode passes one
        (" half", FORWARD, True),
        (" half", BACKWARD, False),  # the half wave flows from the lead to the return
    ],
)
def test_the_output_of_a_box_is_off_while_its_kill_wire_is_grounded(half: str, more: str, stops: bool) -> None:
    reading = read_text(BOX.format(half=half, more=more), "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    operation = Operation(build_circuit(reading.harness))
    assert operation.state("riding").amps("COIL.primary") > 3.0
    assert (operation.state("stopped").amps("COIL.primary") < 0.1) is stops
