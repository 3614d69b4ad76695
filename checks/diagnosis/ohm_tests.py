"""What a meter says of a suspect with the battery out, and of which it says nothing: what a transistor switches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Literal, assert_never

from ...lang.circuit.branch import InPosition, Pulled
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End, owner_of
from ...lang.circuit.paths import steps_over
from ...lang.diagnostics.messages import plainly_listed
from ...lang.model.conditions import asked_by
from ...lang.model.parts import Unit, UnitOutput
from ...lang.records import dataclass
from ...lang.search.walks import reachable
from ..fmea.failure_modes import Fault
from ..meter.own_ohms import own_ohms, winding_ohms
from ..tables.meter import meter_figures
from .probes import Lead, leads

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..operation.operation import OperatingPoint

Kind = Literal["continuity", "resistance", "diode", "none"]
"""What a meter judges it by: next to no ohms end to end, its own ohms, its diode range, or nothing."""


@dataclass(frozen=True, slots=True)
class Ohms:
    """A suspect measured from end to end with the battery out. ``bypassed``: something else joins its ends.

    ``least`` and ``most``: its own ohm, where that is the ``kind``; infinite where the text does not state it.
    ``held``: how a contact is held closed meanwhile. ``instead``: what to do where the ``kind`` is none.
    """

    fault: Fault
    red: Lead
    black: Lead
    bypassed: bool
    kind: Kind = "continuity"
    least: float = 0.0
    most: float = 0.0
    held: str = ""
    instead: str = ""

    @property
    def range(self) -> float:
        """ohm: the least range of a common meter, 2000 counts, that reads it even where it is some more."""
        most = self.most * meter_figures().coil_spread if math.isfinite(self.most) else self.least
        setting = RANGE
        while setting <= most:
            setting *= 10.0
        return setting


RANGE = 200.0
"""ohm: the lowest range of a common meter."""


def ohms(point: OperatingPoint, faults: Sequence[Fault]) -> tuple[Ohms, ...]:
    """Each suspect from end to end, in the order given."""
    suspects = {fault.key for fault in faults}
    return tuple(_test(point, fault, point.circuit.by_key[fault.key], suspects) for fault in faults)


def _test(point: OperatingPoint, fault: Fault, branch: Branch, suspects: set[str]) -> Ohms:
    red, black = leads(point, branch, suspects)
    kind, least, most = _kind(point, branch)
    return Ohms(
        fault,
        red,
        black,
        _bypassed(point, branch.key),
        kind,
        least,
        most,
        _held(point, branch),
        _instead(point, branch) if kind == "none" else "",
    )


def _kind(point: OperatingPoint, branch: Branch) -> tuple[Kind, float, float]:
    """What a meter judges a branch by, and its own ohm at least and at most."""
    match branch.branch_type:
        case (
            BranchType.WIRE
            | BranchType.WAY
            | BranchType.MOUNT
            | BranchType.LINK
            | BranchType.FUSE
            | BranchType.CONTACT
            | BranchType.METER
        ):
            return "continuity", 0.0, 0.0
        case BranchType.DIODE | BranchType.LEG:
            return "diode", 0.0, math.inf
        case BranchType.WINDING | BranchType.PRIMARY:
            stated = winding_ohms(branch)
            return ("resistance", 0.0, math.inf) if stated is None else ("resistance", stated, stated)
        case (
            BranchType.RESISTOR
            | BranchType.COIL
            | BranchType.FIELD
            | BranchType.SENSOR
            | BranchType.LAMP
            | BranchType.MOTOR
            | BranchType.HORN
            | BranchType.SOLENOID
            | BranchType.PUMP
            | BranchType.HEATER
        ):
            return "resistance", *own_ohms(branch, point.circuit)
        case BranchType.IGNITION:
            least, most = own_ohms(branch, point.circuit)
            return ("none" if least > 0.0 and math.isinf(most) else "resistance"), least, most
        case (
            BranchType.OUTPUT
            | BranchType.PASS
            | BranchType.CUT_OUT
            | BranchType.FLASHER
            | BranchType.LED
            | BranchType.ELECTRONICS
            | BranchType.SUPPLY
            | BranchType.CAPACITOR
        ):
            return "none", 0.0, math.inf
        case _:
            assert_never(branch.branch_type)


def _held(point: OperatingPoint, branch: Branch) -> str:
    """How a contact is held closed that is open while nothing is powered and everything is at rest."""
    guard = branch.guard
    if isinstance(guard, Pulled):
        return f"with the coil of {guard.relay} alone fed through a small fuse" if guard.pulled else ""
    if not isinstance(guard, InPosition) or branch.branch_type is not BranchType.CONTACT:
        return ""
    control = point.circuit.controls[guard.control]
    if control.free:
        return "turned until it is closed"
    position = point.positions.get(control.name, control.rest)
    return f"with {control.name} {position}" if position != control.rest or control.key else ""


def _instead(point: OperatingPoint, branch: Branch) -> str:
    """What to do about what no ohms tell of."""
    owner = branch.part
    fed = f"measure the voltage of its supply and the drop of its ground, then try another {owner}"
    match branch.branch_type:
        case BranchType.OUTPUT if isinstance(branch.item, UnitOutput):
            asked = plainly_listed(
                tuple(dict.fromkeys(said for name in asked_by(branch.item.when) for said in _input(point, owner, name)))
            )
            first = f"see to what triggers it, {asked}, and " if asked else ""
            see = f"{first}to" if first else "see to"
            return (
                f"{owner} switches it by a transistor: {see} the supply and the ground of {owner}; try another "
                f"{owner} last"
            )
        case BranchType.PASS | BranchType.CUT_OUT:
            return f"it regulates: see to what {owner} senses and to its ground; try another {owner} last"
        case BranchType.FLASHER:
            return f"at rest it is open or closed by its kind: try another {owner}"
        case BranchType.LED:
            return "feed it alone from the battery, through a small fuse and the right way round"
        case BranchType.CAPACITOR:
            return f"try another {owner}"
        case BranchType.IGNITION:
            return (
                f"The file does not state its ohm, and with electronics inside they tell nothing: see to what feeds "
                f"{owner} and to its ground; try another {owner} last"
            )
        case _:
            return fed


def _input(point: OperatingPoint, unit: str, name: str) -> Iterator[str]:
    part = point.circuit.harness.parts[unit]
    for given in part.inputs if isinstance(part, Unit) else ():
        if given.name == name:
            node = End(unit, given.terminal)
            senders = point.flow.network.topology.senders.get(node, ())
            sensors = dict.fromkeys(owner_of(ways[0][1]) for ways in senders)
            yield f"{plainly_listed(tuple(sensors))} at {node}" if sensors else f"what is at {node}"


def _bypassed(point: OperatingPoint, key: str) -> bool:
    """Whether current of a meter finds another way from one end of a branch to the other, through loads too."""
    circuit = point.circuit
    branch = circuit.by_key[key]

    def passes(step: Branch) -> bool:
        current = step.branch_type.as_load is not Direction.NEVER or step.branch_type is BranchType.WINDING
        return current and step.key != key and point.connectivity.conducts(step)

    return branch.b in reachable([branch.a], steps_over(circuit, passes), until=(branch.b,))
