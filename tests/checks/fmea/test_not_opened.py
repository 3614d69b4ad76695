"""Nothing that may open is passed over: it has an effect, or a list tells why none is known."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from outside import some_of

from loomwright.checks.fmea.failure_modes import opens
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.not_opened import NotOpened, not_opened
from loomwright.checks.fmea.report import all_faults
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.report.faults import faults_text

SPECS = Path(__file__).parents[3] / "specs"
DEMOS = (SPECS / "stock.loom", SPECS / "rebuild.loom")
SMALL = some_of(sorted((SPECS / "small").glob("*.loom"), key=lambda file: "magneto" in file.stem), 3)


@cache
def sweep(file: Path) -> Sweep:
    return Sweep(Operation(build_circuit(read_file(file).harness)))


def silent(found: Sweep) -> NotOpened:
    return not_opened(found, found.all_states(found.circuit.harness.states))


@pytest.mark.parametrize("file", [*DEMOS, *SMALL], ids=lambda file: file.stem)
def test_each_branch_that_may_open_is_in_a_group_or_in_one_list_that_says_why_not(file: Path) -> None:
    found = sweep(file)
    names = [name for name in found.circuit.harness.states if name in found.operation.points]
    reports, unknown = all_faults(found, names)
    told = {fault.key for each in (*reports, *unknown) for fault in each.faults if fault.mode == "open"}
    left = not_opened(found, found.all_states(names))
    lists = [left.idle, left.unloaded, left.doubled, left.harmless, left.phases]
    listed = [key for keys in lists for key in keys]
    assert len(listed) == len(set(listed))
    assert told.isdisjoint(listed)
    assert told | set(listed) == {branch.key for branch in opens(found.circuit)}
    said = " ".join(
        faults_text(reports, found.circuit.harness, names, silent=left, unknown=unknown, width=10**6).split()
    )
    for key in {branch.key for branch in opens(found.circuit)}:
        assert f"{key}," in said or f"{key}." in said or f"{key}:" in said, key


def test_what_is_opened_only_with_its_lamp_off_was_not_tried() -> None:
    """The right turn lamps are on in no state: a few mA come through the right tell-tale from its ground to theirs."""
    left = silent(sweep(SPECS / "stock.loom"))
    right = ("wire 79", "wire 81.1", "wire 81.2", "wire 83.1", "wire 83.2", "wire 85", "mount RR.31", "C-PANEL.9")
    assert left.unloaded == (*right, "C-TAIL.4")
    assert {"wire 77.1", "wire 77.2", "C-LEFT.8", "TURN 49a-R"} <= set(left.idle)
    assert set(left.phases) == {
        *(f"wire {n}.{i}" for n in (9, 10, 11) for i in (1, 2)),
        "C-ALT.1",
        "C-ALT.2",
        "C-ALT.3",
    }
    assert (left.doubled, left.harmless) == ((), ())
    harness = sweep(SPECS / "stock.loom").circuit.harness
    said = faults_text((), harness, harness.states, silent=left, width=10**6)
    where = "Opened only while all that they feed or ground is off, in any named state"
    assert f"\n{where}: {', '.join(right)}, C-TAIL.4. Name a state that uses them.\n" in said


DOUBLED = """
loom "Two grounds"
system 12 V negative ground
source BAT battery { voltage 12.6 V; capacity 5 Ah; resistance 20 mohm }
load HEAD lamp { dip 35 W dip-beam: 1 2 }
load REAR lamp { tail 5 W tail-lamp: 1 2 }
sensor T { signal 500 ohm: 1 2 }
switch KEY 10 A key { off: ; on: 1 2 }
switch S 5 A { off: ; on: 1 2 }
wire 1 BAT.+ to KEY.1 red 1.5 mm2 0.5 m
wire 2 KEY.2 to HEAD.1 red 1.5 mm2 0.5 m
wire 3 HEAD.2 to BAT.- black 1.5 mm2 0.5 m
wire 4 HEAD.2 to BAT.- black 1.5 mm2 0.5 m
wire 5 KEY.2 to T.1 red 1 mm2 0.5 m
wire 6 T.2 to BAT.- black 1 mm2 0.5 m
wire 7 KEY.2 to S.1 red 1 mm2 0.5 m
wire 8 S.2 to REAR.1 red 1 mm2 0.5 m
wire 9 REAR.2 to BAT.- black 1 mm2 0.5 m
state riding { KEY on }
"""


def test_a_second_ground_and_a_sensor_are_opened_without_effect() -> None:
    reading = read_text(DOUBLED)
    assert [m.message for m in reading.mistakes] == []
    left = silent(Sweep(Operation(build_circuit(reading.harness))))
    assert left.doubled == ("wire 3", "wire 4")
    assert left.harmless == ("wire 5", "wire 6")
    assert left.idle == ("wire 7", "wire 8", "wire 9", "S 1-2")
    assert left.unloaded == ()
    said = faults_text((), reading.harness, ["riding"], silent=left, width=10**6)
    assert "\nOpened without any effect, since something else joins the same ends: wire 3, wire 4.\n" in said
    assert "\nOpened without any effect that is judged here: wire 5, wire 6.\n" in said
