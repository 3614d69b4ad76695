"""Nets and the edges between them, with what moves each: what can be reached, and what that depends on."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, On, Pulled
from ...lang.search.cones import Cones
from ...lang.search.walks import reachable
from ..tally import Tally
from .terms import ALSO, NOTHING, Given, Graph, Need, Reach, Steps, on, pulled

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Edge, Net


class SwitchingGraph:
    """The graph of one circuit's nets."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.harness = circuit.harness
        self.nets = circuit.nets
        self.edges: tuple[Edge, ...] = self.nets.switched
        self.labels = (*(self._label(e.branch) for e in self.edges), *(NOTHING for _ in self.nets.consumers))
        self.moved: dict[str, list[int]] = {}
        """The switched edges that each control, joint or condition moves; nothing moves those of the empty name."""
        for i in range(len(self.edges)):
            self.moved.setdefault(next(iter(self.labels[i]), ""), []).append(i)
        self.tally = Tally()
        """What is worked out over all combinations of this network, and of those that are made of it."""
        self._beside: dict[Graph, dict[Net, list[tuple[Net, int]]]] = {}
        self._steps: dict[tuple[bool, Graph], Steps] = {}
        self._cones: dict[tuple[Net, Net | None, Graph, frozenset[int]], Cones] = {}
        self._can: dict[tuple[Reach, Graph], frozenset[Net]] = {}

    def net(self, node: str) -> Net:
        return self.nets.of[node]

    def _label(self, branch: Branch) -> Need:
        if not branch.reliable:
            return frozenset({branch.key})
        match branch.guard:
            case InPosition(control):
                return frozenset({control})
            case Pulled(relay):
                return frozenset({pulled(relay)})
            case On(unit, output):
                return frozenset({on(unit, output)})
            case None:
                return NOTHING

    @cached_property
    def wide_edges(self) -> tuple[Edge, ...]:
        """The switched edges, by the same numbers, and the consumers."""
        return (*self.edges, *self.nets.consumers)

    def edges_of(self, graph: Graph) -> Iterable[int]:
        """The numbers of the edges of a graph."""
        first = len(self.edges)
        yield from range(first)
        for i, edge in enumerate(self.nets.consumers, first):
            if edge.branch.branch_type in ALSO[graph]:
                yield i

    def near(self, graph: Graph) -> dict[Net, list[tuple[Net, int]]]:
        """For each net, the nets beside it in a graph, by which edge; whichever way current runs."""
        if graph not in self._beside:
            near: dict[Net, list[tuple[Net, int]]] = {}
            for i in self.edges_of(graph):
                edge = self.wide_edges[i]
                near.setdefault(edge.a, []).append((edge.b, i))
                near.setdefault(edge.b, []).append((edge.a, i))
            self._beside[graph] = near
        return self._beside[graph]

    def steps(self, forward: bool, graph: Graph = "nets") -> Steps:
        """For each net, where current goes from it (or comes to it from), by which edge."""
        key = (forward, graph)
        if key not in self._steps:
            self._steps[key] = self.steps_along(self.edges_of(graph), forward)
        return self._steps[key]

    def steps_along(self, edges: Iterable[int], forward: bool) -> Steps:
        """The same along some edges only."""
        steps: Steps = {}
        for i in edges:
            edge = self.wide_edges[i]
            tail, head = (edge.a, edge.b) if forward else (edge.b, edge.a)
            steps.setdefault(tail, []).append((head, i))
            if edge.both:
                steps.setdefault(head, []).append((tail, i))
        return steps

    def can(self, reach: Reach, graph: Graph = "nets") -> frozenset[Net]:
        """Every net that is reached when all that may close is closed, and the consumers of a graph conduct too."""
        found = self._can.get((reach, graph))
        if found is None:
            steps = self.steps(reach.forward, graph)
            walls = () if reach.wall is None else (reach.wall,)
            met = reachable([reach.start], lambda net: steps.get(net, ()), stop_at=walls)
            found = self._can[reach, graph] = frozenset(met)
        return found

    def shut_out(self, given: Given) -> frozenset[int]:
        """The edges that conduct in none of the positions that controls are known to be in."""
        return frozenset(
            i
            for control, allowed in given
            for i in self.moved.get(control, ())
            if isinstance(guard := self.edges[i].branch.guard, InPosition) and not guard.positions & allowed
        )

    def cones(
        self, start: Net, wall: Net | None, graph: Graph = "nets", without: frozenset[int] = frozenset()
    ) -> Cones:
        """The cones from a net in a graph, edges ``without`` left out."""
        key = (start, wall, graph, without)
        found = self._cones.get(key)
        if found is None:
            near = self.near(graph)
            if without:
                near = {net: [step for step in steps if step[1] not in without] for net, steps in near.items()}
            found = self._cones[key] = Cones(near, self.labels, start, wall)
        return found

    def reach_needs(self, reach: Reach, net: Net, without: frozenset[int] = frozenset()) -> Need | None:
        """What being reached depends on directly; ``None`` where it cannot be."""
        if net not in self.can(reach):
            return None
        return self.cones(reach.start, None if net == reach.wall else reach.wall, "nets", without).of(net)

    def past_itself(
        self, branch: Branch, reach: Reach, net: Net, graph: Graph, without: frozenset[int] = frozenset()
    ) -> Cones:
        """The cones in which an element is asked what reaches its end ``net``: without the element itself, since what
        comes through it does not come to it.
        """
        return self.cones(reach.start, reach.wall, graph, without).but(self._numbers.get(branch.key), net)

    @cached_property
    def _numbers(self) -> dict[str, int]:
        """The number of each consumer's edge."""
        return {edge.branch.key: i for i, edge in enumerate(self.nets.consumers, len(self.edges))}
