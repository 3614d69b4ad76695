"""What stays one piece of copper while fuses are out: a short to ground in it is one fault, and one wherever it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from ....lang.circuit.circuit import Circuit
    from ....lang.circuit.ids import End


def copper(circuit: Circuit) -> DisjointSet[End]:
    """Terminals by the wires, ways and mounts of a circuit: what its fuses, or lamps in their place, join is apart."""
    together = DisjointSet(end for branch in circuit.branches for end in (branch.a, branch.b))
    for branch in circuit.branches:
        if branch.branch_type.conductor:
            together.merge(branch.a, branch.b)
    return together
