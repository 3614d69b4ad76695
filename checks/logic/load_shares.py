"""When an element is dead, alive or works, by the volts across it and the amps through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Law, Way
from ...lang.model.parts import Element
from ..dc.devices import rated
from ..tables.device_constants import shares

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit

GRAPH_LAWS = {
    Law.COIL: "coil",
    Law.SUPPLY: "unit supply",
    Law.LAMP: "lamp",
    Law.LED: "led",
    Law.IGNITION: "ignition",
    Law.MOTOR: "motor",
    Law.SOLENOID: "solenoid",
    Law.PUMP: "pump",
    Law.HORN: "horn",
    Law.HEATER: "heater",
    Law.ELECTRONICS: "electronics",
}
"""The row of the table of shares that holds for a law."""


SERIES_LAWS = (Law.FIELD, Law.RESISTOR, Law.SENSOR)
"""What is made to stand in series with others: no load by itself."""


def dead_amps(branch: Branch, circuit: Circuit) -> float | None:
    """The current in A below which an element is dead; ``None`` where a rating is missing."""
    kind = GRAPH_LAWS.get(branch.law)
    law = rated(branch, circuit)
    if kind is None or law.missing:
        return None
    share = shares()[kind]
    if share.of == "rated amps":
        return None if law.amps is None else share.dead * law.amps
    volts = share.dead * branch.made_for(circuit.harness.volts)
    if law.ohms:
        return volts / law.ohms
    return law.curve.amps(volts) if law.curve else None


def has_share(branch: Branch) -> bool:
    """Whether an element is of a kind that is dead below some share of its volts or amps."""
    return branch.law in GRAPH_LAWS


def is_alive(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` is above its dead share."""
    kind = GRAPH_LAWS.get(branch.law)
    if kind is None:
        return False
    share = shares()[kind]
    if branch.law.wide is Way.BOTH:
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
    kind = GRAPH_LAWS.get(branch.law)
    most = rated(branch, circuit).amps
    return kind is not None and most is not None and abs(amps) >= shares()[kind].works * most


def needed_volts(branch: Branch, circuit: Circuit) -> float | None:
    """The volts that an element needs to work: its own ``needs``, else its kind's share of nominal volts."""
    if isinstance(branch.item, Element) and branch.item.needs is not None:
        return branch.item.needs
    kind = GRAPH_LAWS.get(branch.law)
    share = shares()[kind] if kind else None
    return None if share is None or share.of == "rated amps" else share.works * branch.made_for(circuit.harness.volts)
