"""What flows before a control is pressed, or after it is released: what keeps wires warm meanwhile."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..dc.devices import UnsolvableError

if TYPE_CHECKING:
    from .operation import OperatingPoint, Operation


def released(operation: Operation, point: OperatingPoint) -> OperatingPoint | None:
    """The same combination with every momentary control at rest, the starter off and nothing on that only holds
    briefly; ``None`` where that has no solution or is a dead short. What remembers stands as it did.
    """
    controls = operation.circuit.controls
    positions = {
        name: controls[name].rest if name in controls and controls[name].momentary else at
        for name, at in point.positions.items()
    }
    if point.engine == "cranking":
        positions["engine"] = "off"
    memory = replace(point.memory, on=point.memory.on - point.memory.lasting, lasting=frozenset())
    pinned = frozenset(name for name in point.pinned if positions[name] == point.positions[name])
    try:
        found = operation.at(positions, memory, pinned=pinned)
    except UnsolvableError:
        return None
    return None if found.shorted else found


def heating_before(operation: Operation, point: OperatingPoint, key: str) -> float | None:
    """The A that keep a branch warm before the momentary controls of a point are pressed; ``None``: not known."""
    before = released(operation, point)
    return None if before is None else before.heating_amps(key)
