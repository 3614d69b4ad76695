"""Which lamp is on which alternating winding, by joins and watts alone; voltages are not worked out."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations
from typing import TYPE_CHECKING, Final

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import Element, Winding
from ...lang.records import dataclass
from ..ac.coils import impedance
from .lamp_roles import watts_of

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ..logic.connected import Copper

TOO_MUCH: Final = 1.5
"""A lamp may take this many times the watts of its winding before it is stated (ours)."""


EXCITER_LEAST: Final = 60.0
"""V with nothing on it, from which a winding is an exciter's; those for lamps have less (ours)."""


@dataclass(frozen=True, slots=True)
class LampOnWinding:
    """A lamp that contacts in some position connect to both ends of a winding; W it takes, and the winding gives."""

    lamp: Branch
    winding: Branch
    watts: float
    gives: float


def too_large(copper: Copper) -> Iterator[LampOnWinding]:
    """Lamps that take more than ``TOO_MUCH`` times what the largest winding gives that they are on."""
    windings = _windings(copper.circuit)
    for lamp in copper.circuit.branches if windings else ():
        watts = watts_of(lamp, copper.circuit.harness.volts) if lamp.branch_type is BranchType.LAMP else None
        if watts is None or _on_battery(copper, lamp):
            continue
        on = [winding for winding in windings if _across(copper, lamp, winding)]
        known = [(most, each) for each in on if (most := _most_watts(each)) is not None]
        if not known or len(known) < len(on):
            continue  # not-judged lists a winding without its watts
        gives, winding = max(known, key=lambda pair: pair[0])
        if watts > TOO_MUCH * gives:
            yield LampOnWinding(lamp, winding, watts, gives)


def exchanged(copper: Copper, fed: LampOnWinding) -> Branch | None:
    """A winding of the same machine that is wired, feeds no lamp and is large enough for this one."""
    lamps = [branch for branch in copper.circuit.branches if branch.branch_type is BranchType.LAMP]
    for other in _windings(copper.circuit):
        if other.part != fed.winding.part or other is fed.winding or not isinstance(other.item, Winding):
            continue
        most = _most_watts(other)
        enough = most is not None and fed.watts <= TOO_MUCH * most
        wired = copper.is_wired(End(other.part, terminal) for terminal in other.item.terminals)
        if enough and wired and not any(_across(copper, lamp, other) for lamp in lamps):
            return other
    return None


def _most_watts(winding: Branch) -> float | None:
    """The most W that a winding gives: those on its line, or by what was measured; ``None`` where neither is written.

    Into a load of the same impedance Z it gives V^2 / (2 (Z + r)).
    """
    item = winding.item
    if not isinstance(item, Winding):
        return None
    if item.watts:
        return item.watts
    measured = item.measured
    if measured.volts is None or measured.amps is None:
        return None
    known = impedance(measured.volts, measured.amps, measured.ohms)
    return known.volts**2 / (2.0 * (known.size + known.ohms))


@dataclass(frozen=True, slots=True)
class OffVolts:
    """An element on a winding of volts that it is not made for: V of the winding with nothing on it."""

    element: Branch
    winding: Branch
    volts: float


def off_volts(copper: Copper) -> Iterator[OffVolts]:
    """Boxes on windings of less than ``EXCITER_LEAST`` V, and lamps on those of more."""
    for winding in _windings(copper.circuit):
        volts = winding.item.measured.volts if isinstance(winding.item, Winding) else None
        if volts is None:
            continue
        for element in copper.circuit.branches:
            box = isinstance(element.item, Element) and element.item.exciter
            lamp = element.branch_type is BranchType.LAMP
            wrong = (box and volts < EXCITER_LEAST) or (lamp and volts > EXCITER_LEAST)
            if wrong and _across(copper, element, winding) and not _on_battery(copper, element):
                yield OffVolts(element, winding, volts)


def _windings(circuit: Circuit) -> list[Branch]:
    return [branch for branch in circuit.branches if branch.branch_type is BranchType.WINDING]


def _across(copper: Copper, lamp: Branch, winding: Branch) -> bool:
    joined = copper.switched
    assert isinstance(winding.item, Winding)  # noqa: S101
    nodes = [End(winding.part, terminal) for terminal in winding.item.terminals]
    if joined.same(lamp.a, lamp.b):
        return False
    return any(joined.same(lamp.a, one) and joined.same(lamp.b, other) for one, other in permutations(nodes, 2))


def _on_battery(copper: Copper, lamp: Branch) -> bool:
    """Whether a battery or a machine of direct current can feed it too: then the winding does not decide."""
    joined = copper.switched
    poles = [node for s in copper.circuit.supplies if s.kind != "winding" for node in (*s.plus, s.minus)]
    return any(joined.same(lamp.a, node) for node in poles) and any(joined.same(lamp.b, node) for node in poles)
