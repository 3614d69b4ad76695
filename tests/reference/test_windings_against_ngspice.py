"""Settled transients of ngspice judge the solvers of windings: lamps and coils within 1 %, charge within 2.5 %.

A few here; all 54 cases and 200 random networks by ``tests/bench/windings.py``, which the night runs.
"""

from __future__ import annotations

import ac_spice
import pytest
from outside import require_tool

from loomwright.checks.ac.time_steps import time_steps


@pytest.mark.parametrize(
    ("kind", "speed"),
    [("lamps", 1.8), ("led", 1.0), ("half wave beside lamps", 1.0), ("tap", 1.8), ("bridge", 1.0)],
)
def test_usual_circuits(kind: str, speed: float) -> None:
    wound = ac_spice.case(kind, speed, 1.0)
    theirs = ac_spice.run(require_tool("ngspice"), wound)
    assert ac_spice.differences(wound, time_steps(wound), theirs) == []


@pytest.mark.parametrize("seed", range(4))
def test_random_networks(seed: int) -> None:
    wound = ac_spice.random_network(seed)
    theirs = ac_spice.run(require_tool("ngspice"), wound)
    assert ac_spice.differences(wound, time_steps(wound), theirs) == []
