"""One fault solved from the start, relays and machines as they were. Slow, and the measure of the fast way."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..dc.operating import Operation, Point
    from .modes import Damage


def struck(operation: Operation, point: Point, damage: Damage) -> Point:
    """The operating point after a damage: relays and machines start as they were.

    Raises ``UnsolvableError`` where the harness comes to no rest with it.
    """
    hurt = operation.damaged(damage.keys, damage.grounded)
    return hurt.at(point.positions, point.memory, state=point.state, pinned=point.pinned)
