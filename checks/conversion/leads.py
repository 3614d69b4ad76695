"""The leads of parts: what a terminal was wired to in the old harness, and what still is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import Connector, Ground, Splice

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit


def wires_at(circuit: Circuit, node: End) -> tuple[str, ...]:
    """The wires and mounts at a terminal, by name, in the order of the text."""
    here = circuit.at.get(node, ())
    found = [
        b.segment.wire if b.segment else b.key for b in here if b.branch_type in (BranchType.WIRE, BranchType.MOUNT)
    ]
    return tuple(dict.fromkeys(found))


def led_to(circuit: Circuit, node: End) -> tuple[End, ...]:
    """The terminals of parts and the grounds that a terminal is wired to, past splices and plugs, nearest first."""
    parts = circuit.harness.parts
    start = node.part
    seen = {node}
    queue = [node]
    found: list[End] = []
    for here in queue:
        for branch in circuit.at.get(here, ()):
            if not branch.branch_type.conductor:
                continue
            other = branch.b if branch.a == here else branch.a
            if other in seen:
                continue
            seen.add(other)
            owner = other.part
            part = parts.get(owner)
            if isinstance(part, Splice | Connector):
                queue.append(other)
            elif part is not None and (owner != start or isinstance(part, Ground)):
                found.append(other)
    return tuple(found)
