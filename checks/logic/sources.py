"""Sources in the graph of nets: where each feeds and takes back current, how an element can be connected to one."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import End, field_of, unit_supply
from ...lang.model.parts import Source, Unit
from .switching_graph import SwitchingGraph
from .terms import BATTERY, DIRECT, Kind, Origin, Reach

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net


class Sources(SwitchingGraph):
    """The graph of one circuit's nets with its sources."""

    def __init__(self, circuit: Circuit) -> None:
        super().__init__(circuit)
        self._alternators: dict[str, tuple[Source, ...]] = {}
        self._origins_of: dict[frozenset[Kind], tuple[Origin, ...]] = {}

    @cached_property
    def origins(self) -> tuple[Origin, ...]:
        found = []
        for supply in self.circuit.supplies:
            if supply.kind == "winding":
                ends = (*supply.plus, supply.minus)
                found += [self._origin(supply, a, b) for a in ends for b in ends if a != b]
            else:
                found += [self._origin(supply, plus, supply.minus) for plus in supply.plus]
        batteries = [o for o in found if o.kind == "battery"]
        strings = [[battery] for battery in batteries]
        while strings:
            longer = [[*s, b] for s in strings for b in batteries if b.plus == s[-1].minus and b not in s]
            found += [
                Origin(s[0].supply, s[0].plus, s[-1].minus, s[0].plus_node, s[-1].minus_node)
                for s in longer
                if s[0].plus != s[-1].minus
            ]
            strings = longer
        return tuple(o for o in found if o.plus != o.minus or o.kind != "winding")

    def _origin(self, supply: Supply, plus: End, minus: End) -> Origin:
        return Origin(supply, self.net(plus), self.net(minus), plus, minus)

    def origins_of(self, kinds: frozenset[Kind]) -> tuple[Origin, ...]:
        """The origins of some kinds of source; one that a battery does the work of in every combination is left out."""
        found = self._origins_of.get(kinds)
        if found is None:
            every = [o for o in self.origins if o.kind in kinds]
            always = {(o.plus, o.minus) for o in every if o.kind == "battery"}
            found = tuple(o for o in every if o.kind == "battery" or (o.plus, o.minus) not in always)
            self._origins_of[kinds] = found
        return found

    def alternators(self, supply: Supply) -> tuple[Source, ...]:
        """The alternators that a rectifier's phases can be connected to."""
        if supply.name not in self._alternators:
            self._alternators[supply.name] = tuple(self._find_alternators(supply))
        return self._alternators[supply.name]

    def _find_alternators(self, supply: Supply) -> Iterator[Source]:
        for part in self.harness.parts.values():
            if isinstance(part, Source) and part.name not in self.circuit.removed:
                ends = self.stator(part)
                if any(self.can(Reach(self.net(p), True)) & ends for p in supply.phases):
                    yield part

    def stator(self, part: Source) -> frozenset[Net]:
        """The nets at which an alternator gives alternating current."""
        nodes = [*part.phases, *(terminal for winding in part.windings for terminal in winding.terminals)]
        return frozenset(self.net(End(part.name, node)) for node in nodes)

    def field_keys(self, supply: Supply) -> tuple[str, ...]:
        """The fields of which one must be fed first; none where the machine excites itself."""
        if not supply.phases:
            return supply.field_keys
        machines = self.alternators(supply)
        if any(machine.field_winding is None for machine in machines):
            return ()
        return tuple(field_of(machine.name) for machine in machines)

    def senses_of(self, branch: Branch, origin: Origin) -> tuple[tuple[Net, Net], ...]:
        """The pairs (where current enters, where it leaves) in which an element can be connected to a source."""
        sources, drains = self.feeds(origin), self.returns(origin)
        return tuple(
            (enter, leave)
            for enter, leave in self._ways(branch)
            if enter != leave and enter in self.can(sources) and leave in self.can(drains)
        )

    @staticmethod
    def feeds(origin: Origin) -> Reach:
        """F: what is joined from the + of a source."""
        return Reach(origin.plus, True, origin.minus)

    @staticmethod
    def returns(origin: Origin) -> Reach:
        """G: what is connected to the - of a source."""
        return Reach(origin.minus, False, origin.plus)

    def _ways(self, branch: Branch) -> tuple[tuple[Net, Net], ...]:
        a, b = self.net(branch.a), self.net(branch.b)
        return ((a, b), (b, a)) if branch.branch_type.as_load is Direction.BOTH else ((a, b),)

    def between_sources(self, branch: Branch) -> bool:
        """Whether the two ends of an element can be connected to like poles of different sources."""
        origins = [o for o in self.origins if o.kind in DIRECT]
        a, b = self.net(branch.a), self.net(branch.b)
        return any(
            a in self.can(reach(one)) and b in self.can(reach(other))
            for reach in (self.feeds, self.returns)
            for one in origins
            for other in origins
            if reach(one).start != reach(other).start
        )

    def leading(self, kinds: frozenset[Kind], feed: bool) -> Iterator[Origin]:
        """The sources of some kinds from whose feed (or return) pole consumers lead current on, each net once."""
        for origin in self.origins_of(kinds):
            if origin.kind == "battery" or BATTERY - kinds or not self.is_at_battery(self.pole_reach(origin, feed)):
                yield origin

    def rails_against(self, opposite: Reach) -> tuple[Reach, ...]:
        """What tells the rails of one polarity: of a source, and of the batteries, which always are sources."""
        return (opposite, *(r for r in self._battery_poles if r.forward == opposite.forward and r != opposite))

    def is_at_battery(self, reach: Reach) -> bool:
        """Whether a source's pole is in one net with a like pole of a battery: what comes past no rail from the one
        comes from the other.
        """
        return any(r.start == reach.start and r.forward == reach.forward for r in self._battery_poles)

    @cached_property
    def _battery_poles(self) -> tuple[Reach, ...]:
        batteries = [o for o in self.origins if o.kind == "battery"]
        return tuple(reach(o) for o in batteries for reach in (self.feeds, self.returns))

    def pole_reach(self, origin: Origin, feed: bool) -> Reach:
        """The reach that tells whether a net is connected to the feed or the return pole of a source.

        The return pole is the one that the system grounds; current runs from + to - whichever that is.
        """
        feed_is_plus = self.circuit.return_sign == "-"
        return self.feeds(origin) if feed == feed_is_plus else self.returns(origin)

    def supply_branch(self, unit: Unit) -> Branch | None:
        """The branch of a unit's first supply, which its logic lives on."""
        first = unit.supplies[0] if unit.supplies else None
        if first is None:
            return None
        return self.circuit.by_key.get(unit_supply(unit, first))
