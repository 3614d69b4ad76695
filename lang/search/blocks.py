"""Blocks: largest parts of a graph that no single vertex cuts, and which edges lie on a path between two vertices."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from itertools import chain
from typing import Generic, NamedTuple, TypeVar

V = TypeVar("V", bound=Hashable)


def between(edges: Sequence[tuple[str, str]], start: str, end: str) -> frozenset[int]:
    """The edges (by their places) that lie on some simple path from ``start`` to ``end``.

    They are those in one block with an edge drawn between the two, and no edge where they are not connected.
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
    the one of them, ``entry``, by which it is connected to the start.
    """

    entry: V
    edges: Mapping[int, tuple[V, V]]
    vertices: frozenset[V]


def blocks(near: Mapping[V, Sequence[tuple[V, int]]], start: V, wall: V | None = None) -> Iterator[Block[V]]:
    """The blocks of what is connected to a start, the farthest first (Tarjan 1972: one depth-first search).

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
            if met[-1] == by and low[vertex] > order[parent]:  # most are a single edge
                met.pop()
                yield Block(parent, {by: ends[by]}, frozenset(ends[by]))
            elif low[vertex] >= order[parent]:
                inside: dict[int, tuple[V, V]] = {}
                while by not in inside:
                    edge = met.pop()
                    inside[edge] = ends[edge]
                yield Block(parent, inside, frozenset(chain.from_iterable(inside.values())))
