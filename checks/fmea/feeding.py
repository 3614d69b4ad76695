"""What a source may feed at most in some positions of the controls, before anything is solved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End, Role, inside
from ...lang.model.conditions import All, AnyOf, Not, Test
from ...lang.model.parts import Unit
from ...lang.search.walks import closure
from ..dc.conducting import by_position
from ..dc.control_units import returns_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from ...lang.circuit.ids import BranchId
    from ...lang.model.conditions import Condition
    from ...lang.model.parts import UnitInput
    from ..dc.nodal_equations import NodalEquations
    from ..protection.protection import Protection


class Feeding:
    """What a source may feed with the controls in some positions and all that remembers at rest before.

    A bound: whatever the solved state feeds is in it, so that a position that feeds nothing more need not be solved.
    Each relay counts as pulled and as released. An output counts as on where its unit's condition may hold, whatever
    the unit's supply is and whatever is asked for not to be; a latch where what sets it may.
    """

    def __init__(self, network: NodalEquations, protection: Protection) -> None:
        self._network = network
        guards = network.topology.guards
        self._moved = {key for key, _, _ in guards.positions}
        self._others = {*guards.joints, *(key for _, *ways in guards.relays for keys in ways for key in keys)}
        self._poles = [protection.feed_pole(s) for s in protection.sources if s.kind != "winding"]
        self._bare_windings = any(s.kind == "winding" for s in protection.sources)
        self._units = [part for part in network.circuit.harness.parts.values() if isinstance(part, Unit)]
        self._beside: dict[End, list[tuple[End, BranchId]]] = {}
        for branch in network.circuit.branches:
            for near, far in protection.ways(branch):
                self._beside.setdefault(near, []).append((far, branch.key))

    def nodes(self, positions: Mapping[str, str], pinned: frozenset[str]) -> set[End]:
        """The nodes that may be fed. ``pinned``: what the engine moves and counts in its position all the same.

        Begins with every output on and takes away what cannot be, until nothing more goes: from rest nothing can come
        on that needs what is not left then.
        """
        closed = set(by_position(self._network, positions, pinned))
        keys: dict[str, str] = dict(self._network.topology.guards.outputs)
        latches = {inside(unit.name, latch.name, Role.LATCH) for unit in self._units for latch in unit.latches}
        on = {*keys, *latches}
        while True:
            off = {key for name, key in keys.items() if name not in on}
            shut = (self._moved - closed) | off
            fed = self._fed(shut)
            joined = frozenset(closed | self._others | (set(keys.values()) - off))
            left = on.intersection(self._asked(positions, fed, joined, on))
            if left == on:
                return fed
            on = left

    def _fed(self, shut: set[str]) -> set[End]:
        """The nodes that the feed poles lead to over all that is not ``shut``."""
        beside = self._beside
        return closure(self._poles, lambda node: (far for far, key in beside.get(node, ()) if key not in shut))

    def _asked(
        self, positions: Mapping[str, str], fed: set[End], joined: frozenset[str], on: set[str]
    ) -> Iterator[str]:
        """The outputs and latches that a unit may have on while no more than this is fed, joined and on."""
        for unit in self._units:
            inputs = {each.name: each for each in unit.inputs}

            def may(term: Condition, unit: Unit = unit, inputs: dict[str, UnitInput] = inputs) -> bool:
                """Whether a condition may hold; that something is not asked for always may."""
                match term:
                    case Test(control) if control in inputs:
                        return self._active(unit, inputs[control], fed, joined)
                    case Test(control):
                        return inside(unit.name, control, Role.LATCH) in on
                    case Not():
                        return True
                    case All(terms):
                        return all(map(may, terms))
                    case AnyOf(terms):
                        return any(map(may, terms))

            for latch in unit.latches:
                name = inside(unit.name, latch.name, Role.LATCH)
                if positions.get(name) or may(latch.set_when):
                    yield name
            for output in unit.outputs:
                if output.when is None or may(output.when):
                    yield inside(unit.name, output.name, Role.OUTPUT)

    def _active(self, unit: Unit, given: UnitInput, fed: set[End], joined: frozenset[str]) -> bool:
        """Whether an input may be active; a signal always may, and what a bare winding feeds is not known here."""
        node = End(unit.name, given.terminal)
        match given.mode:
            case "grounded":
                return self._network.topology.reaches(joined, node, returns_of(unit, given))
            case "fed":
                return self._bare_windings or node in fed
            case _:
                return True
