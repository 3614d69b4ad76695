"""Which edges of a graph can matter between a start and any other vertex: those on a simple path, found by blocks.

A block is a largest part of a graph that no single vertex cuts. Every edge of every block on the way from the start to
a vertex lies on some simple path between the two, and no other edge does (Tarjan 1972: one depth-first search).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Name = str


class Cones:
    """For one start, what each vertex's being reached can depend on.

    ``near`` gives for each vertex its edges as (other vertex, number of the edge). ``labels`` names what each edge
    depends on. ``wall`` is a vertex that paths may end at but never pass.
    """

    def __init__(
        self,
        near: Mapping[int, Sequence[tuple[int, int]]],
        labels: Sequence[frozenset[Name]],
        start: int,
        wall: int | None = None,
    ) -> None:
        self._labels = labels
        self._start = start
        self._block: dict[int, tuple[int, frozenset[int], frozenset[int]]] = {}
        self._memo: dict[int, frozenset[Name]] = {start: frozenset()}
        self._search(near, start, wall)

    def __contains__(self, vertex: int) -> bool:
        """Whether the start is joined to a vertex at all, by whatever closes."""
        return vertex == self._start or vertex in self._block

    def of(self, vertex: int) -> frozenset[Name]:
        """What its being reached from the start depends on; nothing where it cannot be, or is the start itself."""
        way = []
        while vertex not in self._memo:
            if vertex not in self._block:
                return frozenset()
            way.append(vertex)
            vertex = self._block[vertex][0]
        found = self._memo[vertex]
        for nearer in reversed(way):
            found = found.union(*(self._labels[edge] for edge in self._block[nearer][1]))
            self._memo[nearer] = found
        return found

    def passed(self, vertex: int) -> frozenset[int]:
        """Every vertex on a simple path from the start to a vertex, both included."""
        found: set[int] = {vertex}
        while vertex in self._block:
            vertex, _, inside = self._block[vertex]
            found |= inside
        return frozenset(found)

    def passes(self, edge: int, vertex: int) -> bool:
        """Whether an edge lies on a simple path from the start to a vertex."""
        while vertex in self._block:
            vertex, edges, _ = self._block[vertex]
            if edge in edges:
                return True
        return False

    def _search(self, near: Mapping[int, Sequence[tuple[int, int]]], start: int, wall: int | None) -> None:
        order = {start: 0}
        low = {start: 0}
        met: list[int] = []
        ends: dict[int, tuple[int, int]] = {}
        stack = [(start, -1, iter(near.get(start, ())))]
        while stack:
            vertex, by, rest = stack[-1]
            for other, edge in rest:
                if edge in ends or other == wall:
                    continue
                ends[edge] = (vertex, other)
                met.append(edge)
                if other in order:
                    low[vertex] = min(low[vertex], order[other])
                else:
                    order[other] = low[other] = len(order)
                    stack.append((other, edge, iter(near.get(other, ()))))
                    break
            else:
                stack.pop()
                if not stack:
                    break
                parent = stack[-1][0]
                low[parent] = min(low[parent], low[vertex])
                if low[vertex] >= order[parent]:
                    inside = {met.pop()}
                    while by not in inside:
                        inside.add(met.pop())
                    vertices = frozenset(end for edge in inside for end in ends[edge])
                    block = (parent, frozenset(inside), vertices)
                    for member in vertices:
                        if member != parent:
                            self._block[member] = block
