"""All faults of a state at once against each solved plainly, on the specs and on random harnesses."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from random_harness import harnesses

from loomwright.checks.dc.elements import UnsolvableError
from loomwright.checks.dc.operating import Operation, Point
from loomwright.checks.faults.modes import opens
from loomwright.checks.faults.plain import opened
from loomwright.checks.faults.ports import Ports, can_be_ported
from loomwright.lang.circuit import build_circuit
from loomwright.lang.model import Harness
from loomwright.lang.reading import read_file

SPECS = Path(__file__).parents[3] / "specs"
VOLTS = 0.03
"""A regulator may feel some hundredths of a volt more or less before its machine is tuned anew."""


def compare(operation: Operation, point: Point) -> int:
    """How many faults were compared; every node that a source still reaches must have the same volts."""
    ports = Ports(point)
    branches = [
        b
        for b in opens(operation.circuit)
        if point.joins.conducts(b) and can_be_ported(b) and not ports.idle(b) and b.key not in ports.watched
    ]
    if not branches:
        return 0
    struck = ports.open([b.key for b in branches])
    index = point.flow.network.index
    compared = 0
    for i, key in enumerate(struck.keys):
        if struck.moved[i]:
            continue
        plain = opened(operation, point, key)
        assert plain.memory == point.memory, key
        for node in plain.flow.network.reached_by_sources(plain.flow):
            ours, theirs = float(struck.volts[i][index[node]]), plain.volts(node)
            assert ours == pytest.approx(theirs, abs=VOLTS), (key, node)
        compared += 1
    return compared


@pytest.mark.parametrize(("name", "least"), [("stock", 60), ("rebuild", 60), ("small/points-single", 20)])
def test_the_specs(name: str, least: int) -> None:
    operation = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
    assert sum(compare(operation, point) for point in list(operation.points.values())[-3:]) > least


@settings(max_examples=25)
@given(harnesses())
def test_random_harnesses(harness: Harness) -> None:
    operation = Operation(build_circuit(harness))
    for name in harness.states:
        try:
            point = operation.state(name)
        except UnsolvableError:
            continue
        try:
            compare(operation, point)
        except UnsolvableError:
            continue  # without that conductor a relay comes to no rest


def test_what_carries_nothing_and_tells_nothing_is_idle() -> None:
    operation = Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness))
    point = operation.state("put-away")
    ports = Ports(point)
    assert ports.idle(operation.circuit.by_key["wire 3"])  # to the starter
    assert not ports.idle(operation.circuit.by_key["wire 107"])  # the unit's supply, asleep
    riding = Ports(operation.state("riding-main"))
    assert not riding.idle(operation.circuit.by_key["wire 137.1"])  # carries nothing, and tells the unit: main beam
