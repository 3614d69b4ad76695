"""No proof of a stop, of ``dead`` or of a starter's interlock holds where a walk by volts finds the thing alive."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date

import pytest
from button_walks import refuted, walk
from hypothesis import given, settings
from hypothesis import strategies as st
from random_bikes import bike

from loomwright.checks.operation.operation import Operation
from loomwright.checks.study import Study
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 1, 1)
STEPS = 60
FIXED = range(60)
JUDGED = 40  # of them; the outside solver judges 60 others


def examined(seed: int, *, whole: bool = True) -> Study:
    reading = read_text(bike(seed, whole=whole), f"bike-{seed}.loom")
    assert reading.mistakes == ()
    return Study(reading.harness, today=TODAY)


@pytest.mark.parametrize("first", range(0, JUDGED, 10))
def test_no_proof_holds_where_a_walk_finds_it_alive(first: int) -> None:
    """The same bikes each time; ``make nightly`` tries others."""
    wrong = {s: found for s in FIXED[first : first + 10] if (found := refuted(examined(s), random.Random(s), STEPS))}
    assert wrong == {}


FOUND = (
    113,
    2000094,
    771080,
    771124,
    771237,
    771366,
    771533,
    771555,
    771576,
    771661,
    771720,
    771749,
    771766,
    771800,
    771953,
)
"""Bikes on which a proof once held all the same: points that open, a box that drives a coil, valves in a stop lead."""


@pytest.mark.parametrize("seed", FOUND)
def test_no_proof_holds_on_bikes_that_once_refuted_one(seed: int) -> None:
    assert refuted(examined(seed, whole=False), random.Random(seed), STEPS) == []


@settings(max_examples=max(1, settings().max_examples // 40))
@given(st.integers(60, 2**40))
def test_no_proof_holds_on_bikes_that_nobody_has_seen(seed: int) -> None:
    assert refuted(examined(seed), random.Random(seed), STEPS) == []


def test_the_bikes_and_the_walks_are_worth_their_name() -> None:
    """A generator that only makes harmless or only broken bikes, or a walk that goes nowhere, would prove nothing."""
    met: Counter[str] = Counter()
    for seed in FIXED:
        harness = read_text(bike(seed), "bike.loom").harness
        steps = list(walk(Operation(build_circuit(harness)), random.Random(seed), STEPS))
        met["moments"] += len(steps)
        met["6 V"] += harness.volts == 6.0
        met["turning"] += any(step.point.engine != "off" for step in steps)
        met["relays"] += any(step.point.memory.pulled for step in steps)
        met["latches"] += any(step.point.memory.latched for step in steps)
        met["excited"] += any(step.point.memory.excited for step in steps)
        met["points open"] += any(step.open_contacts for step in steps)
        met["states"] += bool(harness.states)
        if "STARTER" in harness.parts:
            met["starters"] += 1
            met["starters that turn"] += any(abs(step.point.across("STARTER.armature")) > 2.0 for step in steps)
    assert met["moments"] > 20 * len(FIXED)
    assert met["turning"] > 50
    assert met["starters"] > 20
    assert met["states"] > 20
    rare = ("6 V", "relays", "latches", "excited", "points open", "starters that turn")
    assert min(met[each] for each in rare) >= 5, met
