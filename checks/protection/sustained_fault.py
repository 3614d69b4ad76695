"""What a fault in a conductor can draw continuously, and what limits it."""

from __future__ import annotations

import math

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import UnitOutput
from ...lang.records import dataclass

UNKNOWN = 1e6
"""Stands for the rating of a device that has none in the text, in A: below no limit at all, above every real one."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A device or a machine that limits a fault. ``amps`` is ``None`` where the text gives no rating."""

    name: str
    amps: float | None
    machine: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SustainedFault:
    """What a fault in a conductor can draw continuously.

    ``amps`` is infinite where no device is between it and a battery; ``limits`` are the devices of the minimum cut,
    empty then. ``at`` is the end at which that current comes in. ``known`` is false where a rating in the cut is
    missing: ``amps`` then says nothing.
    """

    conductor: Branch
    amps: float
    at: End
    limits: tuple[Limit, ...]

    @property
    def protected(self) -> bool:
        return not math.isinf(self.amps)

    @property
    def known(self) -> bool:
        return all(limit.amps is not None for limit in self.limits)

    @property
    def devices(self) -> tuple[str, ...]:
        """The parts that limit it, machines left out, as the user names them."""
        return tuple(limit.name for limit in self.limits if not limit.machine)


def is_device(branch: Branch) -> bool:
    """Whether a branch protects what lies behind it: a fuse or a breaker, or a unit's output that trips or limits."""
    return branch.branch_type is BranchType.FUSE or (
        isinstance(branch.item, UnitOutput) and branch.item.passes_at_most is not None
    )
