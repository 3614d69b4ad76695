"""Walks over a graph, step by step: what can be reached, how many steps away it is, the shortest path, a cycle."""

from __future__ import annotations

from collections.abc import Callable, Container, Hashable, Iterable, Iterator
from typing import TypeVar

N = TypeVar("N", bound=Hashable)
E = TypeVar("E")

Step = Callable[[N], Iterable[tuple[N, E]]]
"""From a node: the nodes that can be gone to at once, each with the edge it is gone by, in a fixed order."""

Near = Callable[[N], Iterable[N]]
"""From a node: the nodes that can be gone to at once, where it does not matter by which edge."""


def reachable(
    starts: Iterable[N], step: Step[N, E], *, stop_at: Container[N] = (), until: Container[N] = ()
) -> dict[N, E | None]:
    """Every node that can be reached, breadth first, with the edge by which it was met; ``None`` for the starts.

    Nodes in ``stop_at`` are met and not left again, a start among them neither. The search ends with the first node met
    that is in ``until``.
    """
    by: dict[N, E | None] = dict.fromkeys(starts)
    waiting = list(by)
    if any(start in until for start in waiting):
        return by
    for node in waiting:  # grows while it is gone through
        if node in stop_at:
            continue
        for other, edge in step(node):
            if other not in by:
                by[other] = edge
                if other in until:
                    return by
                waiting.append(other)
    return by


def back(by: Callable[[N], E | None], node: N, before: Callable[[E, N], N]) -> Iterator[E]:
    """The edges from a node that was reached back to a start: ``by`` says by which edge a node was met, and ``before``
    from where, of an edge and the node that it led to.
    """
    while (edge := by(node)) is not None:
        yield edge
        node = before(edge, node)


def shortest(
    starts: Iterable[N], is_goal: Callable[[N], bool], step: Step[N, E], *, stop_at: Container[N] = ()
) -> tuple[E, ...] | None:
    """The edges of the shortest path from one of the starts to a goal, in order; ``None`` without one.

    Of paths equally short the one whose steps come first. ``stop_at``: nodes that may end a path and are not passed.
    """
    by: dict[N, tuple[N, E] | None] = dict.fromkeys(starts)
    waiting = list(by)
    if any(map(is_goal, waiting)):
        return ()
    for node in waiting:  # grows while it is gone through
        if node in stop_at:
            continue
        for other, edge in step(node):
            if other in by:
                continue
            by[other] = (node, edge)
            if is_goal(other):
                return tuple(edge for _, edge in back(by.__getitem__, other, lambda came, _: came[0]))[::-1]
            waiting.append(other)
    return None


def closure(starts: Iterable[N], near: Near[N]) -> set[N]:
    """All that some nodes lead to, these among it."""
    met = set(starts)
    waiting = list(met)
    while waiting:
        for other in near(waiting.pop()):
            if other not in met:
                met.add(other)
                waiting.append(other)
    return met


def hops(starts: Iterable[N], near: Near[N]) -> dict[N, int]:
    """How many steps each node that can be reached is away from the nearest start, the nearest first."""
    found = dict.fromkeys(starts, 0)
    waiting = list(found)
    for node in waiting:  # grows while it is gone through
        further = found[node] + 1
        for other in near(node):
            if other not in found:
                found[other] = further
                waiting.append(other)
    return found


def find_cycle(nodes: Iterable[N], near: Near[N]) -> tuple[N, ...] | None:
    """Some nodes that each lead to the next, the last to the first; ``None`` where there is no cycle."""
    done: set[N] = set()
    for start in nodes:
        if start in done:
            continue
        path = {start: iter(near(start))}
        while path:
            node, rest = next(reversed(path.items()))
            for other in rest:
                if other in path:
                    around = tuple(path)
                    return around[around.index(other) :]
                if other not in done:
                    path[other] = iter(near(other))
                    break
            else:
                done.add(node)
                del path[node]
    return None
