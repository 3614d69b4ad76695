"""Stators that were measured, in one solved state: where their leads are, and what a fault leaves of what they give."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.quantities.quantity import shown
from .effects import WEAKER, Category, Effect

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Supply
    from ..operation.operation import OperatingPoint
    from .propagation import After

LOST = 0.05
"""Of what a machine gives in a sound harness, what a fault must take away to be told (ours)."""

NOTHING = 0.02
"""A, below which a machine gives nothing (ours)."""


def measured(point: OperatingPoint) -> tuple[Supply, ...]:
    """The rectifiers that run on a stator that was measured."""
    flow = point.flow
    running = {machine.supply for machine in flow.situation.machines}
    return tuple(s for s in point.circuit.supplies if s.name in running and flow.network.is_measured(s, flow.situation))


def leads(point: OperatingPoint) -> frozenset[End]:
    """The terminals at which these have their phases."""
    return frozenset(phase for supply in measured(point) for phase in supply.phases)


def weaker(point: OperatingPoint, after: After) -> Iterator[Effect]:
    """The machines on measured stators that can give less than they could, with how much at their regulated volts."""
    left = {machine.supply: machine.lasting for machine in after.situation.machines}
    sound = {machine.supply: machine.lasting for machine in point.flow.situation.machines}
    for supply in measured(point):
        now = left.get(supply.name, 0.0)
        if now < (1.0 - LOST) * sound[supply.name]:
            severe = Category.MARGINAL if now < NOTHING else Category.MINOR
            yield Effect(supply.key, shown(sound[supply.name]), WEAKER, now if now >= NOTHING else 0.0, severe)
