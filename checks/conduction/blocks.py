"""Which edges of a graph can matter between a start and any other vertex: those on a simple path, found by blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..networks import Block, blocks

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
        self._block: dict[int, Block[int]] = {}
        self._memo: dict[int, frozenset[Name]] = {start: frozenset()}
        for block in blocks(near, start, wall):
            for member in block.vertices:
                if member != block.entry:
                    self._block[member] = block

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
            vertex = self._block[vertex].entry
        found = self._memo[vertex]
        for nearer in reversed(way):
            found = found.union(*(self._labels[edge] for edge in self._block[nearer].edges))
            self._memo[nearer] = found
        return found

    def passed(self, vertex: int) -> frozenset[int]:
        """Every vertex on a simple path from the start to a vertex, both included."""
        found: set[int] = {vertex}
        while vertex in self._block:
            block = self._block[vertex]
            vertex = block.entry
            found |= block.vertices
        return frozenset(found)

    def passes(self, edge: int, vertex: int) -> bool:
        """Whether an edge lies on a simple path from the start to a vertex."""
        while vertex in self._block:
            block = self._block[vertex]
            if edge in block.edges:
                return True
            vertex = block.entry
        return False
