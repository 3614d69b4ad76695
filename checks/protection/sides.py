"""The two sides of a circuit: what the poles of its sources reach, contacts closed in any position.

A conductor is on the *feed side* where a feed pole reaches it through contacts in any position but through no consumer,
on the *return side* where only a return pole does. Nothing here depends on which pole of the sources is grounded.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Literal

from ...lang.circuit.branch import Branch, Supply
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.graphs import always_joins
from ...lang.circuit.ids import End
from ...lang.search.disjoint_set import DisjointSet
from ...lang.search.walks import reachable

_NEVER_OPEN = frozenset(
    {BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.LINK, BranchType.FUSE, BranchType.METER}
)

Side = Literal["feed", "return", "between"]


class Sides:
    """The sides of one circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit

    @cached_property
    def sources(self) -> tuple[Supply, ...]:
        """Every source of direct current."""
        return tuple(s for s in self.circuit.supplies if s.kind != "winding")

    def feed_pole(self, supply: Supply) -> End:
        """The pole that the system does not ground."""
        return supply.plus[0] if self.circuit.return_sign == "-" else supply.minus

    def return_pole(self, supply: Supply) -> End:
        """The pole that the system grounds."""
        return supply.minus if self.circuit.return_sign == "-" else supply.plus[0]

    @cached_property
    def _net(self) -> dict[End, End]:
        """The end that stands for each set of ends joined by what cannot open."""
        merged: DisjointSet[End] = DisjointSet()
        for supply in self.sources:
            merged.leader(self.feed_pole(supply))
            merged.leader(self.return_pole(supply))
        for branch in self.circuit.branches:
            a, b = merged.leader(branch.a), merged.leader(branch.b)
            if branch.branch_type in _NEVER_OPEN:
                merged.merge(a, b)
        return {node: merged.leader(node) for node in tuple(merged.leaders)}

    @cached_property
    def past_no_device(self) -> tuple[Mapping[str, str], tuple[Branch, ...]]:
        """What joins nodes both ways past no fuse: a name for each set of nodes whose joins never open, by node, and
        the branches that may be open.
        """
        merged: DisjointSet[str] = DisjointSet()
        at_times = []
        for branch in self.circuit.branches:
            if branch.branch_type is BranchType.FUSE or branch.branch_type.joined is not Direction.BOTH:
                continue
            if always_joins(branch):
                merged.merge(branch.a, branch.b)
            else:
                at_times.append(branch)
        return {node: merged.leader(node) for node in tuple(merged.leaders)}, tuple(at_times)

    def same_net(self, a: End, b: End) -> bool:
        """Whether two nodes are joined by what cannot open."""
        return self._net.get(a, a) == self._net.get(b, b)

    @cached_property
    def shorted(self) -> bool:
        """Whether copper alone joins the two poles of one source: then nothing else can be said of protection."""
        return any(self._net[self.feed_pole(s)] == self._net[self.return_pole(s)] for s in self.sources)

    @cached_property
    def returns(self) -> frozenset[End]:
        """The nodes connected to a return pole by what cannot open.

        Of batteries in series only the end of the row is a return: what joins two of them is a feed.
        """
        feeds = {self._net[self.feed_pole(s)] for s in self.sources if s.kind == "battery"}
        nets = {self._net[self.return_pole(s)] for s in self.sources} - feeds
        return frozenset(node for node, net in self._net.items() if net in nets)

    def feed_end(self, load: Branch) -> End:
        """The end of a load where its feed belongs: the first, or the second where only the first is grounded."""
        return load.b if load.a in self.returns and load.b not in self.returns else load.a

    @cached_property
    def feeds(self) -> frozenset[End]:
        """The nodes that a feed pole reaches, contacts closed in any position, consumers and returns left out."""
        poles = [self.feed_pole(s) for s in self.sources]
        poles += [tap for s in self.sources for tap in s.plus[1:] if self.circuit.return_sign == "-"]
        return frozenset(self.reached([p for p in poles if p not in self.returns], outward=True, shut=self.returns))

    @cached_property
    def can_short(self) -> bool:
        """Whether contacts, closed all at once, join a feed pole to a return pole past no consumer."""
        return self.shorted or any(
            near in self.feeds and far in self.returns
            for branch in self.circuit.branches
            for near, far in self.ways(branch)
        )

    @cached_property
    def returned(self) -> frozenset[End]:
        """The nodes from which a return pole can be reached, contacts closed in any position, consumers left out."""
        return frozenset(self.reached(self.returns, outward=False, shut=frozenset()))

    def reached(
        self, start: Iterable[End], *, outward: bool, shut: frozenset[End], to: End | None = None
    ) -> dict[End, Branch | None]:
        """Every node that current gets to (``outward`` from the feed, else from the return), and by which branch; no
        more than it takes to find ``to``, where that is given.
        """

        def step(node: End) -> Iterator[tuple[End, Branch]]:
            return ((far, branch) for far, branch in self.steps(node, outward=outward) if far not in shut)

        return reachable(sorted(start), step, until=() if to is None else (to,))

    def steps(self, node: str, *, outward: bool) -> Iterator[tuple[End, Branch]]:
        """Where a fault current gets from a node at once, away from the feed (``outward``) or back towards it."""
        for branch in self.circuit.at.get(node, ()):
            for near, far in self.ways(branch):
                if (near if outward else far) == node:
                    yield (far if outward else near), branch

    def ways(self, branch: Branch) -> tuple[tuple[End, End], ...]:
        """The directions in which a branch lets a fault current away from the feed, as (near the feed, beyond)."""
        if branch.branch_type.joined is Direction.NEVER:
            return ()
        if branch.branch_type.joined is Direction.BOTH:
            return ((branch.a, branch.b), (branch.b, branch.a))
        return ((branch.a, branch.b),) if self.circuit.return_sign == "-" else ((branch.b, branch.a),)

    def can_be_reversed(self, branch: Branch) -> bool:
        """Whether a feed pole can reach the far end of a consumer, and a return pole its near one."""
        near, far = (branch.a, branch.b) if self.circuit.return_sign == "-" else (branch.b, branch.a)
        return far in self.feeds and near in self.returned

    def side(self, branch: Branch) -> Side:
        """On which side of the consumers a conductor is; what both poles can reach counts as feed."""
        ends = {branch.a, branch.b}
        if ends & self.returns:
            return "return"
        if ends & self.feeds:
            return "feed"
        return "return" if ends & self.returned else "between"
