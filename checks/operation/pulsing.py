"""What outputs that pulse take above their mean: their peak counts for wires, their mean for the battery."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.model.parts import UnitOutput

if TYPE_CHECKING:
    from .operation import OperatingPoint


def above_mean(point: OperatingPoint) -> float:
    """A by which the loads take more while every pulsing output is on than they take on the average."""
    return sum(
        (1.0 - branch.item.pulsing) * abs(point.mean_amps(branch.key))
        for branch in point.circuit.branches
        if isinstance(branch.item, UnitOutput) and branch.item.pulsing is not None
    )
