"""Settled transients of ngspice judge the solvers of windings: lamps and coils within 1 %, charge within 2.5 %.

A few here; all 54 cases and 200 random networks by ``tests/bench/windings.py``, which the night runs.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ac_spice
import pytest
from outside import require_tool

from loomwright.checks.ac.time_steps import time_steps
from loomwright.checks.ac.wound_flow import WoundFlow
from loomwright.checks.dc.kron_reduction import stamp
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).parents[2] / "specs" / "small"


@pytest.mark.parametrize(
    ("kind", "speed"),
    [("lamps", 1.8), ("led", 1.0), ("half wave beside lamps", 1.0), ("tap", 1.8), ("bridge", 1.0)],
)
def test_usual_circuits(kind: str, speed: float) -> None:
    wound = ac_spice.case(kind, speed, 1.0)
    theirs = ac_spice.run(require_tool("ngspice"), wound)
    assert ac_spice.differences(wound, time_steps(wound), theirs) == []


@pytest.mark.parametrize(
    ("name", "state"), [("six-volt-magneto", "riding"), ("six-volt-magneto", "by-day"), ("trail-bike", "braking")]
)
def test_whole_motorcycles(name: str, state: str) -> None:
    """Wires, plugs, contacts, lamps, diodes and battery as the harness has them; a limiter as what it came to."""
    operation = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
    flow = operation.state(state).flow
    assert isinstance(flow, WoundFlow)
    wound, lamps = flow.periodic.wound, flow.periodic.wound.slow.lamp_volts.size
    siemens = wound.siemens.copy()
    stamp(
        siemens,
        [(w.top, w.bottom, float(g)) for w, g in zip(wound.limiters, flow.periodic.siemens[lamps:], strict=True)],
    )
    bare = replace(wound, siemens=siemens, limiters=())
    theirs = ac_spice.run(require_tool("ngspice"), bare)
    assert ac_spice.differences(bare, flow.periodic, theirs) == []


@pytest.mark.parametrize("seed", range(4))
def test_random_networks(seed: int) -> None:
    wound = ac_spice.random_network(seed)
    theirs = ac_spice.run(require_tool("ngspice"), wound)
    assert ac_spice.differences(wound, time_steps(wound), theirs) == []
