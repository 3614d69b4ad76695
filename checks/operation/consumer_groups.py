"""Which consumers depend on one device together: those beyond each switched edge, and beyond each conductor that alone
joins two halves of the harness.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.records import dataclass
from ...lang.search.bridges import bridges
from ...lang.search.cones import Cones
from ...lang.search.walks import closure

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.graphs import Net
    from ...lang.circuit.ids import End
    from ..logic import SwitchingLogic


POLES = -1
"""Stands for all poles of one side, drawn together, among the numbers of nets."""


@dataclass(frozen=True, slots=True)
class Group:
    """Consumers that depend on one device: with ``via``, those fed through this switched edge; ``off`` where a machine
    would feed them from the far side, so that only the battery counts; ``running`` where only the machine does.
    """

    consumers: frozenset[str]
    via: str = ""
    off: bool = False
    running: bool = False

    def order(self) -> tuple[int, str, list[str], bool, bool]:
        """The largest first, of two as large by name."""
        return -len(self.consumers), self.via, sorted(self.consumers), self.off, self.running


class ConsumerGroups:
    """The groups of one circuit, of the consumers that draw ``amps``."""

    def __init__(self, logic: SwitchingLogic, amps: Mapping[str, float]) -> None:
        self.logic = logic
        self.circuit = logic.circuit
        self.amps = amps
        self._paths: dict[tuple[Net, bool], frozenset[str]] = {}

    @cached_property
    def largest_first(self) -> tuple[Group, ...]:
        """All groups, each once."""
        groups: dict[Group, None] = {}
        through: dict[str, set[str]] = {}
        for key in self.amps:
            for edge in self._edges_to(self.circuit.by_key[key]):
                through.setdefault(edge, set()).add(key)
        for edge, consumers in through.items():
            if self.circuit.by_key[edge].branch_type.consumes:
                continue
            groups.setdefault(Group(frozenset(consumers), via=edge))
        for far, machine in self._beyond_bridges():
            if far:
                groups.setdefault(Group(far, off=machine))
            near = frozenset(self.amps) - far
            if machine and near:
                groups.setdefault(Group(near, running=True))
        return tuple(sorted(groups, key=Group.order))

    def _edges_to(self, branch: Branch) -> frozenset[str]:
        """The switched edges on any way from a + pole to a consumer and on to a - pole."""
        of = self.logic.network.nets.of
        a, b = of[branch.a], of[branch.b]
        found = self._edges_between(a, feed=True) | self._edges_between(b, feed=False)
        if branch.branch_type.as_load is Direction.BOTH:
            found |= self._edges_between(b, feed=True) | self._edges_between(a, feed=False)
        return found

    def _edges_between(self, net: Net, *, feed: bool) -> frozenset[str]:
        """The same between a net and the poles of one side, past none of the other side."""
        key = (net, feed)
        if key not in self._paths:
            poles, others = self._poles(feed), self._poles(not feed)
            if net in others:  # the way may begin at a pole of the other side
                cones = Cones(self._near(poles, others - {net}), self.logic.network.labels, POLES)
            else:
                cones = self._cones[feed]
            self._paths[key] = frozenset() if net in poles else self._along(cones.edges(net), net, poles, feed=feed)
        return self._paths[key]

    @cached_property
    def _cones(self) -> dict[bool, Cones]:
        """What can lie between the feed (else the return) poles and each net."""
        labels = self.logic.network.labels
        return {
            feed: Cones(self._near(self._poles(feed), self._poles(not feed)), labels, POLES) for feed in (True, False)
        }

    def _poles(self, feed: bool) -> frozenset[Net]:
        """The nets at which sources give current, else those at which they take it back."""
        origins = [o for o in self.logic.network.origins if o.kind != "winding"]
        return frozenset(o.plus if feed else o.minus for o in origins)

    def _near(self, poles: frozenset[Net], walls: frozenset[Net]) -> dict[Net, list[tuple[Net, int]]]:
        """What is beside each net, the poles drawn together and the walls left out."""
        network = self.logic.network
        near: dict[Net, list[tuple[Net, int]]] = {}
        for i in network.edges_of("series"):
            edge = network.wide_edges[i]
            if not {edge.a, edge.b} & walls:
                a, b = (POLES if net in poles else net for net in (edge.a, edge.b))
                near.setdefault(a, []).append((b, i))
                near.setdefault(b, []).append((a, i))
        return near

    def _along(self, edges: Iterable[int], net: Net, poles: frozenset[Net], *, feed: bool) -> frozenset[str]:
        """Those of some edges over which current can get from the poles to a net, or to the poles from it."""
        network = self.logic.network
        steps = []
        for i in edges:
            edge = network.wide_edges[i]
            a, b = (POLES if end in poles else end for end in (edge.a, edge.b))
            steps += [(a, b, i)] if edge.both or feed else []
            steps += [(b, a, i)] if edge.both or not feed else []
        begun = _reached(POLES, ((near, far) for near, far, _ in steps))
        ended = _reached(net, ((far, near) for near, far, _ in steps))
        return frozenset(network.wide_edges[i].branch.key for near, far, i in steps if near in begun and far in ended)

    def _beyond_bridges(self) -> Iterator[tuple[frozenset[str], bool]]:
        """For each conductor that alone joins two halves: the consumers beyond it, and whether a machine is there."""
        circuit = self.circuit
        hanging: dict[str, set[str]] = {}
        for key in self.amps:
            branch = circuit.by_key[key]
            hanging.setdefault(branch.a, set()).add(key)
            hanging.setdefault(branch.b, set()).add(key)
        machines = {pole for s in circuit.supplies if s.kind == "machine" for pole in (*s.plus, s.minus)}
        roots = [p for s in circuit.supplies if s.kind == "battery" for p in (s.plus[0], s.minus)] or sorted(machines)

        def step(node: str) -> list[tuple[End, str]]:
            return [
                (branch.other_end(node), branch.key)
                for branch in circuit.at.get(node, ())
                if branch.branch_type.joined is not Direction.NEVER or branch.branch_type.in_series
            ]

        seen: set[tuple[frozenset[str], bool]] = set()
        for bridge in bridges(roots, step):
            consumers = frozenset().union(*(hanging.get(node, ()) for node in bridge.beyond))
            entry = (consumers, not machines.isdisjoint(bridge.beyond))
            if entry not in seen:
                seen.add(entry)
                yield entry


def _reached(start: Net, steps: Iterable[tuple[Net, Net]]) -> set[Net]:
    """The nets that some steps lead to."""
    onward: dict[Net, list[Net]] = {}
    for near, far in steps:
        onward.setdefault(near, []).append(far)
    return closure([start], lambda net: onward.get(net, ()))
