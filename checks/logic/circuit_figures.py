"""Figures of a circuit that need no solution: what a consumer takes at most, the volts of each source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.model.parts import Rectifier, Regulator, Source
from ..dc.device_models import resistor
from ..dc.devices import battery_at_rest, default_regulated, rated, supply_draw

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ..dc.device_models import Curve


def curve_of(branch: Branch, circuit: Circuit, *, asleep: bool = False) -> Curve | None:
    """What a consumer takes at any volts; ``None`` where it takes nothing, or nobody knows (``unrated``)."""
    branch_type = (
        supply_draw(branch, circuit.harness, asleep=asleep)
        if branch.branch_type is BranchType.SUPPLY
        else rated(branch, circuit)
    )
    if branch_type.ohms:
        return resistor(branch_type.ohms)
    return branch_type.curve


def unrated(branch: Branch, circuit: Circuit) -> bool:
    """Whether the text leaves out what a consumer takes, and nothing usual stands for it."""
    branch_type = rated(branch, circuit)
    return bool(branch_type.missing) and branch_type.ohms is None and branch_type.curve is None


def amps_at_most(branch: Branch, circuit: Circuit) -> float | None:
    """What a consumer takes at the highest volts of its sources, in A; ``None`` where its rating is missing."""
    if unrated(branch, circuit):
        return None
    curve = curve_of(branch, circuit)
    return curve.amps(highest_volts(circuit)) if curve is not None else 0.0


def source_volts(supply: Supply, circuit: Circuit) -> float:
    """The V of one source: of a battery at rest, of a machine what it is regulated to."""
    harness = circuit.harness
    part = harness.parts[supply.name]
    if supply.kind == "battery":
        return battery_at_rest(part if isinstance(part, Source) else None, harness.volts)
    parts = harness.parts.values()
    written = [p.regulated for p in parts if isinstance(p, (Source, Rectifier, Regulator)) and p.regulated]
    return max(written, default=default_regulated(harness.volts))


def highest_volts(circuit: Circuit) -> float:
    """The highest V of the harness's own sources: of the battery at rest, and regulated where a machine is."""
    found = [source_volts(s, circuit) for s in circuit.supplies if s.kind != "winding"]
    return max(found, default=circuit.harness.volts)
