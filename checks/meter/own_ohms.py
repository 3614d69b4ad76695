"""What a meter shows across a part with its own resistance, at rest."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.model.parts import Coil, Element, Field, Resistor, Sensor, Winding
from ..tables.device_constants import lamp_rated_volts
from ..tables.meter import meter_figures

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit


def own_ohms(branch: Branch, circuit: Circuit) -> tuple[float, float]:
    """ohm of a load, a coil, a field, a sensor or a resistor at rest, at least and at most: of a filament while it is
    cold. From nothing to open where the text has no figure.
    """
    known = meter_figures()
    item, part = branch.item, circuit.harness.parts.get(branch.part)
    volts = branch.made_for(circuit.harness.volts)
    if isinstance(part, (Resistor, Sensor)):
        stated = part.ohms
    elif isinstance(item, Field):
        stated = item.ohms
    elif isinstance(item, (Coil, Element)):
        if branch.branch_type is BranchType.LAMP and item.watts:
            volts = lamp_rated_volts(item.watts, volts)
        stated = item.ohms or (volts / item.amps if item.amps else volts**2 / item.watts if item.watts else None)
    else:
        stated = None
    if stated is None:
        return 0.0, math.inf
    match branch.branch_type:
        case BranchType.LAMP:
            return known.cold_share * stated, known.cold_share * stated
        case BranchType.MOTOR | BranchType.PUMP | BranchType.HORN:
            return known.armature_least * stated, stated
        case BranchType.IGNITION if not (isinstance(item, Element) and item.ohms):
            return known.box_least, math.inf
        case _:
            return stated, stated


def winding_ohms(branch: Branch) -> float | None:
    """ohm of a winding or of a magneto's primary, where the text states it."""
    if isinstance(branch.item, Winding):
        return branch.item.measured.ohms
    return branch.item.ohms if isinstance(branch.item, Element) else None
