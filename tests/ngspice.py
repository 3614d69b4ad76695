"""Netlists for ngspice, written from the circuit and the published description of each law, not from our own laws.

What cannot be mapped is listed by ``unmapped`` and asserted on by the tests, never skipped in silence.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from published import lamp_ratios

from loomwright.checks.tables.conductors import resistance_per_metre
from loomwright.checks.tables.fuses import cold_resistance
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.model.parts import (
    Coil,
    Element,
    Field,
    Flasher,
    Fuse,
    Resistor,
    Sensor,
    Source,
    Unit,
    UnitOutput,
    UnitSupply,
)

if TYPE_CHECKING:
    from loomwright.checks.dc.flow import Flow
    from loomwright.checks.dc.situation import Situation
    from loomwright.lang.circuit.branch import Branch
    from loomwright.lang.circuit.circuit import Circuit

OPTIONS = ".options gmin=1e-15 reltol=1e-6 abstol=1e-10 vntol=1e-8 itl1=1000"
LEAK = 1e-7


@dataclass
class Netlist:
    """The lines of a netlist; ``devices`` by branch key or source name, ``nodes`` by our name, ``unmapped`` laws."""

    lines: list[str] = field(default_factory=list)
    nodes: dict[str, str] = field(default_factory=dict)
    devices: dict[str, str] = field(default_factory=dict)
    unmapped: list[str] = field(default_factory=list)
    joined: list[tuple[str, str]] = field(default_factory=list)

    def ties(self) -> list[str]:
        """A megohm from one node of each island to 0, through which nothing can flow: the simulator wants a way."""
        leader = {node: node for node in self.nodes.values()}

        def find(node: str) -> str:
            while leader[node] != node:
                node = leader[node]
            return node

        for x, y in self.joined:
            leader[find(x)] = find(y)
        grounded = find("0")
        return [f"rtie{n} {n} 0 1meg" for n in leader if leader[n] == n and n != grounded]

    def node(self, name: str) -> str:
        return self.nodes.setdefault(name, f"n{len(self.nodes)}")

    def resistor(self, key: str, a: str, b: str, ohms: float) -> None:
        if a == b:
            return
        name = f"r{len(self.lines)}"
        self.devices[key] = name
        self.joined.append((self.node(a), self.node(b)))
        self.lines.append(f"{name} {self.node(a)} {self.node(b)} {ohms!r}")

    def branch_type(self, key: str, a: str, b: str, expression: str) -> None:
        """A current from ``a`` to ``b`` as an expression of ``v``, the volts between them."""
        name = f"b{len(self.lines)}"
        self.devices[key] = name
        x, y = self.node(a), self.node(b)
        self.joined.append((x, y))
        self.lines.append(f"{name} {x} {y} I = {expression.replace('v', f'V({x},{y})')}")

    def text(self, guess: dict[str, float]) -> str:
        sets = [
            f".nodeset v({spice})={guess[name]!r}"
            for name, spice in self.nodes.items()
            if name in guess and spice != "0"
        ]
        asked = [f"v({n})" for n in self.nodes.values() if n != "0"] + [f"@{d}[i]" for d in self.devices.values()]
        prints = [f"print {each}" for each in asked]
        return "\n".join(
            [
                "* harness",
                *self.lines,
                *self.ties(),
                OPTIONS,
                *sets,
                ".control",
                "set numdgt=15",
                "op",
                *prints,
                ".endc",
                ".end",
                "",
            ]
        )


def breakpoint_(amps: float, knee_volts: float, nominal: float) -> tuple[float, float]:
    """Slopes below and above the knee of a current that then stays: through the rated amps at the knee, 1 % above."""
    return amps / knee_volts, 0.01 * amps / nominal


def netlist(circuit: Circuit, situation: Situation) -> Netlist:
    made = Netlist()
    pole = next((s for s in circuit.supplies if s.kind == "battery"), circuit.supplies[0])
    ground = pole.minus if circuit.return_sign == "-" else pole.plus[0]
    made.nodes[ground] = "0"
    turning = {m.supply for m in situation.machines}
    for branch in circuit.branches:
        if (branch.guard is not None or not branch.reliable) and branch.key not in situation.conducting:
            continue
        if branch.branch_type is BranchType.LEG and branch.part in turning:
            continue
        _branch(made, circuit, branch, situation)
    for supply in circuit.supplies:
        if supply.kind == "battery":
            part = circuit.harness.parts[supply.name]
            assert isinstance(part, Source)
            assert part.volts
            assert part.ohms
            assert part.amp_hours
            regulated = (
                max((getattr(p, "regulated", None) or 0.0 for p in circuit.harness.parts.values()), default=0.0)
                or circuit.harness.volts * 14.2 / 12.0
            )
            take = 0.05 * part.amp_hours / (regulated - part.volts)
            made.branch_type(
                supply.name,
                supply.plus[0],
                supply.minus,
                f"(v < {part.volts!r}) ? (v - {part.volts!r}) / {part.ohms!r} : (v - {part.volts!r}) * {take!r}",
            )
    for machine in situation.machines:
        supply = next(s for s in circuit.supplies if s.name == machine.supply)
        inside = supply.plus[0]
        if len(supply.plus) > 1:
            inside = f"{supply.name} inside"
            for plus in supply.plus:
                made.branch_type(f"{supply.name} {plus}", inside, plus, f"(v > 0) ? 1000 * v : {LEAK} * v")
        most, volts = machine.amps, machine.volts
        start = volts - most * 1e-4
        made.branch_type(
            supply.name,
            inside,
            supply.minus,
            f"(v < {start!r}) ? {-most!r} + {0.01 * most / volts!r} * (v - {start!r})"
            f" : ((v < {volts!r}) ? (v - {volts!r}) * 10000 : {LEAK} * (v - {volts!r}))",
        )
    return made


def _branch(made: Netlist, circuit: Circuit, branch: Branch, situation: Situation) -> None:
    key, a, b, item = branch.key, branch.a, branch.b, branch.item
    nominal = circuit.harness.volts
    tested = {6.0: 6.75, 12.0: 13.5, 24.0: 28.0}[nominal]  # where an LED has its watts
    part = circuit.harness.parts.get(branch.part)
    one_way = f"(v > 0) ? {{}} * v : {LEAK} * v"
    match branch.branch_type:
        case BranchType.WIRE:
            segment = branch.segment
            assert segment
            assert segment.size
            assert segment.length is not None
            per_metre = resistance_per_metre(segment.size.area, segment.ambient)
            made.resistor(key, a, b, per_metre * (segment.length + 0.1))  # 50 mm of itself for each end
        case BranchType.MOUNT | BranchType.LINK:
            made.resistor(key, a, b, 1e-4 if branch.reliable else 1e-3)
        case BranchType.WAY | BranchType.CONTACT | BranchType.METER | BranchType.PASS | BranchType.FLASHER:
            amps = getattr(part, "amps", None)
            if isinstance(part, Flasher):
                amps = part.watts[1] / nominal if part.watts else None
            made.resistor(key, a, b, 0.05 / (amps or 10.0))
        case BranchType.FUSE:
            assert isinstance(part, Fuse)
            amps = part.amps or (part.blows or 0.0) / 2
            made.resistor(key, a, b, cold_resistance(amps) if amps else 0.005)
        case BranchType.CUT_OUT:
            made.branch_type(key, a, b, one_way.format(repr((getattr(part, "amps", None) or 10.0) / 0.05)))
        case BranchType.DIODE | BranchType.LEG:
            made.branch_type(key, a, b, f"(v > 0.7) ? {0.7 * LEAK!r} + (v - 0.7) * 20 : {LEAK} * v")
        case BranchType.OUTPUT if (
            isinstance(item, UnitOutput) and item.volts is not None and item.volts <= 0.6 * nominal
        ):
            assert isinstance(part, Unit)
            assert item.amps
            back = next(s.minus for s in part.supplies if s.name == item.supply)
            steep, least = item.amps / (1e-3 * item.volts), 0.01 * item.amps / item.volts
            beyond = f"(v + {item.volts!r})"
            knee_at = f"{1e-3 * item.volts!r}"
            limited = f"{item.amps!r} + {least!r} * ({beyond} - {knee_at})"
            made.branch_type(
                key,
                f"{part.name}.{back}",
                b,
                f"({beyond} < 0) ? {LEAK} * {beyond} : (({beyond} < {knee_at}) ? {steep!r} * {beyond} : {limited})",
            )
        case BranchType.OUTPUT:
            assert isinstance(item, UnitOutput)
            limit = item.amps or item.trips
            made.branch_type(key, a, b, one_way.format(repr(limit / 0.1 if limit else 1 / 0.005)))
        case BranchType.RESISTOR | BranchType.SENSOR:
            assert isinstance(part, Resistor | Sensor)
            assert part.ohms
            made.resistor(key, a, b, part.ohms)
        case BranchType.COIL | BranchType.FIELD:
            assert isinstance(item, Coil | Field)
            assert item.ohms
            made.resistor(key, a, b, item.ohms)
        case BranchType.SUPPLY:
            assert isinstance(item, UnitSupply)
            amps = item.asleep if situation.asleep and item.asleep is not None else item.amps
            if amps:
                made.branch_type(key, a, b, _electronics(amps, nominal))
        case BranchType.LAMP:
            assert isinstance(item, Element)
            assert item.watts
            bright = nominal * lamp_ratios().get(item.watts, 1.0)
            amps = item.watts / bright
            cold = bright * 13.7 ** (-1 / 0.45)  # up to here the filament is cold
            hot = f"{amps!r} * sgn(v) * pow(abs(v) / {bright!r} + 1e-15, 0.55)"
            made.branch_type(key, a, b, f"(abs(v) < {cold!r}) ? {13.7 * amps / bright!r} * v : {hot}")
        case BranchType.LED:
            assert isinstance(item, Element)
            amps = item.amps or (item.watts or 0.0) / tested
            dark, full, least = 0.40 * nominal, 0.65 * nominal, 0.01 * amps / nominal
            rise = (amps - least * full) / (full - dark)
            made.branch_type(
                key,
                a,
                b,
                f"(v < 0) ? {LEAK} * v : ({least!r} * v + {rise!r} * max(0, min(v, {full!r}) - {dark!r}))",
            )
        case BranchType.ELECTRONICS if item is None:
            made.unmapped.append(key)
        case BranchType.ELECTRONICS:
            assert isinstance(item, Element)
            if item.amps:
                made.branch_type(key, a, b, _electronics(item.amps, nominal))
            else:
                siemens = item.watts / nominal**2 if item.watts else 1 / (item.ohms or 1)
                made.branch_type(key, a, b, one_way.format(repr(siemens)))
        case BranchType.CAPACITOR:
            pass  # open to direct current
        case BranchType.WINDING | BranchType.PRIMARY:
            made.unmapped.append(key)
        case _:
            assert isinstance(item, Element)
            if branch.branch_type is BranchType.MOTOR and item.amps:
                at = 0.7 * nominal
                below, above = breakpoint_(item.amps, at, nominal)
                inside = f"{below!r} * max({-at!r}, min(v, {at!r}))"
                expression = f"{inside} + {above!r} * (max(0, v - {at!r}) + min(0, v + {at!r}))"
                made.branch_type(key, a, b, expression)
            else:
                ohms = item.ohms or (nominal / item.amps if item.amps else nominal**2 / (item.watts or 1))
                made.resistor(key, a, b, ohms)  # while its circuit is closed: duty is a share of time


def _electronics(amps: float, nominal: float) -> str:
    at = 0.5 * nominal
    below, above = breakpoint_(amps, at, nominal)
    return f"(v < 0) ? {LEAK} * v : ({below!r} * min(v, {at!r}) + {above!r} * max(0, v - {at!r}))"


class NoSolutionError(AssertionError):
    """The simulator gave up before it found all that was asked; in a comparison that is a failure like any other."""


def run(program: str, text: str) -> dict[str, float]:
    """What ngspice prints, by name in lower case."""
    done = subprocess.run([program, "-b", "/dev/stdin"], input=text, capture_output=True, text=True, check=False)
    found = {
        name.lower(): float(value) for name, value in re.findall(r"^(\S+) = (\S+)\s*$", done.stdout, flags=re.MULTILINE)
    }
    assert found, done.stdout + done.stderr
    missing = [line for line in re.findall(r"^print (\S+)", text, flags=re.MULTILINE) if line.lower() not in found]
    if missing:
        raise NoSolutionError(f"{missing}: {done.stderr[:2000]}")
    return found


def compare(program: str, circuit: Circuit, flow: Flow) -> list[str]:
    """Where ngspice and we differ by over 1 mV and 0.1 %, or 10 uA and 0.1 %; volts only where a source reaches.

    Also asserts that everything was mapped but what ``unmapped`` may hold: alternating windings, and supplies of
    flashers, for which the language has no rating.
    """
    flow = getattr(flow, "direct", flow)  # a winding's current is judged by `ac_spice`
    made = netlist(circuit, flow.situation)
    guess = {name: flow.at(name) for name in made.nodes if name in flow.network.index}
    printed = run(program, made.text(guess))
    wrong = []
    reached = reached_by_sources(flow)
    for name, spice in made.nodes.items():
        if spice == "0" or name not in reached:
            continue
        ours, theirs = flow.at(name), printed[f"v({spice})"]
        if abs(ours - theirs) > max(1e-3, 1e-3 * abs(theirs)):
            wrong.append(f"{name}: {ours:.6g} V, ngspice {theirs:.6g} V")
    amps = flow.amps
    for key, device in made.devices.items():
        if key not in amps:
            continue
        ours, theirs = amps[key], printed[f"@{device}[i]"]
        if abs(ours - theirs) > max(1e-5, 1e-3 * abs(theirs)):
            wrong.append(f"{key}: {ours:.6g} A, ngspice {theirs:.6g} A")
    return wrong


def reached_by_sources(flow: Flow) -> frozenset[str]:
    """The nodes with a way to a source through anything that conducts; the volts of others mean nothing."""
    network, situation = flow.network, flow.situation
    running = {m.supply for m in situation.machines}
    giving = [s for s in network.circuit.supplies if s.kind == "battery" or s.name in running]
    return frozenset(network.paths.joined_to([pole for s in giving for pole in (*s.plus, s.minus)], situation))
