"""A cold battery and the first moment of the starter, beside the warm figures."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.operation.hard_start import hard_start
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.checks.runner.run import check
from loomwright.checks.tables.batteries import battery_figure
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BIKE = """
loom "Starting"
source BAT battery {{ voltage 12.6 V; capacity 14 Ah; resistance {mohm} mohm }}
ground ENGINE
fuse MAIN 10 A blade
switch KEY 15 A key {{ off: ; on: 30 15 }}
switch START 3 A momentary {{ rest: ; press: 1 2 }}
relay K-START 150 A {{ coil 12 ohm: 86 85; released: ; pulled: 30 87{holds} }}
relay K-PUMP 20 A {{ coil 85 ohm: 86 85; released: ; pulled: 30 87 }}
load COIL ignition for ignition {{ primary 3 ohm: 15 1 }}
load STARTER motor for starting {{ armature 110 A: 30 31 }}
mount STARTER.31 to ENGINE
mount COIL.1 to ENGINE
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 2.5 mm2 0.3 m
wire 3 KEY.15 to COIL.15 brown 2.5 mm2 0.3 m
wire 4 KEY.15 to START.1 brown 1.5 mm2 0.1 m
wire 5 START.2 to K-START.86 white 1.5 mm2 0.3 m
wire 6 K-START.85 to ENGINE black 1.5 mm2 0.3 m
wire 7 BAT.+ to K-START.30 red 16 mm2 0.3 m
wire 8 K-START.87 to STARTER.30 red/black 16 mm2 0.3 m
wire 9 BAT.- to ENGINE black 16 mm2 0.3 m
wire 10 KEY.15 to K-PUMP.86 white 1.5 mm2 0.3 m
wire 11 K-PUMP.85 to ENGINE black 1.5 mm2 0.3 m
state cranking {{ KEY on, START press, engine cranking }}
"""


def findings(rule: str, mohm: float, holds: str = "") -> list[Finding]:
    report = check(read_text(BIKE.format(mohm=mohm, holds=holds)), today=date(2026, 1, 1))
    assert not report.mistakes, [m.message for m in report.mistakes]
    return [f for f in report.findings if f.rule == rule]


def figures(finding: Finding) -> dict[str, float]:
    return {figure.label: figure.value for figure in finding.figures}


def test_the_figure_for_cold_follows_from_the_standard() -> None:
    """SAE J537: 7.2 V at -18 degC with the rated current; 200 A on 12.6 V and 14 mohm (ours) at 25 degC."""
    assert battery_figure("cold_resistance").value == pytest.approx((12.6 - 7.2) / 200 / 0.014, rel=0.05)


def test_a_sound_battery_is_silent() -> None:
    """114 A through 28 mohm are 3.2 V: 9.4 V are left, and 8.04 V are needed."""
    assert findings("cranking-brownout", 14) == []
    assert findings("weak-relay", 14) == []


def test_what_fails_on_a_cold_battery_alone_is_a_note_with_both_figures() -> None:
    """30 mohm: 12.6 - 114 x 0.03 = 9.2 V warm; cold the starter is below its knee and draws some 90 A: 7.2 V."""
    (found,) = findings("cranking-brownout", 30)
    assert found.level is Level.NOTE
    assert " across it while the starter turns on a cold battery, and needs 8.04 V to fire" in found.message
    said = figures(found)
    assert said["across the ignition"] == pytest.approx(9.0, abs=0.3)
    assert said["across the ignition, battery at -18 degC"] == pytest.approx(7.0, abs=0.3)
    assert "across the ignition at the first moment" in said
    assert "SAE J537" in found.source


def test_what_fails_warm_stays_a_warning_and_tells_the_cold_figure() -> None:
    (found,) = findings("cranking-brownout", 60)
    assert found.level is Level.WARNING
    assert "cold" not in found.message
    said = figures(found)
    assert said["across the ignition, battery at -18 degC"] < said["across the ignition"] < said["needed"]


def test_a_relay_that_is_in_before_the_starter_draws_is_not_told_of_the_cold() -> None:
    """The pump's relay may drop out and not pull in again; the starter's own was in before any current flowed."""
    found = findings("weak-relay", 30)
    assert [(f.about, f.level) for f in found] == [(("K-PUMP",), Level.NOTE)]
    assert "on a cold battery, and pulls in from 8.04 V" in found[0].message


def test_a_relay_that_the_first_moment_makes_drop_out_chatters() -> None:
    """220 A through 20 mohm leave 8.2 V less what the wires take; a relay that drops out below 8.5 V drops out."""
    (found,) = [f for f in findings("weak-relay", 20, "; holds 8.5 V; pulls 9 V") if f.level is Level.WARNING]
    assert found.about == ("K-START",)
    assert found.message == (
        "K-START drops out below 8.5 V, and the voltage of its coil falls below that when the starter begins to turn: "
        "it chatters"
    )
    assert not [f for f in findings("weak-relay", 20, "; holds 4 V; pulls 8 V") if "K-START" in f.about]


def test_what_has_no_numbers_in_the_first_moment_or_in_the_cold_is_not_judged_by_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """That nothing can be worked out is no evidence that a relay drops out."""
    operation = Operation(build_circuit(read_text(BIKE.format(mohm=14, holds=" holds 4 V")).harness))
    point = operation.state("cranking")
    (armature,) = (branch for branch in operation.circuit.branches if branch.key == "STARTER.armature")
    hard = hard_start(operation, [armature])
    assert hard.on_cold(point) is not None
    assert hard.at_first(point) is not None

    def unsolvable(*_asked: object, **_named: object) -> OperatingPoint:
        raise UnsolvableError("STARTER", "no operating point found")

    monkeypatch.setattr(Operation, "at", unsolvable)
    assert (hard.on_cold(point), hard.at_first(point)) == (None, None)
    assert hard.drop_out_at_first(point) == frozenset()
