"""What is asked of each terminal and element of a part that is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ..logic.terms import NOTHING

if TYPE_CHECKING:
    from ..logic.state_space import StateSpace
    from ..logic.switching_network import SwitchingNetwork
    from ..logic.terms import Kind, Need
    from ..logic.truth_tables import Table


@dataclass(frozen=True, slots=True)
class Connected:
    """A terminal is connected to the feed pole (``feed``), else to the return pole, of a source of these kinds, whether
    or not that gives anything now: whether a machine charges is a separate question.
    """

    node: End
    feed: bool
    kinds: frozenset[Kind]

    def needs(self, network: SwitchingNetwork) -> Need:
        net = network.net(self.node)
        each = (
            network.reach_needs(network.pole_reach(origin, self.feed), net) or NOTHING
            for origin in network.origins_of(self.kinds)
        )
        return NOTHING.union(*each)

    def table(self, scope: StateSpace) -> Table:
        network = scope.network
        net = network.net(self.node)
        table = 0
        for origin in network.origins_of(self.kinds):
            reach = network.pole_reach(origin, self.feed)
            if net in network.can(reach):
                table |= scope.reached(reach, net)
        return table


@dataclass(frozen=True, slots=True)
class FedThroughLoads:
    """A terminal that is connected to no pole is reached from the feed pole of a source through other loads."""

    node: End
    kinds: frozenset[Kind]

    def needs(self, network: SwitchingNetwork) -> Need:
        net = network.net(self.node)
        needs: set[str] = set()
        led = False
        for origin in network.origins_of(self.kinds):
            reach = network.pole_reach(origin, feed=True)
            cones = network.cones(reach.start, reach.wall, "wide")
            if net in cones and any(i >= len(network.edges) for i in cones.edges(net)):
                needs |= cones.of(net) | network.rail_needs(cones.passed(net)) | network.active_needs(origin)
                led = True
        if not led:
            return NOTHING
        poles = (Connected(self.node, feed, self.kinds).needs(network) for feed in (True, False))
        return frozenset(needs).union(*poles)

    def table(self, scope: StateSpace) -> Table:
        network = scope.network
        net = network.net(self.node)
        table = 0
        for origin in network.origins_of(self.kinds):
            reach, opposite = network.pole_reach(origin, feed=True), network.pole_reach(origin, feed=False)
            table |= scope.through_consumers(reach, opposite, "wide").get(net, 0) & scope.active(origin)
        for feed in (True, False):
            table &= table ^ (table & Connected(self.node, feed, self.kinds).table(scope))
        return table
