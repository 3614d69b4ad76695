"""Points with a dwell and a ballast in numbers, on paper: 12.6 V over 1.5 and 1.5 ohm, closed half the time."""

from __future__ import annotations

import math
from datetime import date

import pytest

from loomwright.checks.operation.operation import Operation
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

POINTS = """
loom "Points with a ballast"
system 12 V negative ground
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 1 mohm }
fuse MAIN 15 A blade
switch KEY 10 A key { off: ; on: 30 15 }
resistor BALLAST 1.5 ohm 50 W
load COIL ignition for ignition { primary 1.5 ohm 9 mH dwell 50 %: 15 1 }
switch POINTS 5 A senses crank for ignition { open: ; closed: 1 2 }
capacitor COND 0.2 uF
ground FRAME
mount POINTS.2 to FRAME
mount COND.- to FRAME
wire 1 BAT.+ to MAIN.1 red 16 mm2 0.1 m
wire 2 MAIN.2 to KEY.30 red 16 mm2 0.1 m
wire 3 KEY.15 to BALLAST.1 red 16 mm2 0.1 m
wire 4 BALLAST.2 to COIL.15 red 16 mm2 0.1 m
wire 5 COIL.1 to POINTS.1 black 16 mm2 0.1 m
wire 6 COND.+ to POINTS.1 black 16 mm2 0.1 m
wire 7 BAT.- to FRAME black 16 mm2 0.1 m
state key-on { KEY on, POINTS closed }
state riding { KEY on, engine running }
"""

CLOSED = 12.6 / 3.0


def operation(text: str = POINTS) -> Operation:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    return Operation(build_circuit(reading.harness))


@pytest.mark.parametrize("dwell", [0.5, 0.6])
def test_wires_and_fuse_by_the_root_of_dwell_and_the_battery_by_dwell(dwell: float) -> None:
    point = operation(POINTS.replace("dwell 50 %", f"dwell {round(100 * dwell)} %")).state("riding")
    assert point.mean_amps("BAT") == pytest.approx(dwell * CLOSED, rel=0.01)
    for key in ("MAIN", "wire 5", "POINTS 1-2", "BALLAST"):
        assert point.heating_amps(key) == pytest.approx(math.sqrt(dwell) * CLOSED, rel=0.01)


def test_what_a_coil_needs_is_asked_of_its_volts_with_points_closed() -> None:
    """Of 12.6 V it has R(coil) / (R(coil) + R(ballast)): half."""
    assert operation().state("riding").across("COIL.primary") == pytest.approx(6.3, rel=0.01)
    for needs, met in ((6, True), (7, False)):
        text = POINTS.replace("dwell 50 %:", f"dwell 50 % needs {needs} V:") + "expect in riding: COIL live\n"
        report = check(read_text(text), today=date(2026, 6, 1))
        assert ("unmet-expectation" not in {each.rule for each in report.findings}) is met


def test_with_the_key_on_and_the_engine_still_the_whole_current_flows() -> None:
    point = operation().state("key-on")
    assert point.amps("COIL.primary") == pytest.approx(CLOSED, rel=0.01)
    assert point.heating_amps("MAIN") == pytest.approx(CLOSED, rel=0.01)


@pytest.mark.parametrize(("watts", "hot"), [(20, True), (30, False)])
def test_a_ballast_that_cannot_stand_it_is_warned_of(watts: int, hot: bool) -> None:
    """4.2 A in 1.5 ohm are 26 W, whatever the dwell."""
    report = check(read_text(POINTS.replace("1.5 ohm 50 W", f"1.5 ohm {watts} W")), today=date(2026, 6, 1))
    said = [each.message for each in report.findings if each.rule == "ballast-mismatch"]
    assert bool(said) is hot
    assert all("with the ignition on and POINTS closed" in each for each in said)
