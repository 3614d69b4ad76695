"""Whether one way of a fault current asks for contacts that are never closed at once."""

from __future__ import annotations

import pytest

from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

HEAD = """loom "x"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME
fuse F1 10 A blade
fuse F2 7.5 A blade
switch C 10 A { x: 1 2; y: 1 3 }
load LAMP lamp { e 5 W: 1 2 }
wire g BAT.- to FRAME black 6 mm2 0.1 m
wire r LAMP.2 to FRAME black 1 mm2 0.1 m
wire a BAT.+ to F2.1 red 1 mm2 0.1 m
wire b BAT.+ to C.2 red 1 mm2 0.1 m
"""


@pytest.mark.parametrize(
    ("wires", "amps"),
    [
        ("wire w F1.1 to F2.2 red 1 mm2 0.1 m\nwire c F1.2 to C.3 red 1 mm2 0.1 m", 7.5),
        ("wire w F1.1 to F2.2 red 1 mm2 0.1 m\nwire c F1.2 to C.1 red 1 mm2 0.1 m", 10.0),
        ("wire c C.1 to F1.1 red 1 mm2 0.1 m\nwire w F1.2 to LAMP.1 red 1 mm2 0.1 m", 10.0),
    ],
    ids=["through both throws: never", "through one throw", "one fuse behind one throw"],
)
def test_one_fuse_behind_both_throws_of_a_change_over_feeds_no_fault(wires: str, amps: float) -> None:
    reading = read_text(f"{HEAD}{wires}\n", "x.loom")
    assert [mistake.message for mistake in reading.mistakes] == []
    assert Protection(build_circuit(reading.harness)).sustained_faults["w"].amps == amps
