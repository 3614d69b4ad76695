"""What it depends on whether something is connected to a source: by nets alone, or through other loads."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.search.cones import Cones
from .sources import Sources
from .terms import DIRECT, NOTHING, Given, Graph, Kind, Need, Origin, Reach, excited

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net


class PathNeeds(Sources):
    """What ways between elements and sources can depend on: controls, joints and conditions, by name."""

    def __init__(self, circuit: Circuit) -> None:
        super().__init__(circuit)
        self._rail_needs: dict[tuple[Net, frozenset[int]], Need] = {}
        self._joined: dict[tuple[str, frozenset[Kind]], Need] = {}
        self._through: dict[tuple[str, Graph, frozenset[Kind], frozenset[int]], Need] = {}

    def joined_needs(self, branch: Branch, kinds: frozenset[Kind]) -> Need:
        key = (branch.key, kinds)
        found = self._joined.get(key)
        if found is None:
            needs: set[str] = set()
            for origin in self.origins_of(kinds):
                for enter, leave in self.senses_of(branch, origin):
                    needs |= self.reach_needs(self.feeds(origin), enter) or NOTHING
                    needs |= self.reach_needs(self.returns(origin), leave) or NOTHING
                    needs |= self.active_needs(origin)
            found = self._joined[key] = frozenset(needs)
        return found

    def pole_needs(self, node: str, feed: bool, kinds: frozenset[Kind]) -> Need:
        """What being connected to the feed (or return) pole of a source depends on."""
        net = self.net(node)
        needs: set[str] = set()
        for origin in self.origins_of(kinds):
            found = self.reach_needs(self.pole_reach(origin, feed), net)
            if found is not None:
                needs |= found | self.active_needs(origin)
        return frozenset(needs)

    def pole_through_needs(self, node: str, feed: bool, kinds: frozenset[Kind]) -> Need:
        """What being led to the feed (or return) pole of a source through consumers depends on."""
        net = self.net(node)
        needs: set[str] = set()
        for origin in self.leading(kinds, feed):
            reach, opposite = self.pole_reach(origin, feed), self.pole_reach(origin, not feed)
            cones = self.cones(reach.start, reach.wall, "wide", frozenset())
            found = self._cone_needs(cones, net, reach, opposite, "wide", frozenset())
            if found is not None:
                needs |= found | (self.reach_needs(opposite, net) or NOTHING) | self.active_needs(origin)
        return frozenset(needs)

    def active_needs(self, origin: Origin) -> Need:
        """What a source's being one depends on."""
        if origin.kind == "battery":
            return NOTHING
        if origin.kind == "winding":
            return frozenset({"engine"}) | (self.reach_needs(self.feeds(origin), origin.minus) or NOTHING)
        return self._machine_needs[origin.supply.name]

    @cached_property
    def _machine_needs(self) -> dict[str, Need]:
        found = {}
        for supply in self.circuit.supplies:
            if supply.kind == "machine":
                needs = {"engine"} | self.phase_needs(supply)
                if self.field_keys(supply):
                    needs.add(excited(supply.name))
                found[supply.name] = frozenset(needs)
        return found

    def phase_needs(self, supply: Supply) -> Need:
        needs: set[str] = set()
        for machine in self.alternators(supply) if supply.phases else ():
            for phase in supply.phases:
                for end in self.stator(machine):
                    needs |= self.reach_needs(Reach(self.net(phase), True), end) or NOTHING
        return frozenset(needs)

    def through_needs(self, branch: Branch, graph: Graph, kinds: frozenset[Kind], given: Given = ()) -> Need:
        """What an element's being joined depends on when the consumers of a graph conduct too.

        ``given`` tells of controls that are asked about in some positions only: contacts that are open in all of these
        lie on no path, so a proof of a stop asks little of what the stop switch cuts off.
        """
        without = self.shut_out(given)
        key = (branch.key, graph, kinds, without)
        known = self._through.get(key)
        if known is not None:
            return known
        needs: set[str] = set()
        for origin in self.origins_of(kinds):
            sources, drains = self.feeds(origin), self.returns(origin)
            reached = False
            for enter, leave in self._ways(branch):
                to = self._wide_needs(branch, sources, enter, drains, graph, without)
                back = self._wide_needs(branch, drains, leave, sources, graph, without)
                if to is not None and back is not None:
                    needs |= to | back
                    reached = True
            if reached:
                needs |= self.active_needs(origin)
        found = self._through[key] = frozenset(needs)
        return found

    def _wide_needs(
        self, branch: Branch, reach: Reach, net: Net, opposite: Reach, graph: Graph, without: frozenset[int]
    ) -> Need | None:
        """What being reached through consumers depends on: paths pass nets that are no rail of the other pole."""
        cones = self.past_itself(branch, reach, net, graph, without)
        return self._cone_needs(cones, net, reach, opposite, graph, without)

    def _cone_needs(
        self, cones: Cones, net: Net, reach: Reach, opposite: Reach, graph: Graph, without: frozenset[int]
    ) -> Need | None:
        """What it depends on that ``net`` is reached in some cones."""
        if net not in cones or net not in self.can(reach, graph):
            return None
        needs = set(cones.of(net))
        passed = cones.passed(net)
        for other in passed & self.can(opposite):
            needs |= self.reach_needs(opposite, other, without) or NOTHING
        if graph == "wide":
            needs |= self.rail_needs(passed, without)
        return frozenset(needs)

    def rail_needs(self, nets: Iterable[Net], without: frozenset[int] = frozenset()) -> Need:
        """What it depends on which of some nets are rails of any source."""
        return frozenset().union(*(self._rail_needs_of(net, without) for net in nets))

    def _rail_needs_of(self, net: Net, without: frozenset[int]) -> Need:
        """The same of one net, which lies on many ways: kept."""
        found = self._rail_needs.get((net, without))
        if found is None:
            needs: set[str] = set()
            for origin in self.origins_of(DIRECT):
                for reach in (self.feeds(origin), self.returns(origin)):
                    if origin.kind != "battery" and self.is_at_battery(reach):
                        continue  # a rail of the battery's, or a dead short
                    if net in self.can(reach):
                        needs |= self.reach_needs(reach, net, without) or NOTHING
                        needs |= self.active_needs(origin)
            found = self._rail_needs[net, without] = frozenset(needs)
        return found

    def led_to(self, branch: Branch) -> bool:
        """Whether anything leads to both ends of an element from the two poles of one source, and by some consumer."""
        first = len(self.edges)
        for origin in self.origins_of(DIRECT):
            sources, drains = self.feeds(origin), self.returns(origin)
            for enter, leave in self._ways(branch):
                to = self.past_itself(branch, sources, enter, "wide")
                back = self.past_itself(branch, drains, leave, "wide")
                if enter in to and leave in back:
                    passed = to.edges(enter) | back.edges(leave)
                    if any(i >= first for i in passed):
                        return True
        return False
