"""What comes to something through consumers in every combination, as truth tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import End
from ...lang.model.parts import Unit
from .reach_tables import ReachTables
from .terms import ANY, BATTERY, DIRECT, Reach
from .truth_tables import Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.graphs import Net
    from ...lang.model.parts import UnitInput
    from ...lang.search.cones import Cones
    from .switching_network import SwitchingNetwork
    from .terms import Graph, Kind, Origin, Steps


FEW = 100
"""One edge in a hundred (ours): where no more than that lead to a net, only these are gone along. Of a small harness
what is found for one net serves all others; of a large one hardly any other is asked for in the same combinations.
"""


class LoadTables(ReachTables):
    """The tables of what is reached through other loads."""

    for_one = False
    """One question is asked of it, so that what leads elsewhere is not gone along."""

    def __init__(
        self, network: SwitchingNetwork, names: Iterable[str], *, fixed: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(network, names, fixed=fixed)
        self._wide: dict[tuple[Reach, Graph], dict[Net, Table]] = {}
        self._coming: dict[tuple[Net, str, Reach, Graph], Table] = {}

    def through_consumers(self, reach: Reach, opposite: Reach, graph: Graph) -> dict[Net, Table]:
        """Where nets are reached when the consumers of a graph conduct too, in each combination only past nets that are
        no rail of the other pole.
        """
        key = (reach, graph)
        if key not in self._wide:
            self._wide[key] = self._past_rails(reach, opposite, graph, self.network.steps(reach.forward, graph))
        return self._wide[key]

    def _past_rails(self, reach: Reach, opposite: Reach, graph: Graph, steps: Steps) -> dict[Net, Table]:
        first = len(self.network.edges)
        against = self.network.rails_against(opposite) if graph == "wide" else (opposite,)
        values = {reach.start: self.full}
        # All combinations at once, a bit each, as in `_spread`: which nets are walls differs from one to the next.
        wave = dict(values)
        while wave:
            following: dict[Net, Table] = {}
            for net, come in wave.items():
                if net == reach.wall:
                    continue
                if net != reach.start:
                    for other in against:
                        come &= come ^ self.reached(other, net)
                for beside, i in steps.get(net, ()):
                    guard = self._guards.get(i) if i < first else self.full
                    if guard is None:
                        continue
                    old = values.get(beside, 0)
                    new = come & guard
                    new &= new ^ old
                    if new:
                        values[beside] = old | new
                        following[beside] = following.get(beside, 0) | new
            wave = following
        return values

    def led_to(self, unit: Unit, given: UnitInput) -> Table:
        """Where an input is reached from its own pole through consumers: past no rail of the other pole, and by no
        copper at it.
        """
        return self.at_pole_through(End(unit.name, given.terminal), given.mode == "fed")

    def at_pole_through(self, node: str, feed: bool, kinds: frozenset[Kind] = DIRECT) -> Table:
        """Where a terminal is reached from the feed pole (``feed``), else the return pole, through consumers: past no
        rail of the other pole, and by no copper at it.
        """
        net = self.network.net(node)
        table = other = 0
        for origin in self.network.leading(kinds, feed):
            reach, opposite = self.network.pole_reach(origin, feed), self.network.pole_reach(origin, not feed)
            on = self.active(origin)
            if on:
                cones = self.network.cones(reach.start, reach.wall, "wide")
                table |= self._led(net, reach, opposite, "wide", cones) & on
                for against in self.network.rails_against(opposite):
                    other |= self.reached(against, net) & on
        return table & (table ^ other)

    def fed_past_consumers(self, field: Branch) -> Table:
        """Where a field is fed from a battery, consumers on the way included."""
        a, b = self.network.net(field.a), self.network.net(field.b)
        table = 0
        for origin in self.network.origins_of(BATTERY):
            for enter, leave in ((a, b), (b, a)):
                table |= self.fed_through(origin, field, enter, leave, "wide")
        return table

    def fed_through(self, origin: Origin, branch: Branch, enter: Net, leave: Net, graph: Graph) -> Table:
        """Where current gets from the + of a source to one end of an element and from the other back to its -, through
        other consumers of a graph too, on no rail of the wrong pole.
        """
        sources, drains = self.network.feeds(origin), self.network.returns(origin)
        table = self._comes_to(enter, branch, sources, drains, graph)
        if table:
            table &= self._comes_to(leave, branch, drains, sources, graph)
        return table & (table ^ (self.reached(drains, enter) | self.reached(sources, leave)))

    def _comes_to(self, net: Net, branch: Branch, reach: Reach, opposite: Reach, graph: Graph) -> Table:
        """Where the end ``net`` of an element is reached when the consumers of a graph conduct too, but for itself."""
        key = (net, branch.key, reach, graph)
        found = self._coming.get(key)
        if found is None:
            past = self.network.past_itself(branch, reach, net, graph)
            found = self._coming[key] = self._led(net, reach, opposite, graph, past)
        return found

    def _led(self, net: Net, reach: Reach, opposite: Reach, graph: Graph, cones: Cones) -> Table:
        """Where a net is reached along what lies in some cones, consumers of a graph included."""
        network = self.network
        if net not in cones or net not in network.can(reach, graph):
            return 0
        whole = cones is network.cones(reach.start, reach.wall, graph)
        if whole and (reach, graph) in self._wide:
            return self._wide[reach, graph].get(net, 0)
        edges = cones.edges(net)
        if whole and not self.for_one and len(edges) * FEW > len(network.wide_edges):  # as for all other nets
            return self.through_consumers(reach, opposite, graph).get(net, 0)
        steps = network.steps_along(edges, reach.forward)
        return self._past_rails(reach, opposite, graph, steps).get(net, 0)

    def joined_through(self, branch: Branch, graph: Graph, kinds: frozenset[Kind] = ANY) -> Table:
        """Where an element is connected to a source when the consumers of a graph conduct too."""
        table = 0
        a, b = self.network.net(branch.a), self.network.net(branch.b)
        for origin in self.network.origins_of(kinds):
            for enter, leave in ((a, b), (b, a)) if branch.branch_type.as_load is Direction.BOTH else ((a, b),):
                table |= self.fed_through(origin, branch, enter, leave, graph) & self.active(origin)
        return table

    def enough_in_series(self, branch: Branch, graph: Graph, asked: Table) -> Table:
        """Those of some combinations, in which an element is reached in series, that give it its dead share and more.

        What an alternating winding feeds, what has no dead share or no rating, and what is beyond the most classes
        counts as it is joined.
        """
        if not asked:
            return 0
        from .islands import Islands, most_classes
        from .load_shares import has_share, is_alive

        left = asked & self.joined_through(branch, graph, DIRECT)
        if not left or not has_share(branch):
            return asked
        found = asked ^ left
        islands = Islands(self.network, self, branch, graph)
        for _ in range(most_classes(self)):
            if not left or islands.exhausted:
                break
            island = islands.at((left & -left).bit_length() - 1)
            same = left & island.same
            left ^= same
            bound = islands.bound(island)
            if bound.why or is_alive(branch, self.network.circuit, bound.volts, bound.amps):
                found |= same
        return found | left
