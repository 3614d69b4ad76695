"""A circuit simulator of its own judges every operating point: the specs in every state, and random harnesses."""

from __future__ import annotations

import ngspice
from hypothesis import given, settings
from outside import require_tool
from random_harness import harnesses

from loomwright.checks.dc.elements import UnsolvableError
from loomwright.checks.dc.operating import Operation
from loomwright.lang.circuit import build_circuit
from loomwright.lang.model import Harness


@settings(max_examples=60)
@given(harnesses())
def test_random_harnesses(harness: Harness) -> None:
    program = require_tool("ngspice")
    circuit = build_circuit(harness)
    operation = Operation(circuit)
    for name in harness.states:
        try:
            point = operation.state(name)
        except UnsolvableError:
            continue  # relays that never settle have no operating point to compare
        assert ngspice.compare(program, circuit, point.flow) == [], name
