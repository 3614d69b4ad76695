"""When an element is dead, alive or works, by the volts across it and the amps through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.model.parts import Element
from ..dc.devices import rated
from ..tables.device_constants import shares

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit

GRAPH_LAWS = {
    BranchType.COIL: "coil",
    BranchType.SUPPLY: "unit supply",
    BranchType.LAMP: "lamp",
    BranchType.LED: "led",
    BranchType.IGNITION: "ignition",
    BranchType.MOTOR: "motor",
    BranchType.SOLENOID: "solenoid",
    BranchType.PUMP: "pump",
    BranchType.HORN: "horn",
    BranchType.HEATER: "heater",
    BranchType.ELECTRONICS: "electronics",
}
"""The row of the table of shares that holds for a law."""


SERIES_LAWS = (BranchType.FIELD, BranchType.RESISTOR, BranchType.SENSOR)
"""What is made to stand in series with others: no load by itself."""


def dead_amps(branch: Branch, circuit: Circuit) -> float | None:
    """The current in A below which an element is dead; ``None`` where a rating is missing."""
    kind = GRAPH_LAWS.get(branch.branch_type)
    branch_type = rated(branch, circuit)
    if kind is None or branch_type.missing:
        return None
    share = shares()[kind]
    if share.of == "rated amps":
        return None if branch_type.amps is None else share.dead * branch_type.amps
    volts = share.dead * branch.made_for(circuit.harness.volts)
    if branch_type.ohms:
        return volts / branch_type.ohms
    return branch_type.curve.amps(volts) if branch_type.curve else None


def has_share(branch: Branch) -> bool:
    """Whether an element is of a kind that is dead below some share of its volts or amps."""
    return branch.branch_type in GRAPH_LAWS


def is_alive(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` is above its dead share."""
    kind = GRAPH_LAWS.get(branch.branch_type)
    if kind is None:
        return False
    share = shares()[kind]
    if branch.branch_type.wide is Direction.BOTH:
        volts, amps = abs(volts), abs(amps)
    if share.of == "rated amps":
        most = rated(branch, circuit).amps
        return most is not None and amps >= share.dead * most
    return volts >= share.dead * branch.made_for(circuit.harness.volts)


def works(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` has its working share."""
    needed = needed_volts(branch, circuit)
    if needed is not None:
        return abs(volts) >= needed
    kind = GRAPH_LAWS.get(branch.branch_type)
    most = rated(branch, circuit).amps
    return kind is not None and most is not None and abs(amps) >= shares()[kind].works * most


def needed_volts(branch: Branch, circuit: Circuit) -> float | None:
    """The volts that an element needs to work: its own ``needs``, else its kind's share of nominal volts."""
    if isinstance(branch.item, Element) and branch.item.needs is not None:
        return branch.item.needs
    kind = GRAPH_LAWS.get(branch.branch_type)
    share = shares()[kind] if kind else None
    return None if share is None or share.of == "rated amps" else share.works * branch.made_for(circuit.harness.volts)
