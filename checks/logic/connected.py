"""Which terminals are connected whatever the controls do, and which in some position: for rules that look at joins.

Nothing is worked out here about currents or combinations. What is connected is one group of terminals; groups are made
once for a circuit and asked by name of a terminal.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End
from ...lang.model.parts import Ground
from ...lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from collections.abc import Mapping


class Joined:
    """Terminals by what connects them."""

    def __init__(self, circuit: Circuit, pairs: Iterable[tuple[End, End]]) -> None:
        merged = DisjointSet(circuit.terminals)
        for a, b in pairs:
            merged.merge(a, b)
        self._leader = {node: merged.leader(node) for node in tuple(merged.leaders)}

    def of(self, node: End) -> End:
        """The terminal that stands for the whole group of ``node``."""
        return self._leader.get(node, node)

    def same(self, a: End, b: End) -> bool:
        return self.of(a) == self.of(b)

    @cached_property
    def members(self) -> Mapping[End, tuple[End, ...]]:
        """The terminals of each group, by the terminal that stands for it, in the order of the text."""
        found: dict[End, list[End]] = {}
        for node, leader in self._leader.items():
            found.setdefault(leader, []).append(node)
        return {leader: tuple(nodes) for leader, nodes in found.items()}

    def beside(self, node: End) -> tuple[End, ...]:
        """Every terminal of the group of ``node``, itself among them."""
        return self.members.get(self.of(node), (node,))


class Copper:
    """The joins of one circuit. A mount through paint or bearings counts: it is another rule's to distrust it."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        harness = circuit.harness
        self.bodies = tuple(End(part.name) for part in harness.parts.values() if isinstance(part, Ground))

    @cached_property
    def bare(self) -> Joined:
        """By wires, ways of plugs, mounts and links inside parts: what cannot open."""
        return Joined(self.circuit, self._pairs())

    @cached_property
    def fused(self) -> Joined:
        """The same through fuses and meters."""
        return Joined(self.circuit, self._pairs(BranchType.FUSE, BranchType.METER))

    @cached_property
    def switched(self) -> Joined:
        """The same through contacts, in whichever position closes them."""
        return Joined(self.circuit, self._pairs(BranchType.FUSE, BranchType.METER, BranchType.CONTACT))

    @cached_property
    def at_all(self) -> Joined:
        """By whatever current can pass, consumers and sources included."""
        through = [(b.a, b.b) for b in self.circuit.branches if b.branch_type.as_load is not Direction.NEVER]
        sources = [(plus, s.minus) for s in self.circuit.supplies if s.kind != "winding" for plus in s.plus]
        return Joined(self.circuit, (*through, *sources))

    def _pairs(self, *laws: BranchType) -> Iterable[tuple[End, End]]:
        return ((b.a, b.b) for b in self.circuit.branches if b.branch_type.conductor or b.branch_type in laws)

    def body_at(self, node: End) -> str:
        """The first body of ground that copper, fuses or meters connect to a terminal; empty without one."""
        return next((body for body in self.bodies if self.fused.same(body, node)), "")

    def wires_at(self, node: End) -> tuple[Branch, ...]:
        """The wires and mounts at one terminal."""
        return tuple(b for b in self.circuit.at.get(node, ()) if b.branch_type in (BranchType.WIRE, BranchType.MOUNT))

    def is_wired(self, nodes: Iterable[End]) -> bool:
        """Whether a wire or a mount comes to every one of these terminals."""
        return all(self.wires_at(node) for node in nodes)
