"""What every part and conductor of a harness is for, by what it is connected to and what it does, and what to keep.

No name, label or place decides. Proposed to be kept: what makes or regulates the charge, what makes sparks and feeds
or stops them, the starter motor, and what senses the engine; proposed to be replaced: all else. The words ``kept`` and
``removed`` of the file go before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal, get_args

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import (
    Capacitor,
    Connector,
    Diode,
    Ground,
    Load,
    Meter,
    Rectifier,
    Regulator,
    Relay,
    Resistor,
    Sensor,
    Source,
    Splice,
    Switch,
    Unit,
)
from ...lang.records import dataclass
from ...lang.search.walks import reachable
from ..behaviour.behaviour import Behaviour
from ..logic.part_predicates import is_ignition

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.model.wires import Wire

System = Literal["charging", "ignition", "starting", "sensing", "the rest"]
SYSTEMS: Final[tuple[System, ...]] = get_args(System)

STARTER_AMPS = 40.0
"""A; a motor that takes more is a starter: no pump or fan of a motorcycle does (common practice, no source)."""

JOINING = (BranchType.WIRE, BranchType.WAY, BranchType.LINK, BranchType.MOUNT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """A part or a wire: its system, whether to keep it, and why. ``stated``: the file itself says so."""

    what: Literal["part", "wire"]
    name: str
    system: System
    keep: bool
    why: str
    stated: bool = False


class Sorting:
    """The parts and wires of one harness, sorted."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.harness: Harness = circuit.harness

    @cached_property
    def parts(self) -> dict[str, Sorted]:
        """Every part, in the order of the text."""
        found = {name: self._own(part) for name, part in self.harness.parts.items()}
        sorted_ = {name: each for name, each in found.items() if each is not None}
        for name in found:
            if name not in sorted_ and isinstance(
                part := self.harness.parts[name], Diode | Resistor | Capacitor | Meter
            ):
                sorted_[name] = self._beside(part, sorted_)
        for name in found:
            if name not in sorted_:
                sorted_[name] = self._joining(self.harness.parts[name], sorted_)
        return {name: self._stated(self.harness.parts[name], sorted_[name]) for name in found}

    @cached_property
    def wires(self) -> dict[str, Sorted]:
        """Every wire, in the order of the text: kept where all that it joins is kept."""
        return {wire.name: self._wire(wire) for wire in self.harness.wires.values()}

    def keeps(self, part: str) -> bool:
        return self.parts[part].keep

    # --- parts
    def _own(self, part: Part) -> Sorted | None:
        """A part that is sorted by what it is and does; ``None`` where what it is connected to decides."""
        match part:
            case Source(what="battery"):
                return _part(part, "charging", True, "the battery that is charged")
            case Source() | Rectifier() | Regulator():
                return _part(part, "charging", True, "generates or regulates the charging current")
            case Ground():
                return _part(part, "the rest", True, "ground")
            case Load() | Unit() if is_ignition(part):
                return _part(part, "ignition", True, "ignition part")
            case Load() if part.name in self.starters:
                return _part(part, "starting", True, "turns the engine")
            case Sensor():
                fires = any(is_ignition(self.harness.parts[name]) for name in self.neighbours(part.name))
                system: System = "ignition" if fires else "sensing"
                return _part(part, system, True, "triggers the ignition" if fires else "senses")
            case Switch() if part.name in self.starting_controls:
                return _part(part, "starting", False, f"operates {self.starting_controls[part.name]}")
            case Switch(senses="crank"):
                return _part(part, "ignition", True, "opens and closes as the engine turns")
            case Switch() if part.senses is not None:
                return _part(part, "sensing", True, f"senses {part.senses}")
            case Switch() if part.name in self.stops:
                return _part(part, "ignition", True, f"stops {self.stops[part.name]}")
            case Relay() if part.name in self.starter_relays:
                return _part(part, "starting", False, f"switches {self.starter_relays[part.name]}")
            case Diode() | Resistor() | Capacitor() | Meter() | Connector() | Splice():
                return None
            case _:
                return _part(part, "the rest", False, part.kind)

    @cached_property
    def starters(self) -> frozenset[str]:
        """The loads with a motor that takes what only a starter takes."""
        found = set()
        for part in self.harness.parts.values():
            if isinstance(part, Load):
                motors = [e for e in part.elements if e.what == "motor"]
                amps = [e.amps or (e.watts or 0.0) / self.harness.volts for e in motors]
                if any(each >= STARTER_AMPS for each in amps):
                    found.add(part.name)
        return frozenset(found)

    @cached_property
    def starter_relays(self) -> dict[str, str]:
        """The relays whose contact leads to a starter, past nothing but wires, with that starter's name."""
        return {
            part.name: starter
            for part in self.harness.parts.values()
            if isinstance(part, Relay)
            for starter in sorted(self.starters)
            if self._contact_leads_to(part.name, starter)
        }

    def _contact_leads_to(self, part: str, other: str) -> bool:
        contacts = [b for b in self.circuit.of_part.get(part, ()) if b.branch_type is BranchType.CONTACT]
        ends = {node for branch in contacts for node in (branch.a, branch.b)}
        return any(beside.part == other for node in ends if node not in self._grounds for beside in self._net(node))

    @cached_property
    def _grounds(self) -> frozenset[End]:
        """What is joined to ground by copper."""
        return frozenset(self._net(self.circuit.ground)) if self.circuit.ground else frozenset()

    @cached_property
    def starting_controls(self) -> dict[str, str]:
        """The buttons that are held to start, with the relay that they move."""
        buttons = {
            part.name: part.control
            for part in self.harness.parts.values()
            if isinstance(part, Switch) and part.senses is None and self._is_held(part)
        }
        moved = {relay: self._moved_by(relay, buttons) for relay in self.starter_relays}
        return {button: relay for button in buttons for relay, by in moved.items() if button in by}

    def _is_held(self, switch: Switch) -> bool:
        control = self.circuit.controls.get(switch.control)
        return control is not None and control.momentary

    def _moved_by(self, relay: str, buttons: Mapping[str, str]) -> frozenset[str]:
        """The buttons that decide whether the coil of a relay gets current; of a coil that nothing feeds yet, as in a
        harness that is only half known, those right beside it. What shares the ground with it, or its feed, is neither.
        """
        coils = [b for b in self.circuit.of_part[relay] if b.branch_type is BranchType.COIL]
        decides = {name for coil in coils for name in self._behaviour.depends_in_the_end(Behaviour.connected(coil.key))}
        if decides:
            return frozenset(button for button, control in buttons.items() if control in decides)
        beside = {node for coil in coils for end in (coil.a, coil.b) for node in self._net(end)} - self._grounds
        of_part = self.circuit.of_part
        return frozenset(n for n in buttons if any({b.a, b.b} & beside for b in of_part.get(n, ())))

    @cached_property
    def _behaviour(self) -> Behaviour:
        return Behaviour.of(self.circuit)

    @cached_property
    def stops(self) -> dict[str, str]:
        """The switches with a position ``stop`` that senses no brake, with the ignition parts beside them."""
        fired = [p.name for p in self.harness.parts.values() if is_ignition(p)]
        return {
            part.name: ", ".join(fired) or "the engine"
            for part in self.harness.parts.values()
            if isinstance(part, Switch)
            and part.senses is None
            and any(position.name == "stop" for position in part.positions)
        }

    def _beside(self, part: Part, sorted_: dict[str, Sorted]) -> Sorted:
        """What is in series with parts of one kept system, or beside them, is of that system."""
        for terminal in part.terminals:
            others = [n for n in self.neighbours(part.name, terminal) if not self._is_ground(n)]
            systems = {sorted_[n].system for n in others if n in sorted_}
            if others and all(n in sorted_ and sorted_[n].keep for n in others) and len(systems) == 1:
                return _part(part, systems.pop(), True, f"connected to {', '.join(others)} only")
        return _part(part, "the rest", False, part.kind)

    def _joining(self, part: Part, sorted_: dict[str, Sorted]) -> Sorted:
        """A plug or a splice is of the system of what it joins, and kept where all wires of some way are."""
        if isinstance(part, Connector):
            runs = [self._run(End(part.name, f"{way}{half}")) for way in part.numbers for half in "sp"]
        else:
            runs = [self._run(End(part.name))]
        kept = [run for run in runs if run and all(sorted_[n].keep for n in run if n in sorted_)]
        systems = [sorted_[n].system for run in (kept or runs) for n in run if n in sorted_ and not self._is_ground(n)]
        system = max(SYSTEMS, key=lambda s: (systems.count(s), -SYSTEMS.index(s))) if systems else "the rest"
        whole = bool(kept) if isinstance(part, Connector) else bool(kept) and len(kept) == len(runs)
        joins = ", ".join(dict.fromkeys(n for run in (kept or runs) for n in run)) or "nothing"
        return _part(part, system, whole, f"joins {joins}")

    def _stated(self, part: Part, found: Sorted) -> Sorted:
        removed = {name for each in self.harness.conversion.removed for name in each.names}
        if part.kept or part.name in removed:
            return Sorted(what="part", name=part.name, system=found.system, keep=part.kept, why=found.why, stated=True)
        return found

    # --- wires
    def _wire(self, wire: Wire) -> Sorted:
        ends = [tuple(self._run(end.node)) or (end.part,) for end in (wire.a, wire.b)]
        owners = [
            (end.part,) if not isinstance(self.harness.parts[end.part], Splice | Connector) else run
            for end, run in zip((wire.a, wire.b), ends, strict=True)
        ]
        all_ = [name for run in owners for name in run]
        kept = (
            bool(all_)
            and all(self.parts[name].keep for name in all_)
            and all(self.parts[end.part].keep for end in (wire.a, wire.b, *wire.via))
        )
        systems = [self.parts[name].system for name in all_ if not self._is_ground(name)]
        if self._is_heavy(wire):
            return Sorted(
                what="wire", name=wire.name, system="starting", keep=True, why="carries the starter's current"
            )
        system: System = systems[0] if systems and len(set(systems)) == 1 else "the rest"
        if system == "the rest" and kept and systems:
            system = next((s for s in systems if s != "the rest"), "the rest")
        return Sorted(
            what="wire",
            name=wire.name,
            system=system,
            keep=kept or wire.kept,
            why=f"joins {', '.join(dict.fromkeys(all_))}",
            stated=wire.kept,
        )

    def stays(self, wire: Wire) -> bool:
        """Whether a wire is kept, and both of its ends with it."""
        ends = all(self.parts[end.part].keep for end in (wire.a, wire.b, *wire.via))
        return self.wires[wire.name].keep and ends

    def _is_heavy(self, wire: Wire) -> bool:
        """Whether a wire leads between a starter's relay and the starter or the battery."""
        ends = [(end, self.harness.parts[end.part]) for end in (wire.a, wire.b)]
        for (end, relay), (_, other) in (ends, ends[::-1]):
            if relay.name in self.starter_relays:
                contacts = {
                    node
                    for branch in self.circuit.of_part[relay.name]
                    if branch.branch_type is BranchType.CONTACT
                    for node in (branch.a, branch.b)
                }
                battery = isinstance(other, Source) and other.what == "battery"
                if end.node in contacts and (battery or other.name in self.starters):
                    return True
        return False

    # --- what is connected to what
    def _is_ground(self, name: str) -> bool:
        return isinstance(self.harness.parts.get(name), Ground)

    def _net(self, node: End) -> tuple[End, ...]:
        """The terminals that wires, plugs and splices join to one, itself among them; no fuse is passed."""
        joins = steps_over(self.circuit, lambda branch: branch.branch_type in JOINING and branch.reliable)
        return tuple(reachable([node], joins))

    def _run(self, node: End) -> tuple[str, ...]:
        """The parts that a terminal, a way or a splice is wired to, past splices and plugs but not past a ground."""
        parts = self.harness.parts
        joins = steps_over(self.circuit, lambda branch: branch.branch_type in JOINING)

        def ends(at: End) -> bool:
            """Whether a terminal is of a part that a wire goes to."""
            owner = parts.get(at.part)
            return owner is not None and not isinstance(owner, Splice | Connector)

        reached = reachable([node], lambda at: () if ends(at) else joins(at))
        found = {at.part for at in reached if ends(at)}
        return tuple(sorted(found, key=list(self.harness.parts).index))

    def neighbours(self, part: str, terminal: str | None = None) -> tuple[str, ...]:
        """The other parts that a part, or one terminal of it, is wired to, past splices and plugs."""
        whole = self.harness.parts[part]
        found: dict[str, None] = {}
        for each in whole.terminals if terminal is None else (terminal,):
            for branch in self.circuit.at.get(End(part, each), ()):
                if branch.branch_type in JOINING:
                    node = End(part, each)
                    other = branch.b if branch.a == node else branch.a
                    found |= dict.fromkeys(name for name in self._run(other) if name != part)
        return tuple(found)

    # --- the boundary
    def cut(self) -> Iterator[Cut]:
        """The terminals of kept parts, in the order of the text, at which a conductor to a replaced part ends."""
        for part in self.harness.parts.values():
            if not self.keeps(part.name) or isinstance(part, Splice | Connector | Ground):
                continue
            for terminal in part.terminals:
                node = End(part.name, terminal)
                wires = [
                    wire
                    for wire in self.harness.wires.values()
                    if node in (wire.a.node, wire.b.node) and not self.stays(wire)
                ]
                if wires:
                    others = [n for n in self.neighbours(part.name, terminal) if not self.keeps(n)]
                    left = any(
                        self.stays(wire) and node in (wire.a.node, wire.b.node) for wire in self.harness.wires.values()
                    )
                    yield Cut(node, tuple(wire.name for wire in wires), tuple(others), not left)


@dataclass(frozen=True, slots=True)
class Cut:
    """A terminal of a kept part with the ``wires`` that are cut there and the replaced parts, ``others``, to which they
    led; ``bare``: no wire is left at it.
    """

    node: End
    wires: tuple[str, ...]
    others: tuple[str, ...]
    bare: bool


def _part(part: Part, system: System, keep: bool, why: str) -> Sorted:
    return Sorted(what="part", name=part.name, system=system, keep=keep, why=why)
