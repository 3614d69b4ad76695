"""Searches on small graphs that protection and logic ask for: minimum cut, bridges, blocks, simple paths.

Written here because ``check`` runs on every edit: the library for graphs takes longer to import than all of these
searches to run. In tests it judges them.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Generic, NamedTuple, TypeVar

from ..records import dataclass

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


class Step(NamedTuple):
    """A way along an arc: at most ``amps``, ``back`` at most the other way; ``number`` is odd where it is against the
    arc.
    """

    number: int
    amps: float
    back: float
    name: str


Into = Callable[[Node], Iterable[tuple[Node, Step]]]
"""The ways into a node, each with the node that it comes from."""


def both_ways(arcs: Iterable[Arc]) -> Iterator[tuple[Node, Node, Step]]:
    """The two ways along each arc: where it comes from, where it leads, and the way."""
    for number, arc in enumerate(arcs):
        back = arc.amps if arc.both else 0.0
        yield arc.tail, arc.head, Step(2 * number, arc.amps, back, arc.name)
        yield arc.head, arc.tail, Step(2 * number + 1, back, arc.amps, arc.name)


def minimum_cut(arcs: Iterable[Arc], source: Node, target: Node) -> Cut:
    """The least cut between two nodes of a graph."""
    into: dict[Node, list[tuple[Node, Step]]] = {}
    for tail, head, step in both_ways(arcs):
        into.setdefault(head, []).append((tail, step))
    return cut_before(lambda node: into.get(node, ()), source, target)


def cut_before(into: Into, source: Node, target: Node) -> Cut:
    """The least cut between two nodes by shortest augmenting paths, searched from the target back.

    ``into`` is asked about nodes alone from which flow can reach the target: a cut near it costs little in any graph.
    """
    if source == target:
        return Cut(math.inf, ())
    room: dict[int, float] = {}
    total = 0.0
    while True:
        onward = _search_back(into, room, source, target)
        if source not in onward:
            names = {step.name for node in onward for tail, step in into(node) if step.amps and tail not in onward}
            return Cut(total, tuple(sorted(names)))
        path = []
        node = source
        while (by := onward[node]) is not None:
            node, step = by
            path.append(step)
        most = min(room.get(step.number, step.amps) for step in path)
        if math.isinf(most):
            return Cut(math.inf, ())
        total += most
        for step in path:
            room[step.number] = room.get(step.number, step.amps) - most
            room[step.number ^ 1] = room.get(step.number ^ 1, step.back) + most


def _search_back(
    into: Into, room: Mapping[int, float], source: Node, target: Node
) -> dict[Node, tuple[Node, Step] | None]:
    """For each node from which flow still reaches the target: where to go, and which way. Stops once the source is
    found.
    """
    onward: dict[Node, tuple[Node, Step] | None] = {target: None}
    queue = deque([target])
    while queue:
        node = queue.popleft()
        for tail, step in into(node):
            if room.get(step.number, step.amps) > NEGLIGIBLE and tail not in onward:
                onward[tail] = (node, step)
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
            return frozenset(block.edges.keys() - {drawn})
    return frozenset()


class Block(NamedTuple, Generic[V]):
    """A largest part of a graph that no single vertex cuts: its edges by number, each with its ends, its vertices, and
    the one of them, ``entry``, by which it hangs on the start.
    """

    entry: V
    edges: Mapping[int, tuple[V, V]]
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
                inside: dict[int, tuple[V, V]] = {}
                while by not in inside:
                    edge = met.pop()
                    inside[edge] = ends[edge]
                yield Block(parent, inside, frozenset(chain.from_iterable(inside.values())))
