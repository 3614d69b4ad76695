"""Outputs that are on together only while one of them holds are added up: for as long as it holds."""

from __future__ import annotations

import pytest
from checked_text import all_findings

from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BIKE = """loom "Two that are on together only while one holds"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
fuse MAIN {fuse} A blade at tray
switch KEY 30 A key at tray for supply {{ off: ; on: 30 15 }}
switch SEL 1 A at tray {{ rest: ; run: 1 2 }}
ground FRAME at tray
unit CTRL at tray {{
    supply 100 mA: 30 31
    input sel fed: IN
    output fan 12 A{holds}: F when sel
    output pump 12 A: P when not sel
}}
load FAN heater at tray {{ pads 10 A: 1 2 }}
load PUMP heater at tray {{ pads 8 A: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 6 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.30 orange {feed} 0.2 m
wire 5 CTRL.31 to FRAME black 4 mm2 0.2 m
wire 6 CTRL.F to FAN.1 pink 4 mm2 0.2 m
wire 7 FAN.2 to FRAME black 4 mm2 0.2 m
wire 8 CTRL.P to PUMP.1 blue 4 mm2 0.2 m
wire 9 PUMP.2 to FRAME black 4 mm2 0.2 m
wire 10 KEY.15 to SEL.1 green 6 mm2 0.2 m
wire 11 SEL.2 to CTRL.IN green 6 mm2 0.2 m
"""


def bike(holds: str = "", *, fuse: int = 30, feed: str = "6 mm2") -> str:
    return BIKE.format(holds=holds, fuse=fuse, feed=feed)


def told(of: str) -> list[tuple[str, str, tuple[tuple[str, str], ...]]]:
    return [(f.rule, f.message, f.combination) for f in all_findings(of)]


@pytest.mark.parametrize(
    ("holds", "continuous", "held"),
    [
        ("", 10.3, 10.3),  # never together: the larger alone, with the unit's own 0.1 A
        (" holds 5 s", 10.3, 18.3),  # together for a moment only
        (" holds 300 s", 18.3, 18.3),  # together for minutes: copper counts that as for good
        (" after 5 s", 10.3, 10.3),  # late on, and off at once
    ],
)
def test_what_holds_is_added_up_for_as_long_as_it_holds(holds: str, continuous: float, held: float) -> None:
    loading = Operation(build_circuit(read_text(bike(holds)).harness)).loading("wire 4")
    assert loading.continuous.amps == pytest.approx(continuous, abs=0.3)
    assert loading.held.amps == pytest.approx(held, abs=0.3)


def test_the_finding_says_what_still_holds() -> None:
    """80 % of 20 A are 16 A: 10 A alone are borne, 18 A for minutes are not, and a few seconds blow no fuse."""
    (found,) = told(bike(" holds 300 s", fuse=20))
    assert found[0] == "overloaded-fuse"
    assert found[2] == (("KEY", "on"), ("CTRL.fan", "still on"))
    assert told(bike(" holds 5 s", fuse=20)) == []
    assert told(bike(fuse=20)) == []


def test_a_unit_without_its_supply_holds_nothing() -> None:
    """With the ignition off the unit is dead, so nothing is still on: the battery is not drained by what held."""
    points = Operation(build_circuit(read_text(bike(" holds 300 s")).harness)).worst_points
    assert all(point.positions["KEY"] == "on" for point in points if point.lasting)
