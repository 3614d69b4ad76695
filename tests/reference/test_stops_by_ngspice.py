"""A circuit simulator walks button histories: what it finds alive, no proof of a stop or of ``dead`` may call dead."""

from __future__ import annotations

import random
from datetime import date

import pytest
from button_walks import refuted, walk
from outside import require_tool
from random_bikes import bike
from spice_walks import SpiceOperation

from loomwright.checks.operation.operation import Operation
from loomwright.checks.study import Study
from loomwright.lang.files.reading import read_text

FIRST = 1000
COUNT = 60
STEPS = 15


def examined(seed: int) -> Study:
    return Study(read_text(bike(seed), "bike.loom").harness, today=date(2026, 1, 1))


@pytest.mark.parametrize("first", range(FIRST, FIRST + COUNT, 15))
def test_no_proof_holds_where_ngspice_finds_it_alive(first: int) -> None:
    program = require_tool("ngspice")
    wrong = {}
    for seed in range(first, first + 15):
        study = examined(seed)
        judge = SpiceOperation(program, study.circuit)
        if found := refuted(study, random.Random(seed), STEPS, judge):
            wrong[seed] = found
    assert wrong == {}


def test_both_solvers_walk_the_same_way() -> None:
    """The same buttons bring about the same moments, with the same memory, and volts within 20 mV at every node."""
    program = require_tool("ngspice")
    compared = 0
    for seed in range(FIRST, FIRST + 6):
        circuit = examined(seed).circuit
        ours = walk(Operation(circuit), random.Random(seed), STEPS)
        theirs = walk(SpiceOperation(program, circuit), random.Random(seed), STEPS)
        for one, other in zip(ours, theirs, strict=True):
            assert (one.history, one.point.memory) == (other.history, other.point.memory), seed
            for branch in circuit.branches:
                if branch.branch_type.consumes and one.point.connectivity.conducts(branch):
                    assert one.point.across(branch.key) == pytest.approx(other.point.across(branch.key), abs=0.02), seed
                    compared += 1
    assert compared > 100
