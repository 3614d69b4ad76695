"""Random surveys of known harnesses, and a meter that ngspice plays: what ``identify`` is tried on.

Colours fade by a table of their own, with about twice the slips that the product reckons with. The meter is a battery
of 2.5 V behind 2.5 kohm, as a multimeter's diode range is (common practice, no source); what it shows comes from the
simulator's operating point of the harness, each part by its published law, dead bulbs left out.
"""

from __future__ import annotations

import random
import subprocess
from dataclasses import dataclass, field

from loomwright.checks.meter import Setup
from loomwright.checks.survey.candidates import Candidate, Sort, candidates
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Coil, Element, Field, Resistor, Sensor, Source, Unit
from loomwright.lang.survey.record import (
    Arrangement,
    Half,
    Lead,
    LeadName,
    MeterReading,
    Point,
    SeenColour,
    Shows,
    Survey,
)
from loomwright.lang.vocabulary.colours import BASE_COLOURS, Colour

AT = Span("survey.loom", 1, 1, 2)
FADES = {
    "white": ("grey", "yellow"), "grey": ("white", "blue"), "brown": ("red", "black"), "red": ("brown", "orange"),
    "orange": ("red", "yellow"), "pink": ("red", "white"), "violet": ("blue", "brown"),
    "blue": ("violet", "green", "black"), "turquoise": ("blue", "green"), "green": ("blue", "yellow"),
    "yellow": ("white", "orange"), "black": ("brown", "grey", "blue"),
}  # fmt: skip
FADED, ANY_OTHER, STRIPE_LOST, STRIPE_OTHER, GHOST = 0.16, 0.03, 0.14, 0.08, 0.02
WRONG = 0.02
"""Share of readings that the hand gets wrong."""

VOLTS, BEHIND = 2.5, 2500.0


@dataclass
class Known:
    """A random survey with what is true of it: each half's candidate, each lead's end."""

    survey: Survey
    halves: dict[str, str]
    leads: dict[LeadName, str]
    circuit: Circuit
    dead: frozenset[str] = frozenset()
    netlists: dict[Setup, list[str]] = field(default_factory=dict)


def faded(rng: random.Random, drawn: Colour | None) -> SeenColour:
    """What is left of a colour after forty years."""
    if drawn is None:
        return SeenColour(rng.choice(BASE_COLOURS))
    base, stripe = (part.removeprefix("light-").removeprefix("dark-") for part in (drawn.base, drawn.stripe))
    chance = rng.random()
    if chance < FADED:
        base = rng.choice(FADES[base])
    elif chance < FADED + ANY_OTHER:
        base = rng.choice(BASE_COLOURS)
    chance = rng.random()
    if stripe:
        if chance < STRIPE_LOST:
            stripe = ""
        elif chance < STRIPE_LOST + STRIPE_OTHER:
            stripe = rng.choice(BASE_COLOURS)
    elif chance < GHOST:
        stripe = rng.choice(BASE_COLOURS)
    return SeenColour(base, stripe)


def random_survey(harness: Harness, seed: int, *, parts_in: bool = False, dead: float = 0.0) -> Known:
    """Every half of a harness in a random order, its leads in a random order, sockets and pins not told."""
    rng = random.Random(seed)
    drawn: list[Candidate] = [each for each in candidates(harness) if each.sort in (Sort.HALF, Sort.PART)]
    rng.shuffle(drawn)
    halves: dict[str, Half] = {}
    truth: dict[str, str] = {}
    leads: dict[LeadName, str] = {}
    for number, candidate in enumerate(drawn, 1):
        name = f"P{number}"
        ends = list(candidate.ends)
        rng.shuffle(ends)
        seen = []
        for place, end in enumerate(ends, 1):
            colours = [faded(rng, colour) for colour in end.colours]
            rng.shuffle(colours)
            seen.append(Lead(name, place, tuple(colours), AT))
            leads[name, place] = end.node
        where = candidate.places[0] if candidate.places else None
        halves[name] = Half(name=name, leads=tuple(seen), span=AT, place=where)
        truth[name] = candidate.name
    circuit = build_circuit(harness)
    lamps = [branch.key for branch in circuit.branches if branch.branch_type is BranchType.LAMP]
    arrangement = Arrangement(apart=frozenset() if parts_in else None, parts_in=parts_in)
    survey = Survey(file="survey.loom", relation="of", harness=harness, halves=halves, arrangement=arrangement)
    return Known(survey, truth, leads, circuit, frozenset(each for each in lamps if rng.random() < dead))


# --- the meter
def ohms_by_spice(program: str, known: Known, setup: Setup, red: str, black: str) -> float:
    """What the meter would take for a resistance: V over A at its probes; some megohms where it is open."""
    body = known.netlists.setdefault(setup, netlist(known.circuit, setup, known.dead))
    nodes = _nodes(known.circuit)
    text = [
        "* meter",
        *body,
        f"vmeter inside {nodes[black]} {VOLTS}",
        f"rmeter inside {nodes[red]} {BEHIND}",
        f"rground {nodes[black]} 0 1",
        ".model d d(is=1e-9 n=1.7)",
        ".options rshunt=1e10",
        ".control", "op", f"print v({nodes[red]})-v({nodes[black]})", ".endc", ".end", "",
    ]  # fmt: skip
    done = subprocess.run(
        [program, "-b", "/dev/stdin"], input="\n".join(text), capture_output=True, text=True, check=False
    )
    shown = [line for line in done.stdout.splitlines() if line.startswith("v(") and "=" in line]
    assert len(shown) == 1, done.stdout + done.stderr
    volts = float(shown[0].rpartition("=")[2])
    return volts / max((VOLTS - volts) / BEHIND, 1e-12)


def _nodes(circuit: Circuit) -> dict[str, str]:
    names = [name for branch in circuit.branches for name in (branch.a, branch.b)]
    names += [f"{part.name}.{terminal}" for part in circuit.harness.parts.values() for terminal in part.terminals]
    names += [part.name for part in circuit.harness.parts.values()]
    return {name: f"n{number}" for number, name in enumerate(dict.fromkeys(names))}


def netlist(circuit: Circuit, setup: Setup, dead: frozenset[str]) -> list[str]:
    """The harness at rest as devices: copper, cold filaments (hot over 13.7), coils, diodes, boxes of some kohm."""
    nodes = _nodes(circuit)
    lines: list[str] = []

    def resistor(a: str, b: str, ohms: float) -> None:
        if a != b:
            lines.append(f"r{len(lines)} {nodes[a]} {nodes[b]} {ohms!r}")

    def diode(a: str, b: str) -> None:
        lines.append(f"d{len(lines)} {nodes[a]} {nodes[b]} d")

    positions = dict(setup.positions)
    volts = circuit.harness.volts
    for branch in circuit.branches:
        part = circuit.harness.parts.get(branch.part)
        item = branch.item
        inside = branch.branch_type not in (BranchType.WIRE, BranchType.WAY, BranchType.FUSE) and not (
            branch.branch_type is BranchType.MOUNT and "." not in branch.a
        )
        moved = getattr(part, "control", None) in positions
        if branch.key in dead | setup.opened or (branch.part and branch.part in setup.opened):
            continue
        if branch.branch_type is BranchType.FUSE and not setup.fuses_in:
            continue
        if inside and not setup.parts_in and not moved:
            continue
        match branch.branch_type:
            case BranchType.WIRE:
                resistor(branch.a, branch.b, 0.02)
            case BranchType.WAY:
                if setup.apart is not None and branch.part not in setup.apart:
                    resistor(branch.a, branch.b, 0.005)
            case BranchType.FUSE | BranchType.METER | BranchType.LINK:
                resistor(branch.a, branch.b, 0.01)
            case BranchType.MOUNT:
                resistor(branch.a, branch.b, 0.001 if branch.reliable else 3.0)
            case BranchType.CONTACT:
                guard = branch.guard
                control = getattr(guard, "control", None)
                if control is not None:
                    closed = positions.get(control, circuit.controls[control].rest) in guard.positions
                else:
                    closed = not getattr(guard, "pulled", False)
                if closed:
                    resistor(branch.a, branch.b, 0.005)
            case BranchType.DIODE | BranchType.LEG:
                diode(branch.a, branch.b)
            case BranchType.LED:
                diode(branch.a, f"{branch.b}")
            case BranchType.LAMP:
                assert isinstance(item, Element)
                resistor(branch.a, branch.b, (13.5 * volts / 12.0) ** 2 / (item.watts or 5.0) / 13.7)
            case BranchType.COIL | BranchType.FIELD | BranchType.RESISTOR | BranchType.SENSOR:
                stated = (
                    item.ohms
                    if isinstance(item, Coil | Field)
                    else part.ohms
                    if isinstance(part, Resistor | Sensor)
                    else None
                )
                resistor(branch.a, branch.b, stated or 80.0)
            case BranchType.FLASHER:
                resistor(branch.a, branch.b, 0.1)
            case BranchType.MOTOR | BranchType.PUMP | BranchType.HORN | BranchType.SOLENOID | BranchType.HEATER:
                assert isinstance(item, Element)
                resistor(branch.a, branch.b, item.ohms or volts / (item.amps or (item.watts or 12.0) / volts))
            case BranchType.IGNITION:
                assert isinstance(item, Element)
                resistor(branch.a, branch.b, item.ohms or 30.0)  # without a stated primary it is a box
            case BranchType.WINDING:
                resistor(branch.a, branch.b, 0.8)
            case _:
                pass  # capacitors, cut-outs at rest, what boxes hold
    for part in circuit.harness.parts.values():
        if not setup.parts_in:
            break
        if part.name in setup.opened:
            continue
        if isinstance(part, Source):
            for a, b in zip(part.phases, part.phases[1:], strict=False):
                resistor(f"{part.name}.{a}", f"{part.name}.{b}", 0.5)
        if isinstance(part, Unit):
            for number, terminal in enumerate(part.terminals[1:]):
                resistor(f"{part.name}.{part.terminals[0]}", f"{part.name}.{terminal}", 1e3 * (1 + number))
    return lines


def reading(program: str, known: Known, rng: random.Random, red: str, black: str) -> MeterReading:
    """One touch of two points, a hand's error put in."""
    arrangement = known.survey.arrangement
    setup = Setup(apart=arrangement.apart, parts_in=arrangement.parts_in)
    ohms = ohms_by_spice(program, known, setup, _end(known, red), _end(known, black))
    beeps = (ohms <= known.survey.beeper) is not (rng.random() < WRONG)
    shows = Shows.BEEP if beeps else Shows.SILENCE
    return MeterReading(shows=shows, a=_point(black), b=_point(red), span=AT)


def _lead(text: str) -> LeadName | None:
    half, _, number = text.partition(".")
    return (half, int(number)) if number else None


def _end(known: Known, text: str) -> str:
    lead = _lead(text)
    return known.leads[lead] if lead else text


def _point(text: str) -> Point:
    lead = _lead(text)
    return Point(text, AT, lead=lead, node=None if lead else text)
