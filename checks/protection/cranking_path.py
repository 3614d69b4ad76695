"""The way of the starter's current, from the battery to the motor and back."""

from __future__ import annotations

from functools import cached_property

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.search.blocks import between
from .sides import Sides

_CRANKING_LAWS = frozenset({BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.LINK, BranchType.CONTACT})


class CrankingPath:
    """The conductors and contacts of one circuit that a starter motor's current takes."""

    def __init__(self, sides: Sides) -> None:
        self.sides = sides

    @cached_property
    def feed(self) -> frozenset[str]:
        """Keys of the branches on a simple path of wires and contacts from a battery's feed pole to a starter motor."""
        return self._on_the_way([b for b in self._copper if b.a in self.sides.feeds and b.b in self.sides.feeds])

    @cached_property
    def returns(self) -> frozenset[str]:
        """Keys of the branches on a simple path from a starter motor back to a battery's return pole."""
        return self._on_the_way(
            [b for b in self._copper if b.a not in self.sides.feeds and b.b not in self.sides.feeds]
        )

    @property
    def _copper(self) -> list[Branch]:
        return [b for b in self.sides.circuit.branches if b.branch_type in _CRANKING_LAWS]

    def _on_the_way(self, branches: list[Branch]) -> frozenset[str]:
        """Keys of the branches on a simple path between a pole of a battery and a terminal of a starter motor."""
        edges = [(b.a, b.b) for b in branches]
        known = {node for edge in edges for node in edge}
        poles = {
            p
            for s in self.sides.sources
            if s.kind == "battery"
            for p in (self.sides.feed_pole(s), self.sides.return_pole(s))
        }
        terminals = {node for armature in self.armatures for node in (armature.a, armature.b)}
        return frozenset(
            branches[i].key
            for pole in sorted(poles & known)
            for terminal in sorted(terminals & known)
            for i in between(edges, pole, terminal)
        )

    @cached_property
    def armatures(self) -> tuple[Branch, ...]:
        """The motors of loads that are for starting."""
        parts = self.sides.circuit.harness.parts
        return tuple(
            b
            for b in self.sides.circuit.branches
            if b.branch_type is BranchType.MOTOR and parts[b.part].system == "starting"
        )
