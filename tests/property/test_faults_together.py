"""All faults of a state solved together against each solved from the start, on random harnesses and on changed ones: by
full matrices, and in blocks as those of a large harness are.

CI tries a fixed set; ``make nightly`` two thousand with fresh seeds.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ngspice import reached_by_sources
from random_bikes import bike
from random_harness import harnesses

from loomwright.checks.dc.control_units import held_latches
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.memory import Memory
from loomwright.checks.dc.relay_fixed_point import changes_of
from loomwright.checks.fmea import hubs, propagation
from loomwright.checks.fmea.failure_modes import Damage, opens
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.faulted_circuit import FaultedCircuit
from loomwright.checks.fmea.movers import Movers
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

Changes = Callable[[Movers, FaultedCircuit, Memory, Damage], list[tuple[str, str]]]

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


def in_blocks(patch: pytest.MonkeyPatch) -> None:
    """Every harness counts as a large one, and falls into many blocks."""
    patch.setattr(propagation, "MOST_NODES", 3)
    patch.setattr(hubs, "MANY", 4)
    patch.setattr(hubs, "LARGEST", 12)


@pytest.fixture(params=["by full matrices", "in blocks"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """The two ways of solving many faults."""
    if request.param == "in blocks":
        in_blocks(monkeypatch)
    return str(request.param)


tried = settings(
    max_examples=settings.default.max_examples // 8,
    suppress_health_check=[*settings.default.suppress_health_check, HealthCheck.function_scoped_fixture],
)


@pytest.mark.usefixtures("way")
@tried
@given(harnesses())
def test_random_harnesses(harness: Harness) -> None:
    assert all_apart(harness) == []


@pytest.mark.usefixtures("way")
@tried
@given(st.integers(0, 10**9))
def test_random_motorcycles(seed: int) -> None:
    assert all_apart(read_text(bike(seed) + STATES, "random.loom").harness) == []


@pytest.mark.usefixtures("way")
@tried
@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_motorcycles_with_a_wire_moved(seed: int, change: int) -> None:
    assert all_apart(with_a_wire_moved(seed, change)) == []


@tried
@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_effects_in_blocks_are_those_by_full_matrices(seed: int, change: int) -> None:
    """Of every opening and short in every state, to the word; and no unit moves that was not asked."""
    harness = with_a_wire_moved(seed, change)
    whole = effects(harness)
    with pytest.MonkeyPatch.context() as patch:
        in_blocks(patch)
        patch.setattr(Movers, "changes", asked_of_all(Movers.changes))
        assert effects(harness) == whole


def effects(harness: Harness) -> dict[tuple[str, str], tuple[list[tuple[str, str, str]], str]]:
    """What every opening and short does, or why that is not known, by state and fault."""
    sweep = Sweep(Operation(build_circuit(harness)))
    protection = Protection(sweep.circuit)
    found = {}
    for name, point in sweep.operation.points.items():
        if not point.shorted:
            shorts = (outcome for _, outcome in sweep.shorts(name, protection).values())
            for each in (*sweep.outcomes(name).values(), *shorts):
                told = [(effect.thing, effect.was, effect.now) for effect in each.effects]
                found[name, str(each.fault)] = told, each.problem
    return found


def asked_of_all(changes: Changes) -> Changes:
    """The changes after a fault, which must be those that come of asking every relay, unit and machine."""

    def asked(self: Movers, solved: FaultedCircuit, memory: Memory, damage: Damage) -> list[tuple[str, str]]:
        positions = self.point.positions
        fixed = held_latches(self.network, self.point.flow, positions, self.point.memory)
        found = changes(self, solved, memory, damage)
        assert found == changes_of(self.network, solved, positions, memory, fixed), damage
        return found

    return asked


def with_a_wire_moved(seed: int, change: int) -> Harness:
    """A motorcycle of which one end of one wire sits on a terminal that another wire is at: a usual mistake."""
    chance = random.Random(change)
    lines = bike(seed).splitlines()
    wires = [i for i, line in enumerate(lines) if line.startswith("wire ")]
    one, other = chance.sample(wires, 2)
    words, onto = lines[one].split(), lines[other].split()
    words[4] = chance.choice((onto[2], onto[4]))
    if words[4] != words[2]:
        lines[one] = " ".join(words)
    return read_text("\n".join(lines) + "\n" + STATES, "random.loom").harness
