"""What is joined to a source at one operating point, and where on the way its volts are lost."""

from __future__ import annotations

from collections import deque
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import End

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net
    from .flow import Flow

"""What is made to stand in series with other things."""


def always(branch: Branch) -> bool:
    """Whether nothing opens it: no guard, and a joint to be relied on."""
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
    steps = circuit.steps
    goal = set(ends)
    came: dict[str, tuple[str, str] | None] = dict.fromkeys(starts)
    first = len(came)
    queue = deque(came)
    met = 0
    while queue:
        node = queue.popleft()
        met += 1
        if node in goal:
            path = []
            while (step := came[node]) is not None:
                path.append(step[0])
                node = step[1]
            return tuple(path)
        if node in walls and met > first:
            continue
        for key, other, may_open in steps.get(node, ()):
            if other not in came and (not may_open or key in conducting) and key not in gone:
                came[other] = (key, node)
                queue.append(other)
    return None


class Connectivity:
    """The joined paths of one solved situation."""

    def __init__(self, flow: Flow) -> None:
        self._flow = flow
        self._nets = flow.network.circuit.nets
        self._near: dict[tuple[bool, bool], dict[Net, list[Net]]] = {}

    def conducts(self, branch: Branch) -> bool:
        return always(branch) or branch.key in self._flow.situation.conducting

    @cached_property
    def sources(self) -> tuple[Supply, ...]:
        """The sources that give current here."""
        running = {m.supply for m in self._flow.situation.machines}
        supplies = self._flow.network.circuit.supplies
        return tuple(s for s in supplies if s.kind == "battery" or s.name in running)

    def fed(self, node: str) -> bool:
        """Whether a terminal is joined to the feed pole of a source: the one that the system does not ground."""
        net = self._nets.of.get(node)
        feed_is_plus = self._flow.network.circuit.return_sign == "-"
        for supply in self.sources:
            minus, pluses = self._nets.of[supply.minus], tuple(self._nets.of[p] for p in supply.plus)
            if not feed_is_plus and net in self._reached(minus, pluses, forward=False, series=False):
                return True
            if feed_is_plus and any(net in self._reached(p, (minus,), forward=True, series=False) for p in pluses):
                return True
        return False

    def reaches_pole(self, node: str) -> bool:
        """Whether a terminal is joined to either pole of a source."""
        net = self._nets.of.get(node)
        for supply in self.sources:
            minus, pluses = self._nets.of[supply.minus], tuple(self._nets.of[p] for p in supply.plus)
            if net in self._reached(minus, pluses, forward=False, series=False):
                return True
            if any(net in self._reached(p, (minus,), forward=True, series=False) for p in pluses):
                return True
        return False

    def joined(self, key: str, *, series: bool = False) -> bool:
        """Whether an element is joined to a source; ``series``: through resistors, fields and sensors too."""
        branch = self._flow.network.circuit.by_key[key]
        return any(True for _ in self._senses(branch, series))

    @cached_property
    def shorted(self) -> bool:
        """Whether a source's + is joined to its own -."""
        of = self._nets.of
        return any(
            of[supply.minus] in self._reached(of[plus], (of[supply.minus],), forward=True, series=False)
            for supply in self.sources
            for plus in supply.plus
        )

    def _senses(self, branch: Branch, series: bool) -> Iterator[tuple[Supply, str, str, str]]:
        """The sources that an element is joined to: source, its + node, and where current enters and leaves."""
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
            met = {start}
            stack = [start]
            while stack:
                net = stack.pop()
                if net in walls and net != start:
                    continue
                for other in near.get(net, ()):
                    if other not in met:
                        met.add(other)
                        stack.append(other)
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
        circuit = self._flow.network.circuit
        met = set(starts)
        stack = list(met)
        while stack:
            node = stack.pop()
            for branch in circuit.at.get(node, ()):
                if (
                    branch.branch_type.joined is Direction.NEVER
                    or (without and branch.part == without)
                    or not self.conducts(branch)
                ):
                    continue
                other = branch.b if branch.a == node else branch.a
                if other not in met and (branch.branch_type.joined is Direction.BOTH or (branch.a == node) is forward):
                    met.add(other)
                    stack.append(other)
        return frozenset(met)

    def between(self, starts: Iterable[str], ends: Iterable[str]) -> tuple[str, ...]:
        """The keys of the branches on the shortest way of current from one of some terminals to one of others."""
        return way(self._flow.network.circuit, starts, ends, self._flow.situation.conducting) or ()

    # --- the way of the current --------------------------------------------------------------------------------------
    def losses(self, key: str) -> tuple[tuple[Branch, float], ...]:
        """The branches between an element and its source, there and back, each with the volts lost in it, in order.

        The battery's way where there is one, since the battery's volts are what a load is measured against; empty where
        the element is not joined.
        """
        branch = self._flow.network.circuit.by_key[key]
        for supply, plus, enter, leave in self._senses(branch, series=False):
            to = self._way_from(plus, enter, supply.minus)
            back = self._way_to(leave, supply.minus, plus)
            if to is not None and back is not None:
                return tuple((b, self._drop(b, node)) for b, node in (*to, *back))
        return ()

    def _drop(self, branch: Branch, node: str) -> float:
        other = branch.b if branch.a == node else branch.a
        return self._flow.at(node) - self._flow.at(other)

    def _way_from(self, start: str, end: str, wall: str) -> list[tuple[Branch, str]] | None:
        """The shortest way of current between two nodes: each branch with the node at which it is entered.

        Many ends are asked about of one start: all ways from it are found at once.
        """
        came = self._ways.get((start, wall))
        if came is None:
            came = self._ways[start, wall] = {start: None}
            queue = deque([start])
            while queue:
                node = queue.popleft()
                if node == wall:
                    continue
                for branch, other in self._onward(node):
                    if other not in came:
                        came[other] = (branch, node)
                        queue.append(other)
        return _followed(came, end) if end in came else None

    def _way_to(self, start: str, end: str, wall: str) -> list[tuple[Branch, str]] | None:
        """The same where many starts are asked about of one end: only what comes nearer to it is followed."""
        left = self._left.get((end, wall))
        if left is None:
            left = self._left[end, wall] = {end: 0}
            queue = deque([end])
            while queue:
                node = queue.popleft()
                for _, other in self._onward(node, forward=False):
                    if other not in left and other != wall:
                        left[other] = left[node] + 1
                        queue.append(other)
        if start not in left:
            return None
        came: dict[str, tuple[Branch, str] | None] = {start: None}
        queue = deque([start])
        while queue:
            node = queue.popleft()
            if node == end:
                break
            key = (end, wall, node)
            if key not in self._nearer:
                self._nearer[key] = [step for step in self._onward(node) if left.get(step[1]) == left[node] - 1]
            for branch, other in self._nearer[key]:
                if other not in came:
                    came[other] = (branch, node)
                    queue.append(other)
        return _followed(came, end)

    @cached_property
    def _ways(self) -> dict[tuple[str, str], dict[str, tuple[Branch, str] | None]]:
        """For each start and wall, the branch by which each node is first come to, and from where."""
        return {}

    @cached_property
    def _left(self) -> dict[tuple[str, str], dict[str, int]]:
        """For each end and wall, how many branches there are from each node to the end."""
        return {}

    @cached_property
    def _nearer(self) -> dict[tuple[str, str, str], list[tuple[Branch, str]]]:
        """For each end, wall and node, the steps that come nearer to the end."""
        return {}

    def _onward(self, node: str, *, forward: bool = True) -> Iterator[tuple[Branch, str]]:
        """The branches by which current goes from a node (or comes to it), and where to (or from)."""
        for branch in self._flow.network.circuit.at.get(node, ()):
            if branch.branch_type.joined is Direction.NEVER or not self.conducts(branch):
                continue
            if branch.branch_type.joined is Direction.BOTH or (branch.a == node) is forward:
                yield branch, branch.b if branch.a == node else branch.a


def _followed(came: Mapping[str, tuple[Branch, str] | None], end: str) -> list[tuple[Branch, str]]:
    """The way to an end out of how each node was come to."""
    path = []
    step = came[end]
    while step is not None:
        path.append(step)
        step = came[step[1]]
    return path[::-1]
