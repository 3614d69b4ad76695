"""All faults of a state solved together against each solved from the start, on random harnesses and on changed ones.

CI tries a fixed set; ``make nightly`` two thousand with fresh seeds.
"""

from __future__ import annotations

import random

from hypothesis import given, settings
from hypothesis import strategies as st
from ngspice import reached_by_sources
from random_bikes import bike
from random_harness import harnesses

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.fmea.failure_modes import Damage, opens
from loomwright.checks.fmea.plain import struck
from loomwright.checks.fmea.propagation import Propagation
from loomwright.checks.fmea.shorts import Shorts
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness

TUNED = 0.025
"""V by which the two may differ (ours). A regulator that senses elsewhere is tuned in steps until it feels what it
wants to a millivolt; the one way starts from the sound machine's volts and the other from its own last step, and where
little of a change at the machine reaches the sense terminals that millivolt is some at the machine.
"""

STATES = "state on { KEY on }\nstate riding { KEY on, engine running }\n"


def apart(operation: Operation, point: OperatingPoint) -> list[str]:
    """Where the two ways differ: what has no rest by one alone, what remembers, and volts that a source reaches."""
    found = Propagation(operation, point)
    damages = [Damage((b,)) for b in opens(operation.circuit) if point.connectivity.conducts(b) and not found.idle(b)]
    shorts = Shorts(point, Protection(operation.circuit)).all()
    damages += {s.like: s.damage for s in shorts if s.damage is not None and not s.burns}.values()
    index = found.network.index
    told = []
    for damage, after in zip(damages, found.of(damages), strict=True):
        about = f"{point.state}: {sorted(damage.keys)} {damage.grounded}"
        try:
            plain = struck(operation, point, damage)
        except UnsolvableError as error:
            if after.problem != str(error):
                told.append(f"{about}: {after.problem!r} against {error}")
            continue
        if after.volts is None or plain.memory != after.memory:
            told.append(f"{about}: {after.problem} {after.memory} against {plain.memory}")
            continue
        reached = sorted(reached_by_sources(plain.flow))
        both = [(node, float(after.volts[index[node]]), plain.volts(node)) for node in reached]
        told += [
            f"{about}: {node} {fast:.3f} V against {slow:.3f} V"
            for node, fast, slow in both
            if abs(fast - slow) > TUNED
        ]
    return told


def all_apart(harness: Harness) -> list[str]:
    operation = Operation(build_circuit(harness))
    return [said for point in operation.points.values() if not point.shorted for said in apart(operation, point)]


@settings(max_examples=settings.default.max_examples // 4)
@given(harnesses())
def test_random_harnesses(harness: Harness) -> None:
    assert all_apart(harness) == []


@settings(max_examples=settings.default.max_examples // 4)
@given(st.integers(0, 10**9))
def test_random_motorcycles(seed: int) -> None:
    assert all_apart(read_text(bike(seed) + STATES, "random.loom").harness) == []


@settings(max_examples=settings.default.max_examples // 4)
@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_motorcycles_with_a_wire_moved(seed: int, change: int) -> None:
    """One end of one wire sits on a terminal that another wire is at: what a person does by mistake."""
    chance = random.Random(change)
    lines = bike(seed).splitlines()
    wires = [i for i, line in enumerate(lines) if line.startswith("wire ")]
    one, other = chance.sample(wires, 2)
    words, onto = lines[one].split(), lines[other].split()
    words[4] = chance.choice((onto[2], onto[4]))
    if words[4] != words[2]:
        lines[one] = " ".join(words)
    assert all_apart(read_text("\n".join(lines) + "\n" + STATES, "random.loom").harness) == []
