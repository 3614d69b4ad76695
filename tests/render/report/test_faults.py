"""Fault reports as text and as JSON."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.not_opened import not_opened
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.render.report.faults import faults_json, faults_text
from tests.golden import same_as_golden

SPECS = Path(__file__).parents[3] / "specs"


@cache
def sweep() -> Sweep:
    return Sweep(Operation(build_circuit(read_file(SPECS / "stock.loom").harness)))


def text() -> str:
    reports = fault_reports(sweep(), ["riding-dip"], Protection(sweep().circuit))
    states = sweep().all_states(["riding-dip"])
    return faults_text(reports, sweep().circuit.harness, states, sweep().live_in(states))


def test_worst_first_under_the_words_of_the_standard() -> None:
    found = text()
    heads = [line for line in found.splitlines() if line.startswith("Category")]
    assert heads == ["Category I catastrophic", "Category II critical", "Category III marginal", "Category IV minor"]
    assert "      no fuse protects it: fire\n" in found
    assert "  wire 67: open" not in found  # merged with what lies in series
    assert "wire 67" in found
    assert max(len(line) for line in found.splitlines()) <= 100


def test_a_part_that_goes_as_a_whole_is_named_once() -> None:
    found = text()
    assert "TACHO goes dead" in found
    assert "TACHO.dial-left goes dead; TACHO.dial-right" not in found


def test_what_comes_to_life_backwards_is_told_once() -> None:
    found = " ".join(text().split())
    assert "WARN.left and WARN.right come on, fed backwards, in riding-dip" in found
    assert "WARN.left is fed backwards" not in found


@pytest.mark.parametrize("name", ["magneto-single", "points-single"])
def test_as_it_was_looked_at(name: str) -> None:
    harness = read_file(SPECS / "small" / f"{name}.loom").harness
    found = Sweep(Operation(build_circuit(harness)))
    reports = fault_reports(found, harness.states, Protection(found.circuit))
    states = found.all_states(harness.states)
    silent = not_opened(found, states)
    same_as_golden(f"faults-{name}.txt", faults_text(reports, harness, states, found.live_in(states), silent=silent))


def test_what_no_state_feeds_is_named_as_not_opened() -> None:
    """The front brake's switch, the horn button and the right turn lamps are used by no state of the old bike."""
    harness = sweep().circuit.harness
    states = sweep().all_states(harness.states)
    silent = not_opened(sweep(), states)
    names = silent.idle
    assert {"BRAKE-FRONT 1-2", "HORN-BUTTON 1-2", "TURN 49a-R", "CLUTCH 1-2", "wire 51"} <= set(names)
    assert not {"BRAKE-REAR 1-2", "wire 1", "C-ALT.1", "wire 9.1"} & set(names)  # phases are not solved, and said so
    said = " ".join(faults_text((), harness, states, silent=silent).split())
    assert f"Not opened, since nothing flows there in any named state: {', '.join(names)}. Name a state" in said
    few = not_opened(sweep(), ["parked"])
    said = " ".join(faults_text((), harness, ["parked"], silent=few).split())
    assert f"Not opened, since nothing flows there in parked: {len(few.idle)} wires, ways and contacts." in said
    assert json.loads(faults_json((), (), silent))["not_opened"] == list(names)


def test_what_a_fault_turns_off_everywhere_is_told_in_one_line() -> None:
    """Stock bike, every named state: the feed of the key off is one line, not sixty of lamps and states."""
    harness = sweep().circuit.harness
    reports = fault_reports(sweep(), harness.states, Protection(sweep().circuit))
    states = sweep().all_states(harness.states)
    found = " ".join(faults_text(reports, harness, states, sweep().live_in(states)).split())
    _, _, said = found.partition("wire 7.1, wire 7.2, C-KEY.1: open")
    line = said.partition(" wire ")[0]
    assert line.endswith("go dead wherever they are on the engine stops in every state with the engine running")
    assert all(name in line for name in ("REAR", "HEAD", "COIL-LEFT.primary", "STARTER.armature", "WARN.oil"))
    assert "BAT is no longer charged in every state with the engine running" in found
    assert "charged in idling with" not in found  # what stops the engine ends the charge with any fault or none
    assert "COIL-LEFT.primary is never interrupted and gives no spark" in found  # shorted at the output of IGN
    assert found.endswith("bad joints, shorts inside parts, and the phases of ALT.")


def test_a_fuse_blows_and_an_output_trips() -> None:
    rebuild = Sweep(Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness)))
    reports = fault_reports(rebuild, ["riding-dip"], Protection(rebuild.circuit))
    found = faults_text(reports, rebuild.circuit.harness, ["riding-dip"])
    assert "trips CTRL.dip" in found
    assert "blows CTRL" not in found
    assert "blows F-KEY" in found


def test_faults_as_json() -> None:
    reports = fault_reports(sweep(), ["riding-dip"], Protection(sweep().circuit))
    found = json.loads(faults_json(reports))
    assert [each["category"] for each in found["failure_modes"]] == sorted(
        (each["category"] for each in found["failure_modes"]), key=["I", "II", "III", "IV"].index
    )
    assert found["version"] == 3
    for each in found["failure_modes"]:
        assert not (each["opens"] if not each["fed"] else each["would_open"])
    head = next(each for each in found["failure_modes"] if {"branch": "F-HEAD", "mode": "open"} in each["faults"])
    assert head["effects"][0]["states"] == ["riding-dip"]
    assert head["effects"][0]["ends"][0]["thing"] == "HEAD.dip"
