"""What is connected to a unit's reference output has the reference's volts, not those of the unit's supply."""

from __future__ import annotations

import ngspice
import pytest
from checked_text import all_findings
from outside import require_tool

from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BIKE = """loom "Reference"
place tray
source BAT battery at tray for supply {{ voltage {volts} V; capacity 14 Ah; resistance 15 mohm }}
fuse MAIN 10 A blade at tray
switch KEY 15 A key at tray for supply {{ off: ; on: 30 15 }}
ground FRAME at tray
unit CTRL at tray {{
    supply 100 mA: 30 31
    output ref 50 mA {ref}: VREF
    common: SG
}}
resistor R1 1 kohm 1 W at tray
sensor TPS at tray for sensing {{ signal {ohms} ohm: 1 2 }}
{more}
splice SP at tray
splice SG at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.30 orange 1 mm2 0.2 m
wire 5 CTRL.31 to FRAME black 1 mm2 0.2 m
wire 6 CTRL.VREF to SP pink 0.35 mm2 0.2 m
wire 7 SP to R1.1 pink 0.35 mm2 0.2 m
wire 8 R1.2 to TPS.1 pink 0.35 mm2 0.2 m
wire 9 TPS.2 to SG black 0.35 mm2 0.2 m
wire 10 SG to CTRL.SG black 0.35 mm2 0.2 m
state riding {{ KEY on }}
state parked {{ KEY off }}
"""
LED = """load EYE lamp at tray for sensing {{ led 20 mA{needs}: 1 2 }}
wire 11 SP to EYE.1 pink 0.35 mm2 0.2 m
wire 12 EYE.2 to SG black 0.35 mm2 0.2 m"""


def bike(*, volts: float = 12.6, ref: str = "5 V", ohms: float = 1000, more: str = "") -> str:
    return BIKE.format(volts=volts, ref=ref, ohms=ohms, more=more)


def point(of: str, state: str = "riding") -> OperatingPoint:
    return Operation(build_circuit(read_text(of).harness)).state(state)


@pytest.mark.parametrize("volts", [12.6, 9.0])  # whatever the battery has, as long as the unit works
def test_a_divider_on_a_reference_of_5_volts_has_half_of_them(volts: float) -> None:
    found = point(bike(volts=volts))
    assert found.across("TPS") == pytest.approx(2.5, abs=0.01)
    assert found.amps("CTRL.ref") == pytest.approx(0.0025, abs=1e-5)  # 5 V over 2 kohm, out of the unit


def test_without_volts_of_its_own_an_output_has_those_of_its_supply() -> None:
    assert point(bike(ref="")).across("TPS") == pytest.approx(6.3, abs=0.01)


def test_a_unit_without_its_supply_gives_no_reference() -> None:
    assert point(bike(), "parked").across("TPS") == pytest.approx(0.0, abs=1e-3)


def test_a_reference_gives_its_rated_current_and_hardly_more() -> None:
    """A load of 10 ohm would take 0.5 A at 5 V; one of 150 ohm takes 33 mA."""
    load = """load X heater at tray for sensing {{ pad {ohms} ohm needs 1 V: 1 2 }}
wire 11 SP to X.1 pink 0.35 mm2 0.2 m
wire 12 X.2 to SG black 0.35 mm2 0.2 m"""
    assert point(bike(more=load.format(ohms=150))).amps("CTRL.ref") == pytest.approx(0.0025 + 5 / 150, rel=0.01)
    overloaded = point(bike(more=load.format(ohms=10)))
    assert overloaded.amps("CTRL.ref") == pytest.approx(0.05, rel=0.02)
    assert overloaded.across("X.pad") == pytest.approx(0.5, rel=0.02)


@pytest.mark.parametrize(("volts", "ohms"), [(12.6, 1000.0), (9.0, 22.0), (14.1, 300.0)])
def test_ngspice_has_the_same(volts: float, ohms: float) -> None:
    program = require_tool("ngspice")
    circuit = build_circuit(read_text(bike(volts=volts, ohms=ohms)).harness)
    operation = Operation(circuit)
    for name in ("riding", "parked"):
        assert ngspice.compare(program, circuit, operation.state(name).flow) == [], name


def test_thin_sensor_wires_behind_a_reference_that_limits_its_current_are_sound() -> None:
    """0.35 mm2 behind 10 A would be at fault; behind 50 mA that a reference holds to, it is not."""
    assert [f.message for f in all_findings(bike())] == []
    plain = all_findings(bike(ref=""))
    assert "wire 6" in next(f.message for f in plain if f.rule == "oversized-fuse")


def test_a_load_made_for_the_volts_of_a_reference_is_measured_against_these() -> None:
    assert [f.message for f in all_findings(bike(more=LED.format(needs=" needs 3 V")))] == []
    (told,) = [f for f in all_findings(bike(more=LED.format(needs=""))) if f.rule == "voltage-drop"]
    assert told.message == "EYE.led gets 4.998 V of CTRL.ref's 5 V (100 %, too little to work)"
    assert told.to_do == (
        "feed EYE.led from a higher voltage than CTRL.ref, or write the voltage that it works from on its line, "
        "`needs … V`"
    )
