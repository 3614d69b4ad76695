"""A network of plain resistances seen from the nodes that matter: the others are taken out, exactly, and put back.

What the taking out leaves is again a network of resistances (Kron 1939), a triangle for a star of three (Kennelly
1899). The volts of a node that was taken out follow from those of its neighbours, and what changes inside, a conductor
that opens or comes to lie on another, is seen from outside as a change of as many currents.
"""

from __future__ import annotations

import heapq
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

MOST_NEIGHBOURS = 3
"""A node with more neighbours stays: taken out it would leave more resistances than there were."""


TIE = 1.0
"""Siemens by which one node of every island is tied to 0 V. No current flows there: an island has no other way to 0
V.
"""

LOOSE = 1.0
"""Siemens by which an island that nobody asks about is tied to 0 V (ours); no current flows there."""


class Reduction:
    """The plain resistances between ``count`` nodes, seen from those in ``keep`` and a few more.

    ``resistors`` are (node, node, siemens). ``place`` gives the place of each node that stays among those, in order;
    ``edges`` the resistances between them, by place; ``labels`` for each place a number, alike where edges join.
    """

    def __init__(self, count: int, resistors: Sequence[tuple[int, int, float]], keep: Collection[int]) -> None:
        self.count = count
        self._resistors = resistors
        around: dict[int, dict[int, float]] = {}
        for a, b, siemens in resistors:
            if a != b:
                for x, y in ((a, b), (b, a)):
                    near = around.setdefault(x, {})
                    near[y] = near.get(y, 0.0) + siemens
        self._gone = _eliminate(around, keep)
        gone = {node for node, _ in self._gone}
        kept = [i for i in range(count) if i not in gone]
        self.place = {node: place for place, node in enumerate(kept)}
        self.kept = tuple(kept)
        self.edges = [
            (self.place[a], self.place[b], siemens)
            for a, near in around.items()
            if a not in gone
            for b, siemens in near.items()
            if a < b
        ]
        self.labels = _components(len(kept), [(a, b) for a, b, _ in self.edges])

    @cached_property
    def matrix(self) -> Floats:
        """The resistances between the nodes that stay: a matrix of siemens, every row adding up to zero."""
        import numpy as np

        matrix = np.zeros((len(self.kept), len(self.kept)))
        stamp(matrix, self.edges)
        return matrix

    @cached_property
    def loose(self) -> tuple[int, ...]:
        """Of each island of nothing but nodes that were taken out the last one."""
        return tuple(node for node, near in self._gone if not near)

    @cached_property
    def recovery(self) -> Floats:
        """The volts of all nodes for a volt at each of those that stay; (nodes, nodes that stay)."""
        import numpy as np

        matrix = np.zeros((self.count, len(self.kept)))
        for node, place in self.place.items():
            matrix[node, place] = 1.0
        for node, near in reversed(self._gone):
            total = sum(siemens for _, siemens in near)
            for other, siemens in near:
                matrix[node] += siemens / total * matrix[other]
        return matrix

    @cached_property
    def within(self) -> Floats:
        """The volts of all nodes for an amp into each, while those that stay are held at 0 V; (nodes, nodes)."""
        import numpy as np

        matrix = np.zeros((self.count, self.count))
        stamp(matrix, self._resistors)
        gone = np.array(sorted(node for node, _ in self._gone), dtype=np.intp)
        for node in self.loose:
            matrix[node, node] += LOOSE
        inside = matrix[np.ix_(gone, gone)]
        found = np.zeros_like(matrix)
        found[np.ix_(gone, gone)] = np.linalg.inv(inside)
        return found

    def volts(self, kept: Floats, *, dense: bool) -> Floats:
        """The volts of all nodes from those that stay; ``dense``: by a matrix, which is quicker while it is small."""
        import numpy as np

        if dense:
            return np.asarray(self.recovery @ kept)
        nodes, places, shares = self._shares
        return np.asarray(np.bincount(nodes, shares * kept[places], self.count), dtype=float)

    @cached_property
    def _shares(self) -> tuple[Places, Places, Floats]:
        """As ``recovery``, of a large matrix what is there: each node, one of those that stay, and its share in it."""
        import numpy as np

        rows: dict[int, dict[int, float]] = {node: {place: 1.0} for node, place in self.place.items()}
        for node, near in reversed(self._gone):
            total = sum(siemens for _, siemens in near)
            row = rows[node] = {}
            for other, siemens in near:
                for place, share in rows[other].items():
                    row[place] = row.get(place, 0.0) + siemens / total * share
        found = [(node, place, share) for node, row in rows.items() for place, share in row.items()]
        return (
            np.array([node for node, _, _ in found], dtype=np.intp),
            np.array([place for _, place, _ in found], dtype=np.intp),
            np.array([share for _, _, share in found]),
        )


def stamp(matrix: Floats, resistors: Sequence[tuple[int, int, float]]) -> None:
    """Add resistances (node, node, siemens) to a matrix of conductances, in place."""
    for a, b, siemens in resistors:
        matrix[a, a] += siemens
        matrix[b, b] += siemens
        matrix[a, b] -= siemens
        matrix[b, a] -= siemens


def _eliminate(around: dict[int, dict[int, float]], keep: Collection[int]) -> list[tuple[int, list[tuple[int, float]]]]:
    """Take out nodes of few neighbours that are not kept, fewest neighbours first; ``around`` is changed.

    Gives each node taken out with the conductances to its neighbours of that moment: their mean, so weighted, is its
    volts.
    """
    order = [(len(near), node) for node, near in around.items() if node not in keep and len(near) <= MOST_NEIGHBOURS]
    heapq.heapify(order)
    gone: list[tuple[int, list[tuple[int, float]]]] = []
    out: set[int] = set()
    while order:  # no search: each node that goes changes the graph
        degree, node = heapq.heappop(order)
        near = around[node]
        if node in out or len(near) != degree:
            continue
        out.add(node)
        ends = sorted(near.items())
        gone.append((node, ends))
        total = sum(near.values())
        for other, _ in ends:
            del around[other][node]
        for place, (x, to_x) in enumerate(ends):
            for y, to_y in ends[place + 1 :]:
                siemens = to_x * to_y / total
                around[x][y] = around[x].get(y, 0.0) + siemens
                around[y][x] = around[y].get(x, 0.0) + siemens
        near.clear()
        for other, _ in ends:
            if other not in keep and len(around[other]) <= MOST_NEIGHBOURS:
                heapq.heappush(order, (len(around[other]), other))
    return gone


def _components(count: int, edges: Sequence[tuple[int, int]]) -> list[int]:
    """A label for each of ``count`` nodes: alike where edges join them, counted from 0."""
    merged = DisjointSet(range(count))
    for a, b in edges:
        merged.merge(a, b)
    numbers: dict[int, int] = {}
    return [numbers.setdefault(merged.leader(node), len(numbers)) for node in range(count)]
