"""The cheapest paths over a graph (Dijkstra 1959): distances, resistances, the stoutest way."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator
from heapq import heappop, heappush
from typing import Generic, NamedTuple, TypeVar

from .walks import Step, back

N = TypeVar("N", bound=Hashable)
E = TypeVar("E")

Cost = Callable[[float, E], float]
"""What a path costs after an edge, from what it cost before it; never less than before. ``inf`` bars the edge.

A sum for distances and resistances, the larger of the two for a bottleneck.
"""


class Settled(NamedTuple, Generic[N, E]):
    """A node, the least that a path to it costs, and the last edge of that path (``None`` for a start)."""

    node: N
    cost: float
    by: E | None


def nearest(starts: Iterable[N], step: Step[N, E], cost: Cost[E], *, at_first: float = 0.0) -> Iterator[Settled[N, E]]:
    """Every node that can be reached, the cheapest first; of those that cost the same the one that was met first.

    ``at_first``: what the starts cost, each. Nothing is searched beyond what is taken from the iterator.
    """
    waiting: list[tuple[float, int, N, E | None]] = [(at_first, i, start, None) for i, start in enumerate(starts)]
    count = len(waiting)
    settled: set[N] = set()
    while waiting:
        total, _, node, by = heappop(waiting)
        if node in settled:
            continue
        settled.add(node)
        yield Settled(node, total, by)
        for other, edge in step(node):
            if other not in settled and (further := cost(total, edge)) < math.inf:
                heappush(waiting, (further, count, other, edge))
                count += 1


def distances(starts: Iterable[N], step: Step[N, E], cost: Cost[E]) -> dict[N, float]:
    """The least that a path to each node that can be reached costs, the nearest first."""
    return {node: total for node, total, _ in nearest(starts, step, cost)}


def cheapest(
    starts: Iterable[N],
    is_goal: Callable[[N], bool],
    step: Step[N, E],
    cost: Cost[E],
    *,
    at_first: float = 0.0,
) -> tuple[float, tuple[E, ...]] | None:
    """What the cheapest path from one of the starts to a goal costs, and its edges in order; ``None``: no path."""

    def traced(node: N) -> Iterator[tuple[N, tuple[N, E]]]:
        return ((other, (node, edge)) for other, edge in step(node))

    by: dict[N, tuple[N, E] | None] = {}
    for node, total, came in nearest(starts, traced, lambda before, came: cost(before, came[1]), at_first=at_first):
        by[node] = came
        if is_goal(node):
            return total, tuple(edge for _, edge in back(by.__getitem__, node, lambda came, _: came[0]))[::-1]
    return None
