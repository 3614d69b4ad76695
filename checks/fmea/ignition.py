"""Ignition in one state, sound or after a fault: which parts a kill wire stops, and which elements give no spark since
nothing interrupts their current any more.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End, owner_of
from ...lang.model.parts import Load, Unit
from ..dc.solved import is_stopped
from .failure_modes import Damage
from .faulted_circuit import FaultedCircuit

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..dc.solved import Solved
    from ..operation.operation import OperatingPoint
    from .faulted_circuit import SoundWays


def sparkless(damage: Damage) -> frozenset[str]:
    """The ignition parts whose own primary winding is open: they give no spark, as if their kill wire were grounded."""
    return frozenset(branch.part for branch in damage.opened if branch.branch_type is BranchType.PRIMARY)


class Ignition:
    """The ignition parts and elements of one solved state."""

    def __init__(self, point: OperatingPoint, ways: SoundWays) -> None:
        self.point, self._ways = point, ways

    def stopped(self, solved: Solved) -> frozenset[str]:
        """The ignition parts whose kill wire is connected to their own return, in the directions that it takes."""
        return frozenset(
            name
            for name, lead, back in self.stop_leads
            if is_stopped(solved, self.point.circuit.harness.parts[name], lead, back)
        )

    @cached_property
    def stop_leads(self) -> tuple[tuple[str, str, str], ...]:
        """The name, kill wire and own return of every ignition part that has one."""
        return tuple(
            (part.name, End(part.name, part.stop_lead[0]), End(part.name, part.stop_lead[1]))
            for part in self.point.circuit.harness.parts.values()
            if isinstance(part, Load | Unit) and part.stop_lead and part.name not in self.point.circuit.removed
        )

    def unbroken(self, faulted_circuit: FaultedCircuit) -> frozenset[str]:
        """The elements that a source now drives past the crank switch or the output of an ignition unit that
        interrupted them: a coil gives no spark so.

        Only what is shorted to ground leads past it.
        """
        if not faulted_circuit.grounded:
            return frozenset()
        return frozenset(b.key for b in self._interrupted if self._driven(b, faulted_circuit, self._interrupters))

    @cached_property
    def _interrupted(self) -> tuple[Branch, ...]:
        """The ignition elements that a source drives through a crank switch, or an ignition unit's output, alone."""
        sound = FaultedCircuit(self._ways, self.point.flow.situation, Damage())
        return tuple(
            branch
            for branch in (self.point.circuit.branches if self._interrupters else ())
            if branch.branch_type is BranchType.IGNITION
            and self._driven(branch, sound, frozenset())
            and not self._driven(branch, sound, self._interrupters)
        )

    @cached_property
    def _interrupters(self) -> frozenset[str]:
        """The keys of what opens and closes as the engine turns: contacts, and the outputs of ignition units."""
        situation = self.point.flow.situation
        if not situation.turning:
            return frozenset()
        parts = self.point.circuit.harness.parts
        units = {part.name for part in parts.values() if isinstance(part, Unit) and part.is_ignition}
        outputs = (key for _, key in self.point.flow.network.topology.guards.outputs if owner_of(key) in units)
        return situation.pulsing.union(outputs)

    def _driven(self, branch: Branch, faulted_circuit: FaultedCircuit, without: frozenset[str]) -> bool:
        """Whether an element is connected to one source at both ends while these contacts are open."""
        conducting = faulted_circuit.situation.conducting - without
        return any(
            any(faulted_circuit.leads(plus, (enter,), conducting) for plus in supply.plus)
            and faulted_circuit.leads(leave, (supply.minus,), conducting)
            for supply in self.point.connectivity.sources
            for enter, leave in ((branch.a, branch.b), (branch.b, branch.a))
        )
