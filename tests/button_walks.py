"""Walks of button histories by volts: what comes about on a machine, the judge of proofs that share no code with it.

A walk starts at rest with the engine off. Each step moves one control by one position, or one crank contact, and the
circuit is solved from the memory of the step before. What does not settle, or would pass through a dead short, be it
for the moment before a relay moves, is stepped back from: nothing is concluded from it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from loomwright.checks.behaviour import feed_keys
from loomwright.checks.dc.devices import UnsolvableError, rated
from loomwright.checks.dc.memory import AT_REST, Memory
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.checks.study import Study
from loomwright.checks.tables.device_constants import shares
from loomwright.lang.circuit.branch import Branch, InPosition, On, Pulled
from loomwright.lang.circuit.branch_types import Direction
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.model.conditions import All, AnyOf, Condition, Not, Test
from loomwright.lang.model.parts import Load, Part, Unit

ENGINE = ("off", "cranking", "idling", "running")
MARGIN = 1.02
"""A proof and a solution may differ by this much at the limit itself (ours)."""
VALVE = 1.0
"""V that a diode beside an ignition coil may leave across it (ours): no spark comes of that, and at 6 V it is more than
the dead share."""


@dataclass(frozen=True)
class Step:
    """A settled moment of a walk: the solved point, the crank contacts that are open, and how it came about."""

    point: OperatingPoint
    open_contacts: frozenset[str]
    history: tuple[str, ...]


class Solver(Protocol):
    """What gives the settled moment of a combination: our own numbers, or another program's."""

    circuit: Circuit

    def at(self, positions: Mapping[str, str], memory: Memory, *, opened: frozenset[str]) -> OperatingPoint:
        """Raises ``UnsolvableError`` where nothing settles."""
        ...


def walk(
    operation: Solver, chance: random.Random, steps: int, states: Sequence[Mapping[str, str]] = ()
) -> Iterator[Step]:
    """Settled moments, the engine started and stopped on the way, each from the memory of the one before.

    Now and then the walk goes to one of ``states``, a control at a time, since it would seldom come by one by chance.
    """
    circuit = operation.circuit
    controls = circuit.controls
    contacts = [b.key for b in circuit.branches if isinstance(b.guard, InPosition) and controls[b.guard.control].free]
    positions = {name: control.rest for name, control in controls.items()}
    memory: Memory = AT_REST
    open_contacts: frozenset[str] = frozenset()
    history: tuple[str, ...] = ()
    movable = [name for name, control in controls.items() if name != "engine" and not control.free]
    errands: list[tuple[str, str]] = []
    for _ in range(steps):
        moved, shut, said = dict(positions), open_contacts, ""
        if states and not errands and chance.random() < 0.1:
            there = chance.choice(states)
            errands = [(name, there.get(name, controls[name].rest)) for name in movable]
            errands = [each for each in errands if positions[each[0]] != each[1]]
            chance.shuffle(errands)
        pick = chance.random()
        if errands:
            name, moved[name] = errands.pop()
            said = f"{name} {moved[name]}"
        elif contacts and pick < 0.15:
            contact = chance.choice(contacts)
            shut = open_contacts ^ {contact}
            said = f"{contact} {'open' if contact in shut else 'closed'}"
        else:
            name = "engine" if pick < 0.35 and "engine" in controls else chance.choice(movable)
            among = controls[name].positions
            moved[name] = chance.choice([p for p in among if p != positions[name]] or [positions[name]])
            said = f"{name} {moved[name]}"
        try:
            point = operation.at(moved, memory, opened=shut)
        except UnsolvableError:
            continue  # a relay that chatters leaves no moment to walk on from: another step is tried
        if point.shorted:
            continue  # what a dead short leaves is no memory of a machine that still works
        if any(shorted(circuit, moved, passed, shut) for passed in _passed(memory, point.memory)):
            continue  # nor what a short leaves that lasts until a relay has moved
        positions, memory, open_contacts = moved, point.memory, shut
        history = (*history, said)
        yield Step(point, open_contacts, history)


def _passed(was: Memory, now: Memory) -> Iterator[Memory]:
    """The memory that a step starts from, and with each relay that it moves."""
    yield was
    for relay in sorted(was.pulled ^ now.pulled):
        yield was.turned("pulled", relay)


def shorted(circuit: Circuit, positions: Mapping[str, str], memory: Memory, opened: frozenset[str]) -> bool:
    """Whether a battery's + is connected to its own - with relays and outputs as remembered, whatever they do then."""

    def conducts(branch: Branch) -> bool:
        if branch.key in opened:
            return False
        match branch.guard:
            case InPosition(control, among):
                return positions[control] in among
            case Pulled(relay, state):
                return (relay in memory.pulled) == state
            case On(unit, output):
                return f"{unit}.{output}" in memory.on
            case _:
                return True

    batteries = (supply for supply in circuit.supplies if supply.kind == "battery")
    return any(_leads(circuit, plus, s.minus, conducts) for s in batteries for plus in s.plus)


def joined_both_ways(point: OperatingPoint, start: str, end: str) -> bool:
    """Whether current can pass from one terminal to another and back, by copper or valves; found branch by branch."""
    return _passes(point, start, end) and _passes(point, end, start)


def _passes(point: OperatingPoint, start: str, end: str) -> bool:
    return _leads(point.circuit, start, end, point.connectivity.conducts)


def _leads(circuit: Circuit, start: str, end: str, conducts: Callable[[Branch], bool]) -> bool:
    met, stack = {start}, [start]
    while stack:
        node = stack.pop()
        for branch in circuit.at.get(node, ()):
            if branch.branch_type.joined is Direction.NEVER or not conducts(branch):
                continue
            if branch.branch_type.joined is Direction.BOTH or branch.a == node:
                other = branch.b if branch.a == node else branch.a
                if other not in met:
                    met.add(other)
                    stack.append(other)
    return end in met


def alive(study: Study, point: OperatingPoint, part: Part) -> float:
    """The most volts past its dead share that what makes sparks has while the engine turns; 0.0: it is stopped."""
    if isinstance(part, (Load, Unit)) and part.stop_lead:
        lead, back = (f"{part.name}.{terminal}" for terminal in part.stop_lead)
        if joined_both_ways(point, lead, back):
            return 0.0
    if isinstance(part, Unit) and part.outputs:
        # A box whose outputs drive the coils makes no sparks while all of them are off, nor without a coil that is fed.
        if not point.memory.on.intersection(f"{part.name}.{output.name}" for output in part.outputs):
            return 0.0
        coils = [p for p in study.harness.parts.values() if isinstance(p, Load) and p.is_ignition]
        if coils and not any(alive(study, point, coil) for coil in coils):
            return 0.0
    most = 0.0
    kind = "unit supply" if isinstance(part, Unit) else "ignition"
    for key in feed_keys(study.logic.network, part):
        volts = _got(point, key)
        if volts > max(VALVE, MARGIN * shares()[kind].dead * study.harness.volts):
            most = max(most, volts)
    return most


def _got(point: OperatingPoint, key: str) -> float:
    """V across a consumer, in the direction in which it works."""
    volts = point.across(key)
    return abs(volts) if point.circuit.by_key[key].branch_type.as_load is Direction.BOTH else volts


def holds(term: Condition, positions: dict[str, str], memory: Memory) -> bool:
    """A condition of an expectation at one moment."""
    match term:
        case Test(control, position):
            return positions[control] == position if control in positions else control in memory.latched
        case Not(inner):
            return not holds(inner, positions, memory)
        case All(terms):
            return all(holds(each, positions, memory) for each in terms)
        case AnyOf(terms):
            return any(holds(each, positions, memory) for each in terms)


def refuted(study: Study, chance: random.Random, steps: int, operation: Solver | None = None) -> list[str]:
    """Proofs that say "holds" of what one walk finds alive: stops, claims of ``dead``, and starters in gear."""
    operation = operation or Operation(study.circuit)
    harness, network = study.harness, study.logic.network
    kills = [kill for kill in study.properties.kills if kill.proof.ended == "holds"]
    claims = [
        each
        for each in study.properties.claims
        if each.claim is not None
        and each.claim.how == "dead"
        and each.proof.ended == "holds"
        and not each.expectation.without
    ]
    named = {
        each.expectation.state: dict(harness.states[each.expectation.state].settings)
        for each in claims
        if each.expectation.state
    }
    interlocks = [each for each in study.properties.interlocks if each.proof.ended == "holds"]
    wrong: dict[str, None] = {}
    for step in walk(operation, chance, steps, [*named.values()]) if kills or claims or interlocks else ():
        point = step.point
        if point.engine != "off":
            for kill in kills:
                meant = network.positions_meant(kill.control.switch, kill.control.position)[1]
                if point.positions[kill.control.control] in meant:
                    volts = alive(study, point, harness.parts[kill.part])
                    if volts:
                        wrong.setdefault(f"{kill.control} stops {kill.part}: {volts:.2f} V after {step.history}")
        for each in claims:
            assert each.claim is not None
            asked = each.expectation.whenever
            if asked is not None:
                meant_here = holds(asked, point.positions, point.memory)
            else:
                meant_here = _stands(point, named[each.expectation.state or ""])
            if meant_here:
                volts = _claimed(study, point, each.claim.part, each.claim.element)
                if volts:
                    wrong.setdefault(f"{each.claim.part} dead: {volts:.2f} V after {step.history}")
        for lock in interlocks:
            if _in_danger(point, lock.danger):
                for element in _elements(harness.parts[lock.starter]):
                    volts = _got(point, element)
                    if volts > MARGIN * shares()["motor"].dead * harness.volts:
                        wrong.setdefault(f"{lock.starter} in {lock.danger}: {volts:.2f} V after {step.history}")
    return list(wrong)


def _stands(point: OperatingPoint, settings: Mapping[str, str]) -> bool:
    """Whether a moment is one of a named state that names no latch: with one set, the walk does not tell."""
    controls = point.circuit.controls
    return not point.memory.latched and all(
        point.positions[name] == settings.get(name, control.rest)
        for name, control in controls.items()
        if not control.free
    )


def _elements(part: Part) -> list[str]:
    return [f"{part.name}.{e.name}" for e in part.elements if e.what == "motor"] if isinstance(part, Load) else []


def _in_danger(point: OperatingPoint, danger: str) -> bool:
    in_gear = point.positions.get("gearbox", "in-gear") != "neutral"
    if danger == "clutch":
        return in_gear and point.positions.get("clutch", "out") == "out"
    return in_gear and point.positions.get("stand", "down") == "down"


def _claimed(study: Study, point: OperatingPoint, name: str, element: str | None) -> float:
    """The volts past the dead share of what a claim of ``dead`` is about; 0.0 where it is dead."""
    part = study.harness.parts[name]
    if element is None and isinstance(part, (Load, Unit)) and part.is_ignition:
        if point.engine == "off" and part.stop_lead:
            return 0.0  # with the engine still, a stop lead says nothing
        return alive(study, point, part)
    if not isinstance(part, Load):
        return 0.0
    most = 0.0
    for each in part.elements:
        if element in (None, each.name) and each.what in shares():
            key, share = f"{name}.{each.name}", shares()[each.what]
            volts, branch_type = _got(point, key), rated(point.circuit.by_key[key], point.circuit)
            if share.of == "rated amps":  # an LED, dark at volts at which a lamp glows already
                assert branch_type.curve is not None
                assert branch_type.amps is not None
                lives = branch_type.curve.amps(volts) > MARGIN * share.dead * branch_type.amps
            else:
                lives = volts > MARGIN * share.dead * study.harness.volts
            if lives:
                most = max(most, volts)
    return most
