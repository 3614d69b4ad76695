"""A schematic at one moment: a named state, sound or with one thing open; what is live, with volts and amps."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ...checks.operation.operating_point import OperatingPoint
from ...checks.operation.operation import Operation
from ...lang.circuit.branch import Branch
from ...lang.circuit.build import build_circuit
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import Role
from ...lang.diagnostics.spelling import nearest
from ...lang.model.harness import Harness
from ...lang.model.parts import Relay, Switch
from ...lang.quantities.quantity import shown
from .symbols.contacts import PULLED, RELEASED
from .symbols.drawn import Now

OPEN: Final = "open"
_LEAST_VOLTS, _LEAST_AMPS = 0.05, 0.005
"""Below these a drop along a wire and a current are not noted (ours)."""


class UnknownFault(ValueError):  # noqa: N818 (says what is wrong, as a user reads it)
    """Words that name nothing which can be open."""


def moment(harness: Harness, state: str, fault: str = "") -> Now:
    """A named state of a harness; ``fault`` is what is open in it, such as ``wire 12 open``.

    Raises :class:`UnknownFault`, and ``UnsolvableError`` where the state has no solution.
    """
    circuit = build_circuit(harness)
    operation = Operation(circuit)
    sound = operation.state(state)
    said = _controls(sound)
    if not fault:
        return _now(harness, sound, f"Drawn in state {state}: {said}.", None, "")
    broken = _branch(circuit, fault)
    point = operation.damaged(frozenset({broken.key})).state(state)
    return _now(harness, point, f"Drawn in state {state}, {broken.key} {OPEN}: {said}.", sound, broken.key)


def _controls(point: OperatingPoint) -> str:
    return ", ".join(f"{control} {position}" for control, position in point.differing) or "everything at rest"


def _branch(circuit: Circuit, fault: str) -> Branch:
    """What the words of a fault say is open: a wire by its name, or anything else by that of its branch."""
    name, _, mode = fault.strip().rpartition(" ")
    if mode != OPEN:
        raise UnknownFault(f"`{fault}` is no fault that can be drawn: write what is open, such as `wire 12 open`")
    for branch in circuit.branches:
        key = branch.key
        if name == key or (key.role is Role.WIRE and name == f"wire {key.owner}"):
            return branch
    near = nearest(name, [str(branch.key) for branch in circuit.branches])
    hint = f" Did you mean `{near} {OPEN}`?" if near else ""
    raise UnknownFault(f"nothing in this harness is called `{name}`.{hint}")


def _now(harness: Harness, point: OperatingPoint, says: str, sound: OperatingPoint | None, broken: str) -> Now:
    fed = _fed(point) - {broken}
    carrying = {branch.key for branch in _carrying(point)}
    notes = dict(_notes(point))
    if sound is not None:
        before = _fed(sound)
        for key in sorted((before ^ fed) - {broken}):
            words = "was live" if key in before else "was dead"
            notes[key] = f"{notes[key]}, {words}" if notes.get(key) else words
        notes[broken] = "OPEN HERE"
    return Now(
        says=says,
        positions=dict(_positions(harness, point)),
        active=frozenset(fed | (carrying & set(_wires(point)))),
        notes=notes,
        nodes=frozenset(_live_nodes(point)),
    )


def _carrying(point: OperatingPoint) -> Iterator[Branch]:
    for branch in point.circuit.branches:
        try:
            if abs(point.mean_amps(branch.key)) >= _LEAST_AMPS:
                yield branch
        except KeyError:  # not calculated
            continue


def _live_nodes(point: OperatingPoint) -> Iterator[str]:
    """The nodes that are connected to a feed, or through which current flows."""
    for branch in _carrying(point):
        yield from (branch.a, branch.b)
    yield from (
        node for branch in point.circuit.branches for node in (branch.a, branch.b) if point.connectivity.fed(node)
    )


def _wires(point: OperatingPoint) -> Iterator[str]:
    return (branch.key for branch in point.circuit.branches if branch.segment is not None)


def _fed(point: OperatingPoint) -> set[str]:
    """The wires that are connected to a feed."""
    by_key, fed = point.circuit.by_key, point.connectivity.fed
    return {key for key in _wires(point) if fed(by_key[key].a) or fed(by_key[key].b)}


def _positions(harness: Harness, point: OperatingPoint) -> Iterator[tuple[str, str]]:
    """How each relay and switch is: one that the engine moves as it is while current flows through it."""
    joined: dict[str, set[frozenset[str]]] = {}
    for branch in point.circuit.branches:
        if branch.part and branch.key.role is Role.CONTACT and point.connectivity.conducts(branch):
            joined.setdefault(branch.part, set()).add(frozenset((branch.a.terminal, branch.b.terminal)))
    for part in harness.parts.values():
        if isinstance(part, Relay):
            yield part.name, PULLED if part.name in point.memory.pulled else RELEASED
        elif isinstance(part, Switch) and part.positions:
            at = point.positions.get(part.control, part.rests)
            now = joined.get(part.name, set())
            as_now = [p.name for p in part.positions if {frozenset(pair) for pair in p.pairs} == now]
            yield part.name, at if at in as_now or not as_now else as_now[0]


def _notes(point: OperatingPoint) -> Iterator[tuple[str, str]]:
    """Of each wire the volts to ground at its ends, and amps; of everything else volts across it, and amps."""
    for branch in point.circuit.branches:
        try:
            amps = abs(point.mean_amps(branch.key))
            a, b = point.volts(branch.a), point.volts(branch.b)
        except KeyError:  # connected to nothing that has a voltage
            continue
        current = f"{shown(amps)} A" if amps >= _LEAST_AMPS else ""
        if branch.segment is not None:
            high, low = max(a, b, key=abs), min(a, b, key=abs)
            ends = [shown(_near_zero(each)) for each in (high, low)]
            apart = abs(high - low) >= _LEAST_VOLTS and ends[0] != ends[1]
            volts = f"{ends[0]} to {ends[1]} V" if apart else f"{ends[0]} V"
        else:
            volts = f"{shown(_near_zero(abs(a - b)))} V"
        yield branch.key, " ".join(word for word in (volts, current) if word)
    for supply in point.circuit.supplies:
        try:
            volts = f"{shown(_near_zero(point.across(supply.key)))} V"
            yield supply.key, f"{volts} {shown(abs(point.mean_amps(supply.key)))} A"
        except KeyError:
            continue


def _near_zero(volts: float) -> float:
    """Volts as they are noted: to 10 mV, so that nothing is a residue of the calculation."""
    return round(volts, 2) + 0.0
