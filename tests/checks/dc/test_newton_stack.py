"""Many small networks at once: each as if it were solved alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.dc import device_models as laws
from loomwright.checks.dc import newton, newton_stack
from loomwright.checks.dc.kron_reduction import stamp
from loomwright.checks.dc.newton_stack import Stack

CURVES = [
    laws.battery(12.6, 0.02, 5.0, 14.0),
    laws.lamp(21.0, 12.0),
    laws.led(0.3, 12.0, 0.5, 0.9),
    laws.diode(0.7, 0.05),
    laws.machine(14.2, 20.0, 0.05),
]
"""Laws that bend, have knees and block: the search along a step is asked for."""


def network(chance: np.random.Generator, size: int) -> tuple[Any, Any, Any, Any]:
    """A net of resistances with a way to 0 V, and some laws in it: their places in ``CURVES`` and their ends."""
    matrix = np.zeros((size, size))
    for a in range(1, size):
        stamp(matrix, [(a, int(chance.integers(0, a)), float(10.0 ** chance.uniform(-3, 3)))])
    matrix[0, 0] += 1.0
    count = int(chance.integers(0, 6))
    which = chance.integers(0, len(CURVES), count)
    return matrix, which, chance.integers(0, size, count), chance.integers(0, size, count)


def stacked(found: list[tuple[Any, Any, Any, Any]]) -> Stack:
    return Stack(
        np.array([matrix for matrix, _, _, _ in found]),
        laws.DeviceBank([CURVES[place] for _, which, _, _ in found for place in which]),
        np.repeat(np.arange(len(found)), [which.size for _, which, _, _ in found]),
        np.concatenate([tops for _, _, tops, _ in found]).astype(np.intp),
        np.concatenate([bottoms for _, _, _, bottoms in found]).astype(np.intp),
    )


@given(st.integers(0, 100_000))
def test_each_is_as_if_solved_alone(seed: int) -> None:
    chance = np.random.default_rng(seed)
    size = int(chance.integers(1, 12))
    found = [network(chance, size) for _ in range(int(chance.integers(1, 9)))]
    start, into = chance.normal(0.0, 8.0, (2, len(found), size))
    volts, good = stacked(found).solve(start, into, 1e-9)
    assert good.all()
    for row, (matrix, which, tops, bottoms) in enumerate(found):
        bank = laws.DeviceBank([CURVES[place] for place in which])
        alone = newton.solve(newton.Dense(matrix), bank, tops, bottoms, start[row], into[row], 1e-9)
        assert volts[row] == pytest.approx(alone, abs=1e-6, rel=1e-9)


def test_one_without_an_answer_leaves_the_others_theirs() -> None:
    """A node on which nothing touches makes a matrix singular: of three networks the first and the last are solved."""
    sound = np.array([[2.0, -1.0], [-1.0, 1.0]])
    loose = np.array([[1.0, 0.0], [0.0, 0.0]])
    bank = laws.DeviceBank([laws.Curve(offset=-1.0)] * 3)
    ones, zeros = np.ones(3, dtype=np.intp), np.zeros(3, dtype=np.intp)
    stack = Stack(np.array([sound, loose, sound]), bank, np.arange(3), ones, zeros)
    volts, good = stack.solve(np.zeros((3, 2)), np.zeros((3, 2)), 1e-9)
    assert good.tolist() == [True, False, True]
    assert volts[0] == pytest.approx([0.0, 1.0])
    assert volts[2] == pytest.approx([0.0, 1.0])


def test_where_the_steps_run_out_nothing_is_good(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is linear takes one step; the diode and the battery of the other network more."""
    bank = laws.DeviceBank([laws.Curve(offset=-1.0), laws.battery(12.6, 0.02, 5.0, 14.0), laws.lamp(21.0, 12.0)])
    matrix = np.array([[2.0, -1.0], [-1.0, 1.0]])
    of, tops, bottoms = np.array([0, 1, 1]), np.array([1, 1, 1]), np.array([0, 0, 0])
    stack = Stack(np.array([matrix, matrix]), bank, of, tops, bottoms)
    assert stack.solve(np.zeros((2, 2)), np.zeros((2, 2)), 1e-9)[1].tolist() == [True, True]
    monkeypatch.setattr(newton_stack, "MOST_STEPS", 1)
    assert stack.solve(np.zeros((2, 2)), np.zeros((2, 2)), 1e-9)[1].tolist() == [True, False]
