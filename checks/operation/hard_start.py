"""Starting when it is hard: a battery at -18 degC, and the first moment, in which the starter is at a standstill.

Both are looked at beside a cranking state with a warm battery, and only where they could matter: what a bound shows to
have enough is not solved again. Current grows when a battery gets colder in no law, so each voltage falls by no more
than the current times the resistance that is added.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.circuit import Circuit
from ...lang.model.parts import Element, Source
from ...lang.records import dataclass
from ..dc.devices import USUAL_AMP_HOURS, UnsolvableError
from ..dc.relay_fixed_point import UnsettledError
from ..tables.batteries import battery_figure, usual_resistance
from .operation import Operation

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import BranchId
    from .operation import OperatingPoint


@dataclass(frozen=True, slots=True)
class HardStart:
    """One harness with its batteries cold and its starters at a standstill; memory is kept from the warm point."""

    warm: Operation
    cold: Operation
    first: Operation

    def most_lost(self, point: OperatingPoint) -> float:
        """V that anything can have less at most on a cold battery."""
        harness = point.circuit.harness
        return sum(
            abs(point.amps(supply.key)) * (battery_figure("cold_resistance").value - 1.0) * _ohms(part, harness.volts)
            for supply in point.circuit.supplies
            if supply.kind == "battery" and isinstance(part := harness.parts[supply.part], Source)
        )

    def on_cold(self, point: OperatingPoint) -> OperatingPoint | None:
        """The same combination on a cold battery; ``None`` where nothing settles there."""
        return _again(self.cold, point)

    def at_first(self, point: OperatingPoint) -> OperatingPoint | None:
        """The same in the first moment; ``None`` where nothing settles there."""
        return _again(self.first, point)

    def drop_out_at_first(self, point: OperatingPoint) -> frozenset[str]:
        """Relays that are in, and that the first moment makes drop out or chatter."""
        try:
            first = self.first.at(point.positions, point.memory, state=point.state, pinned=point.pinned)
        except UnsettledError as error:
            return frozenset(error.parts)
        except UnsolvableError:
            return frozenset()
        return point.memory.pulled - first.memory.pulled


def hard_start(operation: Operation, armatures: Iterable[Branch]) -> HardStart:
    """The two harder circuits of a harness with these starters, which are solved when they are asked."""
    stalled = frozenset(branch.key for branch in armatures)
    if (HardStart, stalled) not in operation.told:
        cold = Operation(_cold(operation.circuit), like=operation.network)
        operation.told[HardStart, stalled] = HardStart(operation, cold, _first(operation, stalled))
    found: HardStart = operation.told[HardStart, stalled]
    return found


def _again(operation: Operation, point: OperatingPoint) -> OperatingPoint | None:
    try:
        return operation.at(point.positions, point.memory, state=point.state, pinned=point.pinned)
    except UnsolvableError:
        return None


def _ohms(battery: Source, system: float) -> float:
    return battery.ohms if battery.ohms is not None else usual_resistance(battery.amp_hours or USUAL_AMP_HOURS, system)


def _cold(circuit: Circuit) -> Circuit:
    harness = circuit.harness
    times = battery_figure("cold_resistance").value
    parts = {
        name: replace(part, ohms=times * _ohms(part, harness.volts))
        if isinstance(part, Source) and part.what == "battery"
        else part
        for name, part in harness.parts.items()
    }
    cold = replace(harness, parts=parts)
    return Circuit(cold, circuit.branches, circuit.supplies, circuit.controls, circuit.removed)


def _first(operation: Operation, stalled: frozenset[BranchId]) -> Operation:
    circuit, times = operation.circuit, battery_figure("starter_inrush").value

    def at_first(branch: Branch) -> Branch:
        amps = operation.network.rated[branch.key].amps
        if branch.key not in stalled or not amps or not isinstance(branch.item, Element):
            return branch
        return replace(branch, item=replace(branch.item, amps=times * amps, watts=None, ohms=None))

    branches = tuple(at_first(branch) for branch in circuit.branches)
    return Operation(Circuit(circuit.harness, branches, circuit.supplies, circuit.controls, circuit.removed))
