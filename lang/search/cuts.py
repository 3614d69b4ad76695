"""The least cut between two nodes of a graph: what limits the flow from one to the other (Ford and Fulkerson 1956)."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator

from ..named_tuples import NamedTuple
from ..records import dataclass
from .walks import reachable

Node = Hashable
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


class Residual(NamedTuple):
    """A way along an arc, or against it (``number`` is then odd): at most ``amps``, ``back`` at most the other way."""

    number: int
    amps: float
    back: float
    name: str


Into = Callable[[Node], Iterable[tuple[Node, Residual]]]
"""The ways into a node, each with the node that it comes from."""


def both_ways(arcs: Iterable[Arc]) -> Iterator[tuple[Node, Node, Residual]]:
    """The two ways along each arc: where it comes from, where it leads, and the way."""
    for number, arc in enumerate(arcs):
        back = arc.amps if arc.both else 0.0
        yield arc.tail, arc.head, Residual(2 * number, arc.amps, back, arc.name)
        yield arc.head, arc.tail, Residual(2 * number + 1, back, arc.amps, arc.name)


def cut_before(into: Into, source: Node, target: Node) -> Cut:
    """The least cut between two nodes by shortest augmenting paths, searched from the target back.

    ``into`` is asked about nodes alone from which flow can reach the target: a cut near it costs little in any graph.
    """
    if source == target:
        return Cut(math.inf, ())
    room: dict[int, float] = {}

    def back(node: Node) -> Iterator[tuple[Node, tuple[Node, Residual]]]:
        """From where flow still gets to a node, each with where it goes to from there, and how."""
        return ((tail, (node, way)) for tail, way in into(node) if room.get(way.number, way.amps) > NEGLIGIBLE)

    total = 0.0
    while True:
        onward = reachable([target], back, until=(source,))
        if source not in onward:
            names = {way.name for node in onward for tail, way in into(node) if way.amps and tail not in onward}
            return Cut(total, tuple(sorted(names)))
        path = []
        node = source
        while (by := onward[node]) is not None:
            node, way = by
            path.append(way)
        most = min(room.get(way.number, way.amps) for way in path)
        if math.isinf(most):
            return Cut(math.inf, ())
        total += most
        for way in path:
            room[way.number] = room.get(way.number, way.amps) - most
            room[way.number ^ 1] = room.get(way.number ^ 1, way.back) + most
