"""Which edges of a graph can matter between a start and any other vertex: those on a simple path, found by blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .blocks import Block, blocks

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

Name = str


class Cones:
    """For one start, what each vertex's being reached can depend on.

    ``near`` gives for each vertex its edges as (other vertex, number of the edge). ``labels`` names what each edge
    depends on. ``wall`` is a vertex that paths may end at but never pass. ``nearer`` are the cones of what lies before
    the start, where paths begin elsewhere.
    """

    def __init__(
        self,
        near: Mapping[int, Sequence[tuple[int, int]]],
        labels: Sequence[frozenset[Name]],
        start: int,
        wall: int | None = None,
        nearer: Cones | None = None,
    ) -> None:
        self._labels = labels
        self._start = start
        self._nearer = nearer
        self._block: dict[int, Block[int]] = {}
        self._memo: dict[int, frozenset[Name]] = {start: nearer.of(start) if nearer else frozenset()}
        self._but: dict[tuple[int, int], Cones] = {}
        for block in blocks(near, start, wall):
            for member in block.vertices:
                if member != block.entry:
                    self._block[member] = block

    def __contains__(self, vertex: int) -> bool:
        """Whether the start is connected to a vertex at all, by whatever closes."""
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

    def way(self, vertex: int) -> Iterator[Block[int]]:
        """The blocks between the start and a vertex, the farthest first."""
        while vertex in self._block:
            block = self._block[vertex]
            yield block
            vertex = block.entry
        if self._nearer is not None:
            yield from self._nearer.way(self._start)

    def passed(self, vertex: int) -> frozenset[int]:
        """Every vertex on a simple path from the start to a vertex, both included."""
        return frozenset({vertex}).union(*(block.vertices for block in self.way(vertex)))

    def edges(self, vertex: int) -> frozenset[int]:
        """Every edge on a simple path from the start to a vertex."""
        return frozenset().union(*(block.edges for block in self.way(vertex)))

    def but(self, edge: int | None, end: int) -> Cones:
        """What an end of an edge can be reached by with that edge taken out: only its own block falls apart."""
        block = self._block.get(end)
        if edge is None or block is None or edge not in block.edges:
            return self
        found = self._but.get((edge, end))
        if found is None:
            near: dict[int, list[tuple[int, int]]] = {}
            for i, (a, b) in block.edges.items():
                if i != edge:
                    near.setdefault(a, []).append((b, i))
                    near.setdefault(b, []).append((a, i))
            found = self._but[edge, end] = Cones(near, self._labels, block.entry, nearer=self)
        return found
