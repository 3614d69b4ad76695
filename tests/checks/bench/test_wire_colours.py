"""What the colours of the wires mean."""

from __future__ import annotations

from pathlib import Path

from loomwright.checks.bench.wire_colours import wire_colours
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).resolve().parents[3] / "specs"
BIKE = """loom "bike"
place tray
source BAT battery at tray
ground FRAME at tray
fuse F 20 A at tray
switch KEY 5 A key at tray { off: ; on: 1 2 }
switch B 5 A momentary at tray { rest: ; press: 1 2 }
unit U at tray { supply 10 mA: 30 31; input horn grounded: H; output horn 4 A: O when horn }
load HORN horn at tray { horn 3 A: 1 2 }
sensor P at tray { signal 200 ohm: 1 2 }
wire 1 BAT.+ to F.1 red 4 mm2
wire 2 F.2 to KEY.1 red/white 4 mm2
wire 3 KEY.2 to U.30 orange 1 mm2
wire 4 U.31 to FRAME black 1 mm2
wire 5 U.H to B.1 green 1 mm2
wire 6 B.2 to FRAME black 1 mm2
wire 7 U.O to HORN.1 blue 1 mm2
wire 8 HORN.2 to FRAME black 1 mm2
wire 9 BAT.- to FRAME black 4 mm2
wire 10 KEY.2 to C.1s black 1 mm2
wire 11 C.2s to P.1 violet 1 mm2
wire 12 P.2 to C.3s violet 1 mm2
wire 13 C.4s to U.30 1 mm2
connector C 4 ways at tray
"""


def test_each_colour_says_when_its_wires_are_live_or_grounded() -> None:
    reading = read_text(BIKE, "bike.loom")
    assert reading.mistakes == ()
    found = {
        str(each.colour): [(use.meaning, use.whenever, use.wires) for use in each.uses]
        for each in wire_colours(build_circuit(reading.harness))
    }
    assert list(found) == ["black", "blue", "green", "orange", "red", "red/white", "violet"]
    assert found == {
        "black": [("ground", "", ("4", "6", "8", "9")), ("live", "when KEY on", ("10",))],
        "blue": [("live", "when KEY on, B press", ("7",))],
        "green": [("grounded", "when B press", ("5",))],
        "orange": [("live", "when KEY on", ("3",))],
        "red": [("live", "always", ("1",))],
        "red/white": [("live", "always", ("2",))],
        "violet": [("neither", "", ("11", "12"))],
    }


def test_the_first_current_of_a_field_is_no_fault_to_the_next_owner() -> None:
    """With the key on and the engine off some volts are right on the lead of the charge lamp, and none are not."""
    circuit = build_circuit(read_file(SPECS / "stock.loom").harness)
    (brown,) = (each for each in wire_colours(circuit) if str(each.colour) == "brown")
    (use,) = brown.uses
    assert (use.meaning, use.wires) == ("live", ("12", "13", "14"))
    assert use.whenever == (
        "when KEY on, engine idling or running; and at times when engine idling or running; "
        "ALT's first field current, at a low voltage, when KEY on, engine off or cranking"
    )
