"""Faults of measured stators and their rectifiers: a diode open or shorted, two phases that touch."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from .failure_modes import DIODE_OPEN, DIODE_SHORT, PHASES, Damage, Fault
from .stators import measured

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import End
    from ..operation.operation import OperatingPoint
    from .faulted_state import FaultedState
    from .outcome import Outcome


def stator_faults(point: OperatingPoint) -> Iterator[tuple[Fault, Damage]]:
    """What can fail in these without anything in the harness opening or touching ground."""
    circuit = point.circuit
    for supply in measured(point):
        legs = (b for b in circuit.of_part[supply.part] if b.branch_type is BranchType.LEG)
        for leg in (b for b in legs if supply.plus[0] in (b.a, b.b) or supply.minus in (b.a, b.b)):
            yield Fault(leg.key, DIODE_OPEN), Damage((leg,))
            yield Fault(leg.key, DIODE_SHORT), Damage(joined=((leg.a, leg.b),))
        wires = [(phase, wire) for phase in supply.phases if (wire := _lead(point, phase)) is not None]
        for i, (one, wire) in enumerate(wires):
            for other, beside in wires[i + 1 :]:
                yield Fault(wire.key, PHASES, beside.key), Damage(joined=((one, other),))
    for branch in circuit.branches:
        if branch.branch_type is BranchType.DIODE and _rectifies(point, branch):
            yield Fault(branch.key, DIODE_SHORT), Damage(joined=((branch.a, branch.b),))


def outcomes(state: FaultedState) -> dict[Fault, Outcome]:
    """What each of these does in a state."""
    found = dict(stator_faults(state.point))
    solved = state.solved({str(fault): damage for fault, damage in found.items()})
    return {fault: replace(solved[str(fault)], fault=fault) for fault in found}


def _lead(point: OperatingPoint, phase: End) -> Branch | None:
    """The wire that ends at a phase of a rectifier."""
    return next((b for b in point.circuit.at.get(phase, ()) if b.segment is not None), None)


def _rectifies(point: OperatingPoint, diode: Branch) -> bool:
    """Whether a diode has a winding's alternating current on one side."""
    return point.connectivity.conducts(diode) and any(point.flow.alternates(end) for end in (diode.a, diode.b))
