"""`suspect` where a relay holds itself in: what is seen depends on what went before."""

from __future__ import annotations

from loomwright.checks.diagnosis.observations import Seen
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

LATCHING = """loom "A relay that a button pulls in and its own contact holds"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 20 A blade at tray
switch KEY 15 A key at tray { off: ; on: 30 15 }
switch BTN 5 A momentary at tray { rest: ; press: 1 2 }
relay K 20 A at tray { coil 85 ohm: 86 85; pulled: 30 87 }
load LAMP lamp at tray { lamp 35 W: 1 2 }
load POS lamp at tray { lamp 5 W: 1 2 }
splice SP at tray
splice SP-K at tray
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 red 2.5 mm2 0.2 m
wire 3 KEY.15 to SP orange 2.5 mm2 0.2 m
wire 4 SP to BTN.1 orange 1 mm2 0.2 m
wire 5 BTN.2 to K.86 white 1 mm2 0.2 m
wire 6 K.85 to FRAME black 1 mm2 0.2 m
wire 7 SP to K.30 orange 2.5 mm2 0.2 m
wire 8 K.87 to SP-K blue 2.5 mm2 0.2 m
wire 9 SP-K to LAMP.1 blue 2.5 mm2 0.2 m
wire 10 SP-K to K.86 blue 1 mm2 0.2 m
wire 11 LAMP.2 to FRAME black 2.5 mm2 0.2 m
wire 12 SP to POS.1 orange 1 mm2 0.2 m
wire 13 POS.2 to FRAME black 1 mm2 0.2 m
wire 14 BAT.- to FRAME black 6 mm2 0.2 m
state riding { KEY on }
"""


def detective() -> Diagnoser:
    reading = read_text(LATCHING, "bike.loom")
    assert reading.mistakes == ()
    return Diagnoser(Sweep(Operation(build_circuit(reading.harness))), "riding")


def test_what_a_sound_bike_shows_after_the_button_is_no_fault() -> None:
    # From rest the lamp is dead; once the button was pressed it burns, and nothing is wrong.
    assert detective().inquire([Seen("LAMP", "live")]).sound
    assert detective().inquire([Seen("LAMP", "dead")]).sound


def test_a_fault_is_excluded_only_where_every_history_excludes_it() -> None:
    # POS dead while LAMP burns: its own wires, and only the relay that was pulled before lets them be told.
    found = detective().inquire([Seen("LAMP", "live"), Seen("POS", "dead")])
    assert not found.sound
    assert not found.partial
    assert {s.fault.key for s in found.suspects} >= {"wire 12", "wire 13"}
    assert "wire 1" not in {s.fault.key for s in found.suspects}
