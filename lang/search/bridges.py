"""Bridges: the edges that alone hold a graph together, and what lies beyond each (Tarjan 1974, one search)."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Generic, NamedTuple, TypeVar

from ..records import dataclass
from .walks import Step

N = TypeVar("N", bound=Hashable)
E = TypeVar("E")


class Bridge(NamedTuple, Generic[N, E]):
    """An edge without which what lies beyond it could not be reached from the starts: those nodes, as they were met."""

    edge: E
    near: N
    far: N
    beyond: tuple[N, ...]


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


def bridges(starts: Iterable[N], step: Step[N, E]) -> Iterator[Bridge[N, E]]:
    """The bridges of what can be reached from the starts, the farthest first.

    Edges must tell themselves apart by ``==``: an edge is never gone back by, one beside it may be. Where steps lead
    one way only, what comes back another way counts as a second way to wherever it comes.
    """
    order: dict[N, int] = {}
    for left in _left(starts, step, order):
        if left.parent is not None and left.bridge:
            _, edge = left.parent
            yield Bridge(edge, left.parent[0], left.node, tuple(islice(order, order[left.node], None)))


def islands(nodes: Iterable[str], edges: Sequence[tuple[str, str]]) -> Islands:
    """Islands and bridges of a graph, edges between the same two nodes told apart."""
    beside: dict[str, list[tuple[str, int]]] = {node: [] for node in nodes}
    for i, (a, b) in enumerate(edges):
        beside[a].append((b, i))
        beside[b].append((a, i))
    island: dict[str, int] = {}
    order: dict[str, int] = {}
    far_side: dict[int, tuple[int, int]] = {}
    count = 1
    for left in _left(beside, beside.__getitem__, order):
        if left.parent is None:
            island.update(dict.fromkeys(islice(order, order[left.node], None), count))
            count += 1
        elif left.bridge:
            far_side[left.parent[1]] = (order[left.node], len(order) - 1)
    return Islands(island, order, far_side)


class _Left(NamedTuple, Generic[N, E]):
    """A node that a depth-first search leaves for good, by which edge it was met from which node (``None`` for a
    start), and whether that edge is a bridge.
    """

    node: N
    parent: tuple[N, E] | None
    bridge: bool


def _left(starts: Iterable[N], step: Step[N, E], order: dict[N, int]) -> Iterator[_Left[N, E]]:
    """A depth-first search by low points; ``order`` is filled with the order in which nodes are met."""
    low: dict[N, int] = {}
    for start in starts:
        if start in order:
            continue
        order[start] = low[start] = len(order)
        stack: list[tuple[N, tuple[N, E] | None, Iterator[tuple[N, E]]]] = [(start, None, iter(step(start)))]
        while stack:
            node, parent, rest = stack[-1]
            for other, edge in rest:
                if parent is not None and edge == parent[1]:
                    continue
                if other in order:
                    low[node] = min(low[node], order[other])
                else:
                    order[other] = low[other] = len(order)
                    stack.append((other, (node, edge), iter(step(other))))
                    break
            else:
                stack.pop()
                bridge = False
                if parent is not None:
                    above = parent[0]
                    low[above] = min(low[above], low[node])
                    bridge = low[node] > order[above]
                yield _Left(node, parent, bridge)
