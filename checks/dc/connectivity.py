"""What is connected to a source at one operating point, and where on the way its volts are lost."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import End
from ...lang.search.walks import back, closure, hops, reachable, shortest

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net, Nets


def always(branch: Branch) -> bool:
    """Whether it can never open: no guard, and a joint to be relied on."""
    return branch.guard is None and branch.reliable


def way(
    circuit: Circuit,
    starts: Iterable[str],
    ends: Iterable[str],
    conducting: Collection[str],
    gone: Collection[str] = (),
    walls: Collection[str] = (),
) -> tuple[str, ...] | None:
    """The keys of the branches on the shortest way of current from one of some terminals to one of others.

    ``conducting``: the keys of what may be open and conducts; ``gone``: of what is not there any more. ``None`` where
    there is no way; none leads on over one of ``walls``.
    """
    steps, begun = circuit.steps, set(starts)

    def step(node: str) -> list[tuple[End, str]]:
        return [
            (other, key)
            for key, other, may_open in steps.get(node, ())
            if (not may_open or key in conducting) and key not in gone
        ]

    found = shortest(starts, set(ends).__contains__, step, stop_at=set(walls) - begun if walls else ())
    return None if found is None else found[::-1]


class Connectivity:
    """The joined paths of one solved situation."""

    def __init__(
        self,
        circuit: Circuit,
        nets: Nets,
        running: Collection[str],
        conducting: Collection[str],
        at: Callable[[str], float],
    ) -> None:
        """``running``: the machines that give current; ``conducting``: the keys of what may be open and conducts;
        ``at``: the V of a terminal.
        """
        self._circuit = circuit
        self._running = running
        self._conducting = conducting
        self._at = at
        self._nets = nets
        self._near: dict[tuple[bool, bool], dict[Net, list[Net]]] = {}

    def conducts(self, branch: Branch) -> bool:
        return always(branch) or branch.key in self._conducting

    @cached_property
    def sources(self) -> tuple[Supply, ...]:
        """The sources that give current here."""
        return tuple(s for s in self._circuit.supplies if s.kind == "battery" or s.name in self._running)

    def fed(self, node: str) -> bool:
        """Whether a terminal is connected to the feed pole of a source: the one that the system does not ground."""
        net = self._nets.of.get(node)
        feed_is_plus = self._circuit.return_sign == "-"
        for supply in self.sources:
            minus, pluses = self._nets.of[supply.minus], tuple(self._nets.of[p] for p in supply.plus)
            if not feed_is_plus and net in self._reached(minus, pluses, forward=False, series=False):
                return True
            if feed_is_plus and any(net in self._reached(p, (minus,), forward=True, series=False) for p in pluses):
                return True
        return False

    def reaches_pole(self, node: str) -> bool:
        """Whether a terminal is connected to either pole of a source."""
        net = self._nets.of.get(node)
        for supply in self.sources:
            minus, pluses = self._nets.of[supply.minus], tuple(self._nets.of[p] for p in supply.plus)
            if net in self._reached(minus, pluses, forward=False, series=False):
                return True
            if any(net in self._reached(p, (minus,), forward=True, series=False) for p in pluses):
                return True
        return False

    def joined(self, key: str, *, series: bool = False) -> bool:
        """Whether an element is connected to a source; ``series``: through resistors, fields and sensors too."""
        found = self._joined.get((key, series))
        if found is None:
            branch = self._circuit.by_key[key]
            found = self._joined[key, series] = any(True for _ in self._senses(branch, series))
        return found

    @cached_property
    def _joined(self) -> dict[tuple[str, bool], bool]:
        return {}

    @cached_property
    def shorted(self) -> bool:
        """Whether a source's + is connected to its own -."""
        of = self._nets.of
        return any(
            of[supply.minus] in self._reached(of[plus], (of[supply.minus],), forward=True, series=False)
            for supply in self.sources
            for plus in supply.plus
        )

    def _senses(self, branch: Branch, series: bool) -> Iterator[tuple[Supply, str, str, str]]:
        """The sources that an element is connected to: source, its + node, and where current enters and leaves."""
        of = self._nets.of
        ways = [(branch.a, branch.b)]
        if branch.branch_type.as_load is Direction.BOTH:
            ways.append((branch.b, branch.a))
        for supply in self.sources:
            drains = self._reached(of[supply.minus], tuple(of[p] for p in supply.plus), forward=False, series=series)
            for plus in supply.plus:
                feeds = self._reached(of[plus], (of[supply.minus],), forward=True, series=series)
                for enter, leave in ways:
                    if of[enter] in feeds and of[leave] in drains and of[enter] != of[leave]:
                        yield supply, plus, enter, leave

    def _reached(self, start: Net, walls: tuple[Net, ...], *, forward: bool, series: bool) -> frozenset[Net]:
        key = (start, walls, forward, series)
        found = self._known.get(key)
        if found is None:
            near = self._neighbours(forward, series)
            shut = set(walls) - {start}
            met = closure([start], lambda net: near.get(net, ()) if net not in shut else ())
            found = self._known[key] = frozenset(met)
        return found

    @cached_property
    def _known(self) -> dict[tuple[Net, tuple[Net, ...], bool, bool], frozenset[Net]]:
        return {}

    def _neighbours(self, forward: bool, series: bool) -> dict[Net, list[Net]]:
        key = (forward, series)
        if key not in self._near:
            near: dict[Net, list[Net]] = {}
            edges = list(self._nets.switched)
            if series:
                edges += [e for e in self._nets.consumers if e.branch.branch_type.in_series]
            for edge in edges:
                if not self.conducts(edge.branch):
                    continue
                tail, head = (edge.a, edge.b) if forward else (edge.b, edge.a)
                near.setdefault(tail, []).append(head)
                if edge.both:
                    near.setdefault(head, []).append(tail)
            self._near[key] = near
        return self._near[key]

    def nodes(self, starts: Iterable[End], *, forward: bool = True, without: str = "") -> frozenset[End]:
        """The terminals that current can come to from some others (or from, to reach them) through what joins, the
        branches of the part ``without`` left out.
        """
        steps = self._circuit.steps if forward else self._circuit.steps_back
        gone = {branch.key for branch in self._circuit.of_part.get(without, ())}
        conducting = self._conducting

        def near(node: str) -> list[End]:
            return [
                other
                for key, other, may_open in steps.get(node, ())
                if (not may_open or key in conducting) and key not in gone
            ]

        return frozenset(closure(starts, near))

    def between(self, starts: Iterable[str], ends: Iterable[str]) -> tuple[str, ...]:
        """The keys of the branches on the shortest way of current from one of some terminals to one of others."""
        return way(self._circuit, starts, ends, self._conducting) or ()

    # --- the way of the current --------------------------------------------------------------------------------------
    def losses(self, key: str) -> tuple[tuple[Branch, float], ...]:
        """The branches between an element and its source, there and back, each with the volts lost in it, in order.

        The battery's way where there is one, since the battery's volts are what a load is measured against; empty where
        the element is not joined.
        """
        branch = self._circuit.by_key[key]
        for supply, plus, enter, leave in self._senses(branch, series=False):
            to = self._way_from(plus, enter, supply.minus)
            back = self._way_to(leave, supply.minus, plus)
            if to is not None and back is not None:
                return tuple((b, self._drop(b, node)) for b, node in (*to, *back))
        return ()

    def _drop(self, branch: Branch, node: str) -> float:
        other = branch.other_end(node)
        return self._at(node) - self._at(other)

    def _way_from(self, start: str, end: str, wall: str) -> list[tuple[Branch, str]] | None:
        """The shortest way of current between two nodes: each branch with the node at which it is entered.

        Many ends are asked about of one start: all ways from it are found at once.
        """
        came = self._ways.get((start, wall))
        if came is None:

            def step(node: str) -> Iterator[tuple[str, tuple[Branch, str]]]:
                return ((other, (branch, node)) for other, branch in self._onward(node))

            came = self._ways[start, wall] = reachable([start], step, stop_at=(wall,))
        return list(back(came.__getitem__, end, _entered))[::-1] if end in came else None

    def _way_to(self, start: str, end: str, wall: str) -> list[tuple[Branch, str]] | None:
        """The same where many starts are asked about of one end: only what comes nearer to it is followed."""
        left = self._left.get((end, wall))
        if left is None:

            def before(node: str) -> Iterator[str]:
                return (other for other, _ in self._onward(node, forward=False) if other != wall)

            left = self._left[end, wall] = hops([end], before)
        if start not in left:
            return None
        nearer = self._nearer.setdefault((end, wall), {})

        def step(node: str) -> list[tuple[str, tuple[Branch, str]]]:
            if node not in nearer:
                further = left[node] - 1
                nearer[node] = [(o, (branch, node)) for o, branch in self._onward(node) if left.get(o) == further]
            return nearer[node]

        return list(shortest([start], end.__eq__, step) or ())

    @cached_property
    def _ways(self) -> dict[tuple[str, str], dict[str, tuple[Branch, str] | None]]:
        """For each start and wall, the branch by which each node is first come to, and from where."""
        return {}

    @cached_property
    def _left(self) -> dict[tuple[str, str], dict[str, int]]:
        """For each end and wall, how many branches there are from each node to the end."""
        return {}

    @cached_property
    def _nearer(self) -> dict[tuple[str, str], dict[str, list[tuple[str, tuple[Branch, str]]]]]:
        """For each end and wall, from each node the steps that come nearer to the end."""
        return {}

    def _onward(self, node: str, *, forward: bool = True) -> Iterator[tuple[str, Branch]]:
        """Where current goes to from a node (or comes from), and by which branch."""
        for branch in self._circuit.at.get(node, ()):
            if branch.branch_type.joined is Direction.NEVER or not self.conducts(branch):
                continue
            if branch.branch_type.joined is Direction.BOTH or (branch.a == node) is forward:
                yield branch.other_end(node), branch


def _entered(step: tuple[Branch, str], _: str) -> str:
    """The node at which a branch is entered."""
    return step[1]
