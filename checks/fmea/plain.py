"""One fault solved from the start, relays and machines as they were. Slow, and the measure of the fast way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..dc.control_units import held_latches, set_latches

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
    memory, network = point.memory if start is None else start, point.flow.network
    held = held_latches(network, point.flow, point.positions, point.memory)
    free = set_latches(network.circuit, point.positions) - held  # set before the damage, and not held against it
    positions = {name: position for name, position in point.positions.items() if name not in free}
    return hurt.at(positions, memory, state=point.state, pinned=point.pinned)
