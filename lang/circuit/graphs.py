"""The three graphs of one circuit: conductors, nets with switched edges between them, and the wide one.

*Conductors*: every terminal a vertex, everything that can join an edge; for protection, distance and numbers. *Nets*:
terminals joined by what cannot open, with switched and one-way edges between them; for logic. *Wide*: nets, and
consumers as edges too; for paths through loads. Plain adjacency is made here; ``networkx_graph`` is for those who want
a graph library's algorithms, and pays for its import only then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..records import dataclass
from ..search.disjoint_set import DisjointSet
from .branch_types import Direction

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from .branch import Branch
    from .ids import End

Net = int
"""The number of a net, counted from 0 in the order of the circuit."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A branch between two nets; current from ``a`` to ``b`` is forward, back too where ``both``."""

    branch: Branch
    a: Net
    b: Net
    both: bool


@dataclass(frozen=True, slots=True)
class Nets:
    """Terminals by what cannot open between them.

    ``of`` gives the net of every terminal of the harness, wired or not; ``nodes`` the terminals of each net, in order;
    ``switched`` the edges that may open or let current one way only, both ends in different nets; ``consumers`` the
    edges of the wide graph besides.
    """

    of: dict[str, Net]
    nodes: tuple[tuple[End, ...], ...]
    switched: tuple[Edge, ...]
    consumers: tuple[Edge, ...]


def always_joins(branch: Branch) -> bool:
    """Whether it joins its two terminals in every combination: no guard, both ways, and a joint to be relied on."""
    return branch.branch_type.joined is Direction.BOTH and branch.guard is None and branch.reliable


def nets(terminals: Iterable[End], branches: Sequence[Branch]) -> Nets:
    """The nets of some terminals, by the branches between them, and the edges between those."""
    merged = DisjointSet(terminals)
    for branch in branches:
        if always_joins(branch):
            merged.merge(branch.a, branch.b)
    number: dict[End, Net] = {}
    of: dict[str, Net] = {}
    members: list[list[End]] = []
    for node in tuple(merged.leaders):
        root = merged.leader(node)
        if root not in number:
            number[root] = len(members)
            members.append([])
        of[node] = number[root]
        members[number[root]].append(node)
    switched: list[Edge] = []
    consumers: list[Edge] = []
    for branch in branches:
        a_net, b_net = of[branch.a], of[branch.b]
        if a_net == b_net or branch.branch_type.as_load is Direction.NEVER:
            continue
        edge = Edge(branch, a_net, b_net, branch.branch_type.as_load is Direction.BOTH)
        (switched if branch.branch_type.joined is not Direction.NEVER else consumers).append(edge)
    return Nets(of, tuple(tuple(nodes) for nodes in members), tuple(switched), tuple(consumers))
