"""Single faults on the demonstrations as ngspice sees them: what a person notices, what a meter reads within 1 %."""

from __future__ import annotations

import random
from dataclasses import dataclass

import ngspice

from loomwright.checks.dc.elements import UnsolvableError
from loomwright.checks.dc.operating import Operation, Point
from loomwright.checks.faults.modes import SHORT, Damage, opens
from loomwright.checks.faults.observing import Observation, Read, Seen
from loomwright.checks.faults.plain import struck
from loomwright.checks.faults.suspects import BAD, Detective, Inquiry
from loomwright.lang.circuit import Law

OHMS = (0.5, 2.0, 5.0, 20.0)
NOISE = 0.01
MOST_READINGS = 15
DARK, BRIGHT = 0.2, 0.93
"""Of the volts that an element has when all is sound: below the one a person calls it dead, up to the other dim."""


@dataclass(frozen=True)
class Case:
    """One fault: the branch by its key, and what is wrong with it: ``open``, so many ohms, or a wire on ground."""

    state: str
    key: str
    mode: str
    ohms: float = 0.0

    def __str__(self) -> str:
        how = f"{self.ohms:g} ohm in series" if self.ohms else self.mode
        return f"{self.state}: {self.key} {how}"


def cases(operation: Operation, chance: random.Random, count: int) -> list[Case]:
    """Faults at random, of each kind as many as will do."""
    circuit = operation.circuit
    found = []
    can_open = list(opens(circuit))
    for _ in range(count):
        state = chance.choice(list(operation.points))
        kind = chance.choice(("open", "ohms", "ohms", "ground"))
        if kind == "ohms":
            key = chance.choice([b.key for b in can_open if b.law in BAD])
            found.append(Case(state, key, "high resistance", chance.choice(OHMS)))
        elif kind == "open":
            found.append(Case(state, chance.choice(can_open).key, "open"))
        else:
            found.append(Case(state, chance.choice([b.key for b in can_open if b.law is Law.WIRE]), SHORT))
    return found


@dataclass(frozen=True)
class Bike:
    """A broken machine on the bench: the volts of its terminals by ngspice."""

    volts: dict[str, float]

    def across(self, a: str, b: str) -> float:
        return self.volts.get(a, 0.0) - self.volts.get(b, 0.0)


def broken(program: str, operation: Operation, case: Case) -> Bike | None:
    """The machine with a fault, every volt by ngspice; ``None`` where it comes to no rest, or has no solution."""
    point = operation.state(case.state)
    circuit = operation.circuit
    branch = circuit.by_key[case.key]
    try:
        if case.ohms:
            return _with_ohms(program, operation, point, case)
        damage = Damage((branch,)) if case.mode == "open" else _grounded(operation, point, case.key)
        if damage is None:
            return None
        hurt = struck(operation, point, damage)
        return _solved(program, hurt, {})
    except (UnsolvableError, ngspice.NoSolutionError):
        return None


def _grounded(operation: Operation, point: Point, key: str) -> Damage | None:
    from loomwright.checks.faults.shorts import Shorts
    from loomwright.checks.protection import Protection

    shorts = Shorts(point, Protection(operation.circuit)).all()
    return next((short.damage for short in shorts if short.wire.key == key and short.damage is not None), None)


def _with_ohms(program: str, operation: Operation, point: Point, case: Case) -> Bike | None:
    """A joint of so many ohms: solved by ngspice with relays as they were, and given up where one would move."""
    volts: dict[str, float] | None = None
    for share in (0.01, 0.03, 0.1, 0.3, 1.0):  # in steps, each from the one before: a knee is found badly from afar
        volts = _solved(program, point, {case.key: share * case.ohms}, volts).volts
    bike = Bike(volts or {})
    for name in point.memory.pulled:
        coil = operation.circuit.by_key.get(f"{name} coil")
        if coil is not None and abs(bike.across(coil.a, coil.b)) < 0.5 * operation.circuit.harness.volts:
            return None
    return bike


def _solved(program: str, point: Point, added: dict[str, float], near: dict[str, float] | None = None) -> Bike:
    made = ngspice.netlist(point.circuit, point.flow.situation)
    for key, ohms in added.items():
        device = made.devices.get(key)
        if device is not None and device.startswith("r"):
            place = next(i for i, line in enumerate(made.lines) if line.startswith(f"{device} "))
            name, a, b, value = made.lines[place].split()
            made.lines[place] = f"{name} {a} {b} {float(value) + ohms!r}"
    guess = near or {name: point.flow.at(name) for name in made.nodes if name in point.flow.network.index}
    printed = ngspice.run(program, made.text(guess))
    return Bike({name: 0.0 if spice == "0" else printed[f"v({spice})"] for name, spice in made.nodes.items()})


def noticed(detective: Detective, bike: Bike) -> list[Seen]:
    """The elements that a person sees to be otherwise than they should: dead, dim, or live that should be dead."""
    point = detective.point
    found = []
    for branch in point.circuit.branches:
        if not branch.law.consumes or branch.key not in detective.places.things:
            continue
        sound, now = abs(point.across(branch.key)), abs(bike.across(branch.a, branch.b))
        if sound < 0.3 * point.circuit.harness.volts:
            continue
        if now < DARK * sound:
            found.append(Seen(branch.key, "dead"))
        elif now < BRIGHT * sound:
            found.append(Seen(branch.key, "dim"))
    return found


@dataclass(frozen=True)
class Hunt:
    """How a hunt ended: ``place`` of the fault among the suspects, from 1; 0 where it was excluded."""

    case: Case
    place: int
    readings: int
    lost_after: str = ""


def hunt(detective: Detective, bike: Bike, case: Case, chance: random.Random) -> Hunt | None:
    """Ask, measure, say what was read, until nothing more is proposed; ``None`` where nobody notices anything."""
    seen = noticed(detective, bike)
    if not seen:
        return None
    said: list[Observation] = [*seen[:2]]
    inquiry = detective.inquire(said)
    for count in range(MOST_READINGS):
        if not _suspected(inquiry, case):
            return Hunt(case, 0, count, "; ".join(map(str, said)))
        measured = inquiry.next
        if measured is None:
            break
        true = bike.across(measured.red, measured.black)
        volts = round(true * (1.0 + chance.uniform(-NOISE, NOISE)), 2)
        said.append(Read(measured.red, measured.black, volts, measured.where))
        inquiry = detective.inquire(said)
    place = _suspected(inquiry, case)
    return Hunt(case, place, len(said) - len(seen[:2]), "" if place else "; ".join(map(str, said)))


def _suspected(inquiry: Inquiry, case: Case) -> int:
    """The place of a fault in the list, those of one chain sharing theirs; 0: it is not there."""
    for place, chain in enumerate(inquiry.chains, 1):
        if any(s.fault.key == case.key and (s.mode == SHORT) == (case.mode == SHORT) for s in chain.suspects):
            return place
    return 0
