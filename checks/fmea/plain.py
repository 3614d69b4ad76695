"""One fault solved from the start, relays and machines as they were. Slow, and the measure of the fast way."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..dc.memory import Memory
    from ..operation.operation import OperatingPoint, Operation
    from .failure_modes import Damage


def struck(operation: Operation, point: OperatingPoint, damage: Damage, start: Memory | None = None) -> OperatingPoint:
    """The operating point after a damage: relays and machines start as they were, or as ``start`` has them.

    Raises ``UnsolvableError`` where the harness does not settle with it.
    """
    resisting = tuple((branch.key, ohms) for branch, ohms in damage.resisting)
    hurt = operation.damaged(damage.keys, damage.grounded, resisting, damage.joined)
    memory = point.memory if start is None else start
    return hurt.at(point.positions, memory, state=point.state, pinned=point.pinned)
