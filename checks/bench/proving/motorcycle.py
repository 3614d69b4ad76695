"""The motorcycle, for somebody in front of it with a meter: what hands move, fuses in order, what can fail."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Fuse, Load, Position, Switch
from ....lang.search.cheapest import distances
from ...dc.conducting import rest_positions
from ...fmea.failure_modes import opens
from ...operation.operation import Operation
from .copper import copper

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch, Control
    from ....lang.circuit.circuit import Circuit

HANDS: Final = ("gearbox", "clutch", "stand", "front-brake", "rear-brake")
"""Sensed quantities that a hand or a foot changes on a motorcycle that is at a standstill."""

NEUTRAL: Final = "neutral"
"""The position of a gearbox switch in which the engine drives no wheel (the language asks for this name)."""

Positions = dict[str, str]


class Motorcycle:
    """``base``: key on, kill switch at run, all else at rest. ``cableless``: with the starter's cable off."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.harness = circuit.harness

    # --- what it is
    @cached_property
    def batteries(self) -> tuple[str, ...]:
        return tuple(supply.name for supply in self.circuit.supplies if supply.kind == "battery")

    @cached_property
    def live_pole(self) -> End:
        """The battery's pole that the system does not ground. Raises ``StopIteration`` without a battery."""
        supply = next(s for s in self.circuit.supplies if s.kind == "battery")
        return supply.plus[0] if self.circuit.return_sign == "-" else supply.minus

    @cached_property
    def grounded_pole(self) -> End:
        """The battery's other pole. Raises ``StopIteration`` without a battery."""
        supply = next(s for s in self.circuit.supplies if s.kind == "battery")
        return supply.minus if self.circuit.return_sign == "-" else supply.plus[0]

    @cached_property
    def starter_cables(self) -> tuple[Branch, ...]:
        """The wires that end at the feed of a starter motor."""
        plus = {
            End(part.name, element.plus)
            for part in self.harness.parts.values()
            if isinstance(part, Load) and part.system == "starting"
            for element in part.elements
            if element.what == "motor"
        }
        return tuple(b for b in self.circuit.branches if b.branch_type is BranchType.WIRE and {b.a, b.b} & plus)

    @cached_property
    def starters(self) -> frozenset[str]:
        """The parts of the starter motors."""
        ends = (end for branch in self.starter_cables for end in (branch.a, branch.b))
        return frozenset(end.part for end in ends if isinstance(self.harness.parts[end.part], Load))

    @cached_property
    def operation(self) -> Operation:
        return Operation(self.circuit)

    @cached_property
    def cableless(self) -> Operation:
        if not self.starter_cables:
            return self.operation
        return self.operation.damaged(frozenset(branch.key for branch in self.starter_cables))

    @cached_property
    def fuses(self) -> tuple[Fuse, ...]:
        """In order of supply: those behind fewer others first."""

        def step(node: End) -> Iterator[tuple[End, float]]:
            for branch in self.circuit.at.get(node, ()):
                if not branch.branch_type.consumes:
                    yield branch.other_end(node), 1.0 if branch.branch_type is BranchType.FUSE else 0.0

        feeds = [self.live_pole] if self.batteries else []
        behind = distances(feeds, step, lambda total, fuse: total + fuse)
        found = [part for part in self.harness.parts.values() if isinstance(part, Fuse)]
        far = float(len(found) + 1)
        return tuple(sorted(found, key=lambda fuse: min(behind.get(End(fuse.name, t), far) for t in ("1", "2"))))

    # --- what can be wrong
    @cached_property
    def faults(self) -> tuple[Branch, ...]:
        """Every branch that can fail open; of a plug's ways those that wires lead to."""
        wired = {end for branch in self.circuit.branches if branch.segment is not None for end in (branch.a, branch.b)}
        return tuple(
            branch
            for branch in opens(self.circuit)
            if branch.branch_type is not BranchType.WAY or (branch.a in wired and branch.b in wired)
        )

    @cached_property
    def nets(self) -> tuple[End, ...]:
        """A terminal of each piece of copper with a wire in it, the ground apart: what may be pinched to ground. What
        is before a fuse and what is behind it are two, since no row reads through a fuse that is out.
        """
        nets, together = self.circuit.nets.of, copper(self.circuit)
        ground = nets.get(self.circuit.ground)
        found: dict[End, End] = {}
        for branch in self.circuit.branches:
            if branch.branch_type is BranchType.WIRE and nets[branch.a] != ground:
                found.setdefault(together.leader(branch.a), branch.a)
        return tuple(found.values())

    # --- what hands do
    @cached_property
    def hands(self) -> tuple[Control, ...]:
        """The controls that somebody can move on a motorcycle that is at a standstill."""
        return tuple(
            control
            for control in self.circuit.controls.values()
            if control.switches and not control.free and (control.sensed is None or control.sensed in HANDS)
        )

    @cached_property
    def rest(self) -> Positions:
        return dict(rest_positions(self.circuit))

    @cached_property
    def base(self) -> Positions:
        found = dict(self.rest)
        for control in self.hands:
            rows = self.rows(control)
            if control.key:  # a magneto's key joins as much when it stops the engine as when it is on
                found[control.name] = max(rows, key=lambda name: (not rows[name].stops, len(rows[name].pairs)))
            elif rows[found[control.name]].stops:
                found[control.name] = next((n for n, p in rows.items() if not p.stops), found[control.name])
        return found

    def rows(self, control: Control) -> dict[str, Position]:
        """The contact table of a control, by its positions; of several switches that one quantity moves, all rows."""
        switches = (self.harness.parts[name] for name in control.switches)
        return {row.name: row for part in switches if isinstance(part, Switch) for row in part.positions}

    def stops(self, control: Control, position: str) -> bool:
        """Whether a position must stop the engine: of the key any but on, of others by their mark."""
        return control.key or self.rows(control)[position].stops

    @cached_property
    def named(self) -> tuple[Positions, ...]:
        """The named states as far as hands bring them about, with the engine off; each once."""
        hands = {control.name for control in self.hands}
        found: dict[tuple[tuple[str, str], ...], Positions] = {}
        for state in self.harness.states.values():
            moved = {name: at for name, at in state.settings if name in hands}
            positions = {**self.rest, **moved, "engine": "off"}
            found.setdefault(tuple(sorted(positions.items())), positions)
        return tuple(found.values())

    @cached_property
    def points(self) -> dict[str, bool]:
        """The contacts that the crank moves, each with whether it is open in all that is worked out with the engine
        still.
        """
        cranked = (control for control in self.circuit.controls.values() if control.sensed == "crank")
        return {name: not self.rows(c)[c.rest].pairs for c in cranked for name in c.switches}

    @cached_property
    def gearbox(self) -> Control | None:
        """The control that says what gear is in, where a switch senses it."""
        return next((control for control in self.hands if control.sensed == "gearbox"), None)

    def gear(self, positions: Mapping[str, str]) -> str:
        """``in gear`` or ``in neutral``; nothing where no switch tells one from the other."""
        if self.gearbox is None:
            return ""
        return "in neutral" if positions.get(self.gearbox.name, self.gearbox.rest) == NEUTRAL else "in gear"

    def in_neutral(self, positions: Mapping[str, str]) -> Positions:
        """The same in neutral, as whoever starts an engine on a stand must have it."""
        return {**positions, **({self.gearbox.name: NEUTRAL} if self.gearbox is not None else {})}

    def setting(self, positions: Mapping[str, str], but: Mapping[str, str] | None = None) -> str:
        """How a rider finds it: ``in gear, KEY on``, ``every control at rest``.

        The gear is always said, the other controls where they differ from ``but``, at first at rest.
        """
        but = self.rest if but is None else but
        gearbox = {} if self.gearbox is None else {self.gearbox.name: but.get(self.gearbox.name, self.gearbox.rest)}
        moved = self.said({**positions, **gearbox}, but)
        gear = self.gear(positions)
        rest = "every other control at rest" if gear else "every control at rest"
        return ", ".join(word for word in (gear, moved or (rest if but == self.rest else "")) if word)

    def said(self, positions: Mapping[str, str], but: Mapping[str, str]) -> str:
        """The controls that differ from ``but``: ``KEY on, KILL run``."""
        return ", ".join(
            self.position(control, positions[control.name])
            for control in self.circuit.controls.values()
            if control.switches and positions.get(control.name, control.rest) != but.get(control.name, control.rest)
        )

    def position(self, control: Control, at: str) -> str:
        """``KEY on``; by the switches that a quantity moves, not by its own name."""
        return f"{' and '.join(control.switches) or control.name} {at}"
