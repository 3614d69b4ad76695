"""The leads of parts: what a terminal was wired to in the old harness, and what still is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.search.walks import reachable

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.parts import Part


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
    copper = steps_over(circuit, lambda branch: branch.branch_type.conductor)

    def owner(there: End) -> Part | None:
        return parts.get(there.part)

    def step(here: End) -> Iterable[tuple[End, Branch]]:
        return copper(here) if here == node or isinstance(owner(here), Splice | Connector) else []

    return tuple(
        there
        for there in reachable([node], step)
        if (part := owner(there)) is not None
        and not isinstance(part, Splice | Connector)
        and (part.name != start or isinstance(part, Ground))
        and there != node
    )
