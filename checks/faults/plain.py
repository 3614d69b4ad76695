"""One fault solved from the start: the thing taken out, everything else warm. Slow, and the measure of the fast way."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..dc.operating import Operation, Point


def opened(operation: Operation, point: Point, key: str) -> Point:
    """The operating point after a branch has opened: relays and machines start as they were.

    Raises ``UnsolvableError`` where the harness comes to no rest without it.
    """
    return operation.without([key]).at(point.positions, point.memory, state=point.state)
