"""The feed side drawn together: what no device parts is one island, and a fault current is a cut between islands."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from operator import itemgetter

from ...lang.circuit.branch import Branch
from ...lang.circuit.ids import End
from ...lang.search.bridges import islands
from ...lang.search.cuts import Arc, Cut, Into, Node, Residual, both_ways, cut_before

POLES = "feed poles"


class FaultIslands:
    """The feed side with all that limits nothing drawn together: a few islands, joined by devices and one-way arcs."""

    def __init__(self, nodes: list[End], copper: tuple[Branch, ...], arcs: tuple[Arc, ...]) -> None:
        self._found = islands(nodes, [(b.a, b.b) for b in copper])
        self._place = {branch.key: i for i, branch in enumerate(copper)}
        ways: dict[int, list[tuple[int, Node, Residual]]] = {}
        for tail, head, step in both_ways(arcs):
            if head != POLES:
                ways.setdefault(self._found.island[str(head)], []).append((self._found.order[str(head)], tail, step))
        # The ways into each island, each with the order of the node that it leads to: as the arcs stand, and by order.
        self._ways = ways
        self._in_order = {island: sorted(found, key=itemgetter(0)) for island, found in ways.items()}
        self._ends = {island: [order for order, _, _ in found] for island, found in self._in_order.items()}
        self._known: dict[tuple[int, int, int, bool], Cut] = {}

    def of(self, node: End) -> int:
        """The island of a feed-side node."""
        return self._found.island[node]

    def cut(self, branch: Branch, end: End) -> Cut:
        """The least cut between the feed poles and ``end``, an end of the copper ``branch``, with that branch out."""
        edge = self._place[branch.key]
        island = self._found.island[end]
        ends = self._ends.get(island, [])
        if edge not in self._found.far_side:
            return self._least(island, 0, 0, False)
        first, last = self._found.far_side[edge]
        beyond = first <= self._found.order[end] <= last
        low, high = bisect_left(ends, first), bisect_right(ends, last)
        inside, outside = high - low, len(ends) - (high - low)
        if not (inside if beyond else outside):
            return Cut(0.0, ())
        if not (outside if beyond else inside):
            return self._least(island, 0, 0, False)
        return self._least(island, low, high, beyond)

    def _least(self, island: int, low: int, high: int, beyond: bool) -> Cut:
        """The cut to an island, or to one side of it: the arcs' ends from ``low`` to ``high`` by order lie beyond."""
        key = (island, low, high, beyond)
        if key not in self._known:
            self._known[key] = cut_before(self._parted(island, low, high), POLES, (island, beyond))
        return self._known[key]

    def _parted(self, parted: int, low: int, high: int) -> Into:
        """The islands drawn together, one of them parted: a node of this graph is an island and whether it is what lies
        beyond.
        """
        ends = self._ends.get(parted, [])
        far = range(ends[low], ends[high - 1] + 1) if low < high else range(0)

        def place(node: Node) -> Node:
            if node == POLES:
                return node
            where = self._found.island[str(node)]
            return (where, where == parted and self._found.order[str(node)] in far)

        def into(node: Node) -> Iterator[tuple[Node, Residual]]:
            if not isinstance(node, tuple):
                return  # nothing feeds the poles
            island, beyond = node
            ways: Iterable[tuple[int, Node, Residual]] = self._ways.get(island, ())
            if beyond:
                ways = sorted(self._in_order[island][low:high], key=lambda way: way[2].number)
            for order, tail, step in ways:
                if (beyond or island != parted or order not in far) and (start := place(tail)) != node:
                    yield start, step

        return into


def worst_end(islands_: FaultIslands, branch: Branch) -> tuple[Cut, End]:
    """The greater of the cuts at the two ends of a copper branch, the branch itself out, and the end it is at."""
    near, far = islands_.cut(branch, branch.a), islands_.cut(branch, branch.b)
    return (near, branch.a) if near.amps >= far.amps else (far, branch.b)
