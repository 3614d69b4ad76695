"""Single faults on the demonstrations as ngspice sees them: what a person notices, what a meter reads within 1 %."""

from __future__ import annotations

import random
from dataclasses import dataclass

import ngspice
from random_bikes import bike
from spice_walks import ROUNDS, SpiceFlow

from loomwright.checks.dc.conducting import situation_of
from loomwright.checks.dc.connectivity import always
from loomwright.checks.dc.control_units import held_latches
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.flow import flow_of
from loomwright.checks.dc.regulation import retune
from loomwright.checks.dc.relay_fixed_point import changes_of
from loomwright.checks.dc.situation import Situation
from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import Observation, Read, Seen
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.bad_joints import BAD
from loomwright.checks.fmea.failure_modes import SHORT, Damage, opens
from loomwright.checks.fmea.plain import struck
from loomwright.checks.operation.load_status import load_status
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.conditions import BY_ITSELF

OHMS = (0.5, 2.0, 5.0, 20.0)
NOISE = 0.01
MOST_READINGS = 25
"""A hunt is given up then: more than any has taken, so that a slow one shows."""
DARK, BRIGHT = 0.2, 0.93
"""Of the volts that an element has when all is sound: below the one a person calls it dead, up to the other dim."""


STATES = "state on { KEY on }\nstate riding { KEY on, engine running }\n"


def random_operation(seed: int) -> Operation:
    """A motorcycle that nobody drew, with the key on and riding, and stopping where it has that."""
    return Operation(build_circuit(read_text(bike(seed) + STATES, "random.loom").harness))


@dataclass(frozen=True)
class Case:
    """One fault: the branch by its key, and what is wrong with it: ``open``, some ohms, or a wire on ground."""

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
            key = chance.choice([b.key for b in can_open if b.branch_type in BAD])
            found.append(Case(state, key, "high resistance", chance.choice(OHMS)))
        elif kind == "open":
            found.append(Case(state, chance.choice(can_open).key, "open"))
        else:
            found.append(
                Case(state, chance.choice([b.key for b in can_open if b.branch_type is BranchType.WIRE]), SHORT)
            )
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
    branch = operation.circuit.by_key[case.key]
    try:
        if case.ohms:
            if not point.connectivity.conducts(branch):
                return None  # an open contact carries nothing: more ohms change nothing
            return _with_ohms(program, operation, point, case)
        damage = Damage((branch,)) if case.mode == "open" else _grounded(operation, point, case.key)
        if damage is None:
            return None
        hurt = struck(operation, point, damage)
        bike = _solved(program, hurt)
        if _stalls(operation, point, bike):
            own = operation.damaged(damage.keys, damage.grounded)
            bike = _solved(program, own.at(_halted(point), hurt.memory))
        return bike
    except (UnsolvableError, ngspice.NoSolutionError):
        return None


def _grounded(operation: Operation, point: OperatingPoint, key: str) -> Damage | None:
    from loomwright.checks.fmea.shorts import Shorts
    from loomwright.checks.protection.protection import Protection

    shorts = Shorts(point, Protection(operation.circuit)).all()
    return next((short.damage for short in shorts if short.wire.key == key and short.damage is not None), None)


def _with_ohms(program: str, operation: Operation, point: OperatingPoint, case: Case) -> Bike | None:
    """A joint of some ohms, every volt by ngspice: relays, outputs and fields move as its volts say, from how they
    were, until they rest; ``None`` where they never do.
    """
    network, memory, positions = operation.network, point.memory, point.positions
    fixed = held_latches(network, point.flow, positions, memory)
    setpoints = {name: volts for name, volts in network.regulated.items() if name}
    volts: dict[str, float] | None = None
    seen = set()
    for _ in range(ROUNDS):
        situation = situation_of(network, positions, memory, setpoints, pinned=point.pinned)
        flow = _flow(program, operation, situation, case, volts)
        volts = dict(flow.volts)
        if retune(network, flow, setpoints):
            continue
        changes = changes_of(network, flow, positions, memory, fixed)
        if not changes and positions == point.positions and _stalls(operation, point, Bike(volts)):
            positions = _halted(point)
        elif not changes:
            return Bike(volts)
        for kind, name in changes[:1] if memory in seen else changes:
            memory = memory.turned(kind, name)
        seen.add(memory)
    return None


def _stalls(operation: Operation, point: OperatingPoint, bike: Bike) -> bool:
    """Whether an engine that runs by itself has no ignition any more: what sparked has next to nothing now. What has
    too little to spark when all is sound did not keep it running.
    """
    if point.engine not in BY_ITSELF:
        return False
    parts = operation.circuit.harness.parts
    sparks = [
        b for b in operation.circuit.branches if b.branch_type.consumes and getattr(parts[b.part], "is_ignition", False)
    ]
    least = 0.3 * operation.circuit.harness.volts
    statuses = {b.key: load_status(point, b.key) for b in sparks}
    live = [b for b in sparks if (status := statuses[b.key]) is not None and status.word == "live"]
    alternating = any(b.key in operation.alternating for b in sparks)
    return bool(live) and not alternating and all(abs(bike.across(b.a, b.b)) < least for b in live)


def _halted(point: OperatingPoint) -> dict[str, str]:
    """The controls as they were, the engine stopped and its oil pressure gone."""
    oil = (c for c in point.circuit.controls.values() if c.sensed == "oil-pressure")
    return {**point.positions, **{control.name: "low" for control in oil}, "engine": "off"}


def _flow(
    program: str, operation: Operation, situation: Situation, case: Case, near: dict[str, float] | None
) -> SpiceFlow:
    """One situation with a bad joint; in steps, each from the one before: a knee is found badly from afar."""
    network = operation.network
    made = ngspice.netlist(operation.circuit, situation)
    joint = operation.circuit.by_key[case.key]
    closed = always(joint) or joint.key in situation.conducting  # what is open at this moment carries nothing
    if near is None:
        ours = flow_of(network, situation)
        near = {name: ours.at(name) for name in made.nodes if name in network.index}
    for share in (0.03, 0.3, 1.0):
        made = ngspice.netlist(operation.circuit, situation)
        if closed:
            _resist(made, case.key, share * case.ohms)
        printed = ngspice.run(program, made.text(near))
        near = _volts(made, printed)
    amps = {key: printed[f"@{device}[i]"] for key, device in made.devices.items()}
    return SpiceFlow(network, situation, near, amps)


def _resist(made: ngspice.Netlist, key: str, ohms: float) -> None:
    """Put ohms more into a resistor. Raises ``KeyError`` where what conducts at this moment has none of this key:
    nothing is left as it was.
    """
    device = made.devices[key]
    place = next(i for i, line in enumerate(made.lines) if line.startswith(f"{device} "))
    name, a, b, value = made.lines[place].split()
    made.lines[place] = f"{name} {a} {b} {float(value) + ohms!r}"


def _volts(made: ngspice.Netlist, printed: dict[str, float]) -> dict[str, float]:
    return {name: 0.0 if spice == "0" else printed[f"v({spice})"] for name, spice in made.nodes.items()}


def _solved(program: str, point: OperatingPoint) -> Bike:
    made = ngspice.netlist(point.circuit, point.flow.situation)
    guess = {name: point.flow.at(name) for name in made.nodes if name in point.flow.network.index}
    return Bike(_volts(made, ngspice.run(program, made.text(guess))))


def noticed(detective: Diagnoser, bike: Bike) -> list[Seen]:
    """The elements that a person sees to be otherwise than they should: dead, dim, or live that should be dead."""
    point = detective.point
    found = []
    for branch in point.circuit.branches:
        if not branch.branch_type.consumes or branch.key not in detective.places.things:
            continue
        sound, now = abs(point.across(branch.key)), abs(bike.across(branch.a, branch.b))
        if sound < 0.3 * point.circuit.harness.volts or detective.predictions.statuses.sound[branch.key] == "dead":
            continue  # what does not work without the fault either is missed by nobody
        if now < DARK * sound:
            found.append(Seen(branch.key, "dead"))
        elif now < BRIGHT * sound:
            found.append(Seen(branch.key, "dim"))
    return found


@dataclass(frozen=True)
class Hunt:
    """How a hunt ended: ``place`` of the fault among the suspects, from 1; 0 where it is none of them. ``named``: it is
    said then that it could not be judged; else it was excluded.
    """

    case: Case
    place: int
    readings: int
    lost_after: str = ""
    named: bool = False

    @property
    def excluded(self) -> bool:
        return not self.place and not self.named


def hunt(detective: Diagnoser, bike: Bike, case: Case, chance: random.Random) -> Hunt | None:
    """Ask, measure, say what was read, until nothing more is proposed; ``None`` where nobody notices anything.

    What the sound motorcycle shows too, left in another way before the state, is nothing to notice: a charge lamp that
    is dark with the engine idling.
    """
    seen = noticed(detective, bike)
    said: list[Observation] = [*seen[:2]]
    diagnosis = detective.inquire(said)
    if not seen or diagnosis.sound:
        return None
    for count in range(MOST_READINGS):
        if not _suspected(diagnosis, case):
            return Hunt(case, 0, count, "; ".join(map(str, said)), _named(diagnosis, case))
        measured = diagnosis.next
        if measured is None:
            break
        true = bike.across(measured.red, measured.black)
        volts = round(true * (1.0 + chance.uniform(-NOISE, NOISE)), 2)
        said.append(Read(measured.red, measured.black, volts, measured.where))
        diagnosis = detective.inquire(said)
    place = _suspected(diagnosis, case)
    lost_after = "" if place else "; ".join(map(str, said))
    return Hunt(case, place, len(said) - len(seen[:2]), lost_after, _named(diagnosis, case))


def _named(diagnosis: Diagnosis, case: Case) -> bool:
    """Whether a fault is listed as not judged."""
    return f"{case.key} {case.mode}" in diagnosis.unsolved


def _suspected(diagnosis: Diagnosis, case: Case) -> int:
    """The place of a fault in the list, those of one ambiguity group sharing theirs; 0: it is not there."""
    for place, group in enumerate(diagnosis.ambiguity_groups, 1):
        if any(s.fault.key == case.key and (s.mode == SHORT) == (case.mode == SHORT) for s in group.suspects):
            return place
    return 0
