"""Two latches of which either clears the other are never counted as set together; two that a hazard switch sets are."""

from __future__ import annotations

import pytest

from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BIKE = """
loom "Turn lamps behind a box"
source BAT battery for supply {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
fuse F 10 A blade
switch L momentary 1 A {{ rest: ; press: 1 2 }}
switch R momentary 1 A {{ rest: ; press: 1 2 }}
switch H 1 A {{ off: ; on: 1 2 }}
unit BOX "Turn lamps" {{
    supply 30 mA: 30 31
    input l grounded: LI
    input r grounded: RI
    input h grounded: HI
    latch left: set when {left}
    latch right: set when {right}
    output lamps-left 5 A: OL when left
    output lamps-right 5 A: OR when right
}}
load FL lamp for signals {{ turn 21 W lamp: 1 2 }}
load FR lamp for signals {{ turn 21 W lamp: 1 2 }}
wire 1 BAT.+ to F.1 red 2 mm2 0.2 m
wire 2 F.2 to BOX.30 red 2 mm2 0.5 m
wire 3 BOX.31 to BAT.- black 2 mm2 0.5 m
wire 4 BOX.LI to L.1 white 1 mm2 0.5 m
wire 5 BOX.RI to R.1 white 1 mm2 0.5 m
wire 6 BOX.HI to H.1 white 1 mm2 0.5 m
wire 7 L.2 to BAT.- black 1 mm2 0.5 m
wire 8 R.2 to BAT.- black 1 mm2 0.5 m
wire 9 H.2 to BAT.- black 1 mm2 0.5 m
wire 10 BOX.OL to FL.1 green 1 mm2 0.5 m
wire 11 BOX.OR to FR.1 green 1 mm2 0.5 m
wire 12 FL.2 to BAT.- black 1 mm2 0.5 m
wire 13 FR.2 to BAT.- black 1 mm2 0.5 m
state rest {{ H off }}
"""
ONE = 21.0 / 12.0
"""A of one lamp at its rated voltage."""


@pytest.mark.parametrize(
    ("left", "right", "lamps"),
    [
        ("l and not r, cleared when r", "r and not l, cleared when l", 1),
        ("l, cleared when h", "r, cleared when h", 2),
        ("l or h, cleared when r and not h", "r or h, cleared when l and not h", 2),
    ],
)
def test_what_excludes_each_other_is_not_counted_together(left: str, right: str, lamps: int) -> None:
    reading = read_text(BIKE.format(left=left, right=right).strip() + "\n", "bike.loom")
    assert reading.mistakes == ()
    operation = Operation(build_circuit(reading.harness))
    assert operation.loading("F").held.amps == pytest.approx(lamps * ONE, rel=0.06)
