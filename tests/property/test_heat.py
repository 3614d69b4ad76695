"""A wire never becomes cooler by more current, and `check` and `states` never contradict each other about heat."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.operation.operating_points import state_tables
from loomwright.checks.protection.ampacities import Ampacities
from loomwright.checks.protection.warming import kept_at, short_time_limit, temperature
from loomwright.checks.study import Study
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.wires import Segment

CLASSES = {"A": 85.0, "B": 100.0, "C": 125.0, "D": 150.0}
sizes = st.sampled_from((0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16))
letters = st.sampled_from(tuple(CLASSES))


def bike(heater: float, starter: float, stop: float, size: float, letter: str, ambient: float) -> str:
    """A heater that is on for hours, a stop lamp that is held and a starter, partly through the same wires."""
    return f"""loom "Warm wires"
system 12 V negative ground
wires class {letter}
place tray, engine
route tray engine 0.4 m ambient {ambient} degC
source BAT battery at tray {{ voltage 12.6 V; capacity 30 Ah; resistance 4 mohm }}
ground FRAME at tray
fuse MAIN 30 A blade at tray
switch KEY 30 A key at tray {{ off: ; on: 1 2 }}
switch BRAKE 30 A momentary senses rear-brake at tray {{ rest: ; press: 1 2 }}
switch START 400 A momentary at tray {{ rest: ; press: 1 2 }}
load GRIPS heater at engine {{ pad {heater} W: 1 2 }}
load STOP lamp at tray {{ stop {stop} W stop-lamp: 54 31 }}
load STARTER motor at engine for starting {{ armature {starter} A: 30 31 }}
wire 1 BAT.+ to MAIN.1 red {size} mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red {size} mm2 0.3 m
wire 3 KEY.2 to GRIPS.1 grey {size} mm2 0.5 m
wire 4 GRIPS.2 to FRAME black {size} mm2 0.5 m
wire 5 KEY.2 to BRAKE.1 orange {size} mm2 0.3 m
wire 6 BRAKE.2 to STOP.54 pink {size} mm2 0.3 m
wire 7 STOP.31 to FRAME black {size} mm2 0.3 m
wire 8 BAT.- to FRAME black {size} mm2 0.2 m
wire 9 BAT.+ to START.1 red {size} mm2 0.3 m
wire 10 START.2 to STARTER.30 red {size} mm2 0.5 m
wire 11 STARTER.31 to FRAME black {size} mm2 0.5 m
state on {{ KEY on }}
state braking {{ KEY on, BRAKE press }}
state cranking {{ KEY on, START press, engine cranking }}
"""


@settings(max_examples=12)
@given(st.floats(20, 300), st.floats(20, 400), st.floats(5, 120), sizes, letters, st.sampled_from((40.0, 60.0, 80.0)))
def test_states_and_check_never_contradict_each_other(
    heater: float, starter: float, stop: float, size: float, letter: str, ambient: float
) -> None:
    reading = read_text(bike(heater, starter, stop, size, letter, ambient))
    assert not reading.mistakes
    study = Study(reading.harness, today=date(2026, 1, 1))
    overloaded = {each.segment.name: each for each in study.conductors.overloaded()}
    tables = {table.name: table for table in state_tables(study.operation, study.profile)}
    hot = {
        row.name for table in tables.values() for row in table.wires if row.margin is not None and row.margin < -0.01
    }
    assert hot <= overloaded.keys()
    for name, overload in overloaded.items():
        table = tables.get(overload.peak.state)
        row = next((row for row in table.wires if row.name == name), None) if table is not None else None
        if row is not None and row.celsius is not None:  # else a combination that no state has, or a melted wire
            assert row.celsius > CLASSES[letter] - 0.01
    before, held = ({row.name: row.celsius for row in tables[name].wires} for name in ("on", "braking"))
    assert all(held[name] >= before[name] - 0.5 for name in before.keys() & held.keys() if held[name] and before[name])


PIECE = read_text(bike(100, 100, 21, 2.5, "B", 60)).harness
AMPACITIES = Ampacities(build_circuit(PIECE), profile_named("boat-law"))


def piece(name: str) -> Segment:
    return PIECE.wires[name].segments[0]


@given(st.floats(0, 200), st.floats(0, 200), st.floats(0, 60), st.floats(1, 600))
def test_more_current_never_cools(a: float, b: float, before: float, seconds: float) -> None:
    """From any steady current, for any time; nor does a wire come above its steady temperature in less time."""
    less, more = sorted((a, b))
    low, high = (temperature(AMPACITIES, piece("3"), x, before=before, seconds=seconds) for x in (less, more))
    steady, start = temperature(AMPACITIES, piece("3"), more), kept_at(AMPACITIES, piece("3"), before)[0]
    assert low is not None
    assert high is not None
    assert steady is not None
    assert start <= low <= high <= max(steady, start) + 1e-9


@given(st.floats(0, 12), st.floats(1, 600))
def test_the_short_time_rating_brings_a_wire_to_the_temperature_of_its_class(before: float, seconds: float) -> None:
    limit = short_time_limit(AMPACITIES, piece("3"), seconds, before=before)
    assert temperature(AMPACITIES, piece("3"), limit, before=before, seconds=seconds) == pytest.approx(100.0, abs=1e-6)


def test_a_starter_lead_on_a_hot_engine() -> None:
    """IEC 60949, K = 226 A s^0.5 / mm2 of copper: 16 mm2 goes from 85 to 125 degC in 30 s at 226 A, on paper:
    226 * 16 / sqrt(30) * sqrt(ln((234.5 + 125) / (234.5 + 85))). 350 A bring it to 189 degC.
    """
    paper = 226.0 * 16.0 / math.sqrt(30.0) * math.sqrt(math.log((234.5 + 125.0) / (234.5 + 85.0)))
    assert paper == pytest.approx(226.8, abs=0.1)
    harness = read_text(bike(20, 350, 5, 16, "C", 85)).harness
    ampacities = Ampacities(build_circuit(harness), profile_named("boat-law"))
    lead = harness.wires["10"].segments[0]
    assert short_time_limit(ampacities, lead, 30.0) == pytest.approx(paper, rel=2e-3)
    assert temperature(ampacities, lead, 350.0, seconds=30.0) == pytest.approx(189, abs=1)
