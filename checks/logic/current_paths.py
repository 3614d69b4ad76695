"""Ways of current in one combination: through an element and back, from a source, from pole to pole."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.search.walks import shortest
from .analysis import Combination, SwitchingLogic, names_of
from .terms import ALSO, ANY, DIRECT

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import End
    from .terms import Graph, Kind, Origin, Reach


def way(
    logic: SwitchingLogic,
    shown: Combination,
    start: str,
    ends: Iterable[str],
    wall: str = "",
    graph: Graph = "nets",
    past: Branch | None = None,
    opposite: Reach | None = None,
) -> tuple[Branch, ...] | None:
    """The shortest way of current from a terminal to the nearest of some others, as branches in order, not through
    ``past`` and on over no net that ``opposite`` reaches.
    """

    def step(node: str) -> Iterator[tuple[End, Branch]]:
        if node == wall or (node != start and opposite is not None and _reaches(logic, shown, opposite, node)):
            return
        for branch in logic.circuit.at.get(node, ()):
            through = branch.branch_type in ALSO[graph]
            if branch is past or not (through or logic.closed(shown, branch)):
                continue
            direction = branch.branch_type.as_load if through else branch.branch_type.joined
            if direction is Direction.BOTH or branch.a == node:
                yield branch.other_end(node), branch

    return shortest([start], set(ends).__contains__, step)


def _reaches(logic: SwitchingLogic, shown: Combination, reach: Reach, node: str) -> bool:
    return bool((shown.scope.reached(reach, logic.network.net(node)) >> shown.index) & 1)


def loop(
    logic: SwitchingLogic, shown: Combination, branch: Branch, kinds: frozenset[Kind] = ANY, graph: Graph = "nets"
) -> tuple[str, ...]:
    """The way of the current from a source through an element and back, as names in order; empty where none."""
    network = logic.network
    for origin in logic.network.origins_of(kinds):
        if not (shown.scope.active(origin) >> shown.index) & 1:
            continue
        for enter, leave in ((branch.a, branch.b), (branch.b, branch.a)):
            if enter == branch.b and branch.branch_type.as_load is not Direction.BOTH:
                continue
            # Through loads the way passes no rail of the other pole: there another current returns.
            drains, feeds = (network.returns(origin), network.feeds(origin)) if graph == "wide" else (None, None)
            to = way(logic, shown, origin.plus_node, (enter,), origin.minus_node, graph, branch, drains)
            if to is None:
                continue
            back = way(logic, shown, leave, (origin.minus_node,), origin.plus_node, graph, branch, feeds)
            if back is not None:
                return names_of((origin.plus_node, *to, branch, *back, origin.minus_node))
    return ()


def feed(
    logic: SwitchingLogic,
    shown: Combination,
    node: str,
    feed: bool = True,
    kinds: frozenset[Kind] = DIRECT,
    graph: Graph = "nets",
) -> tuple[str, ...]:
    """The way from a source to a terminal (from a terminal to a source where it is the - that counts), through the
    consumers of a graph too.
    """
    network = logic.network
    for origin in network.origins_of(kinds):
        if not (shown.scope.active(origin) >> shown.index) & 1:
            continue
        opposite = network.pole_reach(origin, not feed) if graph == "wide" else None
        if network.pole_reach(origin, feed).forward:
            found = way(logic, shown, origin.plus_node, (node,), origin.minus_node, graph, None, opposite)
            ends: tuple[str | Branch, ...] = (origin.plus_node, *(found or ()), node)
        else:
            found = way(logic, shown, node, (origin.minus_node,), origin.plus_node, graph, None, opposite)
            ends = (node, *(found or ()), origin.minus_node)
        if found is not None:
            return names_of(ends)
    return ()


def short_path(logic: SwitchingLogic, shown: Combination, origin: Origin) -> tuple[Branch, ...]:
    """The way from pole to pole of a source, past no load; empty where none."""
    return way(logic, shown, origin.plus_node, (origin.minus_node,)) or ()
