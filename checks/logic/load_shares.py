"""When an element is dead, alive or works, by the volts across it and the amps through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.model.parts import Element
from ..dc.devices import rated
from ..tables.device_constants import shares

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit


def dead_amps(branch: Branch, circuit: Circuit) -> float | None:
    """The current in A below which an element is dead; ``None`` where a rating is missing."""
    kind = branch.branch_type.share_row
    model = rated(branch, circuit)
    if not kind or model.missing:
        return None
    share = shares()[kind]
    if share.of == "rated amps":
        return None if model.amps is None else share.dead * model.amps
    volts = share.dead * branch.made_for(circuit.harness.volts)
    if model.ohms:
        return volts / model.ohms
    return model.curve.amps(volts) if model.curve else None


def has_share(branch: Branch) -> bool:
    """Whether an element is of a kind that is dead below some share of its volts or amps."""
    return bool(branch.branch_type.share_row)


def is_alive(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` is above its dead share."""
    kind = branch.branch_type.share_row
    if not kind:
        return False
    share = shares()[kind]
    if branch.branch_type.as_load is Direction.BOTH:
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
    kind = branch.branch_type.share_row
    most = rated(branch, circuit).amps
    return bool(kind) and most is not None and abs(amps) >= shares()[kind].works * most


def needed_volts(branch: Branch, circuit: Circuit) -> float | None:
    """The volts that an element needs to work: its own ``needs``, else its kind's share of nominal volts."""
    if isinstance(branch.item, Element) and branch.item.needs is not None:
        return branch.item.needs
    kind = branch.branch_type.share_row
    share = shares()[kind] if kind else None
    return None if share is None or share.of == "rated amps" else share.works * branch.made_for(circuit.harness.volts)
