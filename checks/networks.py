"""Searches on small graphs that protection and logic ask for: minimum cut, bridges, blocks, simple paths.

Written here because ``check`` runs on every edit: the library for graphs takes longer to import than all of these
searches to run. In tests it judges them.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

Node = Hashable
V = TypeVar("V", bound=Hashable)
NEGLIGIBLE = 1e-9
"""A residue of flow, in A, that is rounding and no current."""


@dataclass(frozen=True, slots=True)
class Arc:
    """A way for flow from ``tail`` to ``head``, at most ``amps`` (may be infinite), back too where ``both``."""

    tail: Node
    head: Node
    amps: float
    name: str
    both: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """The greatest flow in A, and the names of the arcs that limit it, sorted: of all least cuts the nearest one to the
    target. Infinite flow has no cut.
    """

    amps: float
    names: tuple[str, ...]


def minimum_cut(arcs: Sequence[Arc], source: Node, target: Node) -> Cut:
    """The least cut between two nodes by shortest augmenting paths, searched from the target back."""
    if source == target:
        return Cut(math.inf, ())
    tails: list[Node] = []
    heads: list[Node] = []
    room: list[float] = []
    into: dict[Node, list[int]] = {}
    for arc in arcs:
        for tail, head, amps in ((arc.tail, arc.head, arc.amps), (arc.head, arc.tail, arc.amps if arc.both else 0.0)):
            into.setdefault(head, []).append(len(tails))
            tails.append(tail)
            heads.append(head)
            room.append(amps)
    total = 0.0
    while True:
        onward = _search_back(tails, room, into, source, target)
        if source not in onward:
            names = {
                arc.name
                for i, arc in enumerate(arcs)
                if (arc.tail not in onward and arc.head in onward)
                or (arc.both and arc.head not in onward and arc.tail in onward)
            }
            return Cut(total, tuple(sorted(names)))
        path = []
        node = source
        while node != target:
            path.append(onward[node])
            node = heads[path[-1]]
        most = min(room[i] for i in path)
        if math.isinf(most):
            return Cut(math.inf, ())
        total += most
        for i in path:
            room[i] -= most
            room[i ^ 1] += most


def _search_back(
    tails: list[Node], room: list[float], into: dict[Node, list[int]], source: Node, target: Node
) -> dict[Node, int]:
    """For each node from which flow still reaches the target: the arc to take. Stops once the source is found."""
    onward: dict[Node, int] = {target: -1}
    queue = deque([target])
    while queue:
        node = queue.popleft()
        for i in into.get(node, ()):
            tail = tails[i]
            if room[i] > NEGLIGIBLE and tail not in onward:
                onward[tail] = i
                if tail == source:
                    return onward
                queue.append(tail)
    return onward


@dataclass(frozen=True, slots=True)
class Islands:
    """The connected islands of an undirected graph, and its bridges.

    ``island`` of each node; ``order`` in which a depth-first search met it; ``far_side`` of each edge that is a bridge
    (by its place in the sequence given): the first and last order of the nodes beyond it. An edge that is none may be
    taken out and its island stays whole.
    """

    island: Mapping[str, int]
    order: Mapping[str, int]
    far_side: Mapping[int, tuple[int, int]]


def islands(nodes: Iterable[str], edges: Sequence[tuple[str, str]]) -> Islands:
    """Islands and bridges by one depth-first search (Tarjan's low points, parallel edges told apart)."""
    beside: dict[str, list[tuple[str, int]]] = {node: [] for node in nodes}
    for i, (a, b) in enumerate(edges):
        beside[a].append((b, i))
        beside[b].append((a, i))
    island: dict[str, int] = {}
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    far_side: dict[int, tuple[int, int]] = {}
    count = 0
    for root, first in beside.items():
        if root in island:
            continue
        count += 1
        stack = [(root, -1, iter(first))]
        island[root], order[root] = count, len(order)
        low[root] = order[root]
        while stack:
            node, by, rest = stack[-1]
            for other, edge in rest:
                if edge == by:
                    continue
                if other in order:
                    low[node] = min(low[node], order[other])
                else:
                    island[other], order[other] = count, len(order)
                    low[other] = order[other]
                    stack.append((other, edge, iter(beside[other])))
                    break
            else:
                stack.pop()
                if stack:
                    parent = stack[-1][0]
                    low[parent] = min(low[parent], low[node])
                    if low[node] > order[parent]:
                        far_side[by] = (order[node], len(order) - 1)
    return Islands(island, order, far_side)


def between(edges: Sequence[tuple[str, str]], start: str, end: str) -> frozenset[int]:
    """The edges (by their places) that lie on some simple path from ``start`` to ``end``.

    They are those in one block with an edge drawn between the two, and no edge where nothing joins them.
    """
    if start == end:
        return frozenset()
    drawn = len(edges)
    beside: dict[str, list[tuple[str, int]]] = {start: [], end: []}
    for i, (a, b) in enumerate((*edges, (start, end))):
        beside.setdefault(a, []).append((b, i))
        beside.setdefault(b, []).append((a, i))
    for block in blocks(beside, start):
        if drawn in block.edges:
            return block.edges - {drawn}
    return frozenset()


class Block(NamedTuple, Generic[V]):
    """A largest part of a graph that no single vertex cuts: its edges by number, its vertices, and the one of them,
    ``entry``, by which it hangs on the start.
    """

    entry: V
    edges: frozenset[int]
    vertices: frozenset[V]


def blocks(near: Mapping[V, Sequence[tuple[V, int]]], start: V, wall: V | None = None) -> Iterator[Block[V]]:
    """The blocks of what is joined to a start, the farthest first (Tarjan 1972: one depth-first search).

    Every edge of every block on the way from the start to a vertex lies on some simple path between the two, and no
    other edge does. ``near`` gives for each vertex its edges as (other vertex, number of the edge); ``wall`` is never
    entered.
    """
    order = {start: 0}
    low = {start: 0}
    met: list[int] = []
    ends: dict[int, tuple[V, V]] = {}
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
                yield Block(parent, frozenset(inside), frozenset(end for edge in inside for end in ends[edge]))
