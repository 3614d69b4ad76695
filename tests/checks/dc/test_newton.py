"""The solver: dense and sparse give the same, and what does not converge is stated."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_harness import battery, harness, harnesses, load, wire

from loomwright.checks.dc import device_models as laws
from loomwright.checks.dc import newton
from loomwright.checks.dc import nodal_equations as network
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.kron_reduction import stamp
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.model.harness import Harness


@settings(max_examples=15)
@given(harnesses())
def test_sparse_and_dense_agree(made: Harness) -> None:
    circuit = build_circuit(made)
    dense = Operation(circuit)
    limit = network.DENSE_LIMIT
    try:
        for name in made.states:
            network.DENSE_LIMIT = limit
            try:
                point = dense.state(name)
            except UnsolvableError:
                continue
            network.DENSE_LIMIT = 0
            sparse = Operation(circuit).state(name)
            for node in point.flow.network.nodes:
                assert sparse.volts(node) == pytest.approx(point.volts(node), abs=1e-6), node
    finally:
        network.DENSE_LIMIT = limit


def test_what_does_not_converge_names_the_part(monkeypatch: pytest.MonkeyPatch) -> None:
    """It takes a few steps; with one allowed none is found, and the part where most is missing is named."""
    circuit = build_circuit(
        harness(
            [battery(), load("LAMP", "lamp", watts=55)], [wire("1", "BAT.+", "LAMP.1"), wire("2", "LAMP.2", "BAT.-")]
        )
    )
    monkeypatch.setattr(newton, "MOST_STEPS", 1)
    with pytest.raises(UnsolvableError, match=r"no operating point found: the currents at .* miss zero by") as raised:
        Operation(circuit).at({})
    assert raised.value.part in ("LAMP", "BAT")


@pytest.mark.parametrize("start", [-100.0, 0.0, 3.0, 1e3])
def test_no_start_is_a_bad_one(start: float) -> None:
    """A diode of 20 S behind 0.1 ohm and 14 V, from far off: the same volts every time."""
    matrix = np.array([[11.0, -10.0], [-10.0, 10.0]])
    bank = laws.DeviceBank([laws.diode(0.7, 0.05), laws.Curve(offset=-140.0)])
    volts = newton.solve(newton.Dense(matrix), bank, np.array([1, 1]), np.array([0, 0]), np.array([0.0, start]))
    across = volts[1] - volts[0]
    assert 10.0 * across + bank.amps(np.array([across, across]))[0] == pytest.approx(140.0)


@given(st.integers(0, 10_000))
def test_nodes_that_no_law_touches_follow_from_the_others(seed: int) -> None:
    """Solved from the nodes of the laws, as from all of them: a random net of resistances, LEDs and a battery."""
    chance = np.random.default_rng(seed)
    size = int(chance.integers(2, 14))
    matrix = np.zeros((size, size))
    for a in range(1, size):
        stamp(matrix, [(a, int(chance.integers(0, a)), float(10.0 ** chance.uniform(-3, 3)))])
    matrix[0, 0] += 1.0
    curves = [laws.battery(12.6, 0.02, 5.0, 14.0), laws.led(0.3, 12.0, 0.5, 0.9), laws.diode(0.7, 0.05)]
    tops, bottoms = (np.array(chance.integers(0, size, len(curves))) for _ in range(2))
    bank = laws.DeviceBank(curves)
    start = chance.normal(0.0, 5.0, size)
    whole = newton.solve(newton.Dense(matrix), bank, tops, bottoms, start)
    inner = newton.Inner(matrix, tops, bottoms).solve(bank, start)
    assert inner == pytest.approx(whole, abs=1e-6)


@pytest.mark.parametrize("start", [0.0, 5.0])
def test_no_step_is_made_that_could_change_nothing(start: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """12 V behind 1 ohm and 2 ohm of plain resistance: 8 V after the first step, where nothing is missing any more."""
    steps: list[float] = []
    made = newton.Dense.step

    def counted(self: newton.Dense, *given: Any) -> Any:
        found = made(self, *given)
        steps.append(float(np.abs(found).max()))
        return found

    monkeypatch.setattr(newton.Dense, "step", counted)
    bank = laws.DeviceBank([laws.Curve(slope=1.0, offset=-12.0)])
    matrix = np.array([[1.5, -0.5], [-0.5, 0.5]])
    volts = newton.solve(newton.Dense(matrix), bank, np.array([1]), np.array([0]), np.array([0.0, start]))
    assert volts[1] == pytest.approx(8.0, rel=1e-12)
    assert volts[0] == pytest.approx(0.0, abs=1e-12)
    assert len(steps) == 1


def test_a_knee_on_the_way_is_found_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """An LED behind a battery and a diode, from 0 V: each step asks the laws where it begins, at its end, and at the
    share of it that the knees tell, and no more.
    """
    asked: list[int] = []
    both = laws.DeviceBank.both

    def counted(self: laws.DeviceBank, volts: Any) -> Any:
        asked.append(1)
        return both(self, volts)

    monkeypatch.setattr(laws.DeviceBank, "both", counted)
    bank = laws.DeviceBank(
        [laws.battery(12.6, 0.015, 0.7, 14.2), laws.diode(0.7, 0.05), laws.led(0.25, 12.0, 0.4, 0.65)]
    )
    matrix = np.diag([1.0, 0.0, 0.0])
    tops, bottoms = np.array([1, 1, 2]), np.array([0, 2, 0])
    steps = 0
    step = newton.Dense.step

    def made(self: newton.Dense, *given: Any) -> Any:
        nonlocal steps
        steps += 1
        return step(self, *given)

    monkeypatch.setattr(newton.Dense, "step", made)
    volts = newton.solve(newton.Dense(matrix), bank, tops, bottoms, np.zeros(3))
    assert float(np.abs(bank.amps(volts[tops] - volts[bottoms])).max()) == pytest.approx(0.25, rel=0.1)
    assert len(asked) <= 2 * steps + 2
