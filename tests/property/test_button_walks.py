"""Walks of button histories by volts go somewhere, on bikes that are neither all harmless nor all broken."""

from __future__ import annotations

import random
from collections import Counter

from button_walks import walk
from random_bikes import bike

from loomwright.checks.dc.operating import Operation
from loomwright.lang.circuit import build_circuit
from loomwright.lang.reading import read_text

STEPS = 60
FIXED = range(60)


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
    assert met["moments"] > 20 * len(FIXED)
    assert met["turning"] > 50
    assert min(met[each] for each in ("6 V", "relays", "latches", "excited", "points open")) >= 5, met
