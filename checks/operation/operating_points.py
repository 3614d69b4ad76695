"""Every named state in numbers: what sources give, what loads get, how near fuses and wires are to their limits."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import BranchId, field_of, source_of
from ...lang.model.parts import Element, Fuse, Resistor, Switch
from ...lang.records import dataclass
from ..behaviour.histories import said
from ..dc.devices import UnsolvableError
from ..dc.regulation import field_share
from ..protection.protection import Protection
from ..protection.warming import temperature
from ..tables.conductors import copper, insulation_class
from ..tables.fuses import continuous_amps
from .load_status import load_status
from .released import released
from .stop_paths import SHOWN, StopPath, stop_path

if TYPE_CHECKING:
    from ...lang.circuit.branch import Supply
    from ..dc.no_windings import LeftOut
    from ..dc.situation import Running
    from ..tables.profiles import Profile
    from .operation import OperatingPoint, Operation

NO_CURRENT = 1e-4
"""A, below which a wire counts as carrying nothing."""

LEAST = 0.1
"""A that a coil draws at least when its points are closed."""

WEAK_FIELD = 0.8
"""Of its regulated volts, below which a field is weak (ours): above, iron that is nearly saturated loses little."""

FULL = 0.98
"""Of what it can deliver, from which a machine needs its whole field (ours)."""

Average = Literal["mean", "rms"]
"""Over time: what fills a battery, or what warms copper."""

MELTS = "melts"
AT_MOST = "at most"


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A source: V at its terminals, A and W that it gives (below zero it is charged), ``share`` of what it can give.

    All averaged over the moments in which the circuits of coils are closed and open, as fuses and wires are; of a
    winding V and A are rms (``average``).
    """

    name: str
    volts: float
    amps: float
    watts: float
    share: float | None
    average: Average = "mean"


@dataclass(frozen=True, slots=True)
class LoadRow:
    """A consumer: V across it while its circuit is closed, A and W that it takes averaged over its duty, ``share`` of
    its rated amps, of a resistor of its watts; ``word``: live, dim or dead, or alternating: what an alternating winding
    feeds is not solved; or ``at most``, of a field that a regulator weakens.

    Above zero whichever way current flows, where that is the same to it; below zero only where a thing that minds (an
    LED, electronics, a unit) stands the wrong way round.
    ``unrated`` where the text gives no rating: its amps are then unknown, and 0 here. ``average``: of what A is one, V
    too where it is rms: on a winding.
    """

    name: str
    volts: float
    amps: float
    watts: float
    share: float | None
    word: str
    unrated: bool = False
    average: Average = "mean"


@dataclass(frozen=True, slots=True)
class FuseRow:
    """A fuse: its continuous rating, A (root of the mean square) through it, and the share of its rating."""

    name: str
    rating: float | None
    amps: float
    share: float | None
    average: Average = "rms"


@dataclass(frozen=True, slots=True)
class WireRow:
    """A stretch of wire: A (root of the mean square) through it, V lost in it at most, the hottest ``ambient`` and the
    temperature it comes to, in degC.

    ``margin`` is what its insulation withstands beyond that. Continuous; in a state that lasts no longer than a control
    is held, after the cranking time, from what it has with the control released. Both ``None`` where no ampacity is
    known; where the table allows no current at all at that ambient, ``margin`` is 0 and ``celsius`` is not known. So it
    is where its copper ``melts``, which is then its ``word``: no wire gets hotter than that.
    """

    name: str
    amps: float
    lost: float
    ambient: float
    celsius: float | None
    margin: float | None
    word: str = ""
    average: Average = "rms"


@dataclass(frozen=True, slots=True)
class PointsRow:
    """Points that are open with the engine at rest, and A through each ignition coil if it stops with them closed."""

    points: str
    position: str
    closed: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class StateTable:
    """One named state. ``settings`` are the controls away from rest; ``pulled`` and ``on`` relays and unit outputs.

    ``problem`` says why there are no numbers; everything else is then empty. ``history`` tells how relays and machines
    were left for it to be so; empty for the one that comes from rest. ``weak_fields``: the machines that give a
    larger share of their amps here than their field has of its volts: what a field lets a machine give is not solved.
    ``seconds``: after how long of it wires have their temperatures, warm as they were with momentary controls at rest;
    ``None`` where it lasts.
    ``left_out``: the windings whose current is not solved here; ``by_watts``: those that are taken from their
    watts, ``limited``: the limiters that hold one here, with the A rms that it takes, if it takes no more than it must.
    ``stops``: the kill wires that something leads to their return here, and what that leaves of the ignition's volts.
    ``points``: those on the crank that are open here, with the engine at rest.
    """

    name: str
    settings: tuple[tuple[str, str], ...] = ()
    pulled: tuple[str, ...] = ()
    on: tuple[str, ...] = ()
    sources: tuple[SourceRow, ...] = ()
    loads: tuple[LoadRow, ...] = ()
    fuses: tuple[FuseRow, ...] = ()
    wires: tuple[WireRow, ...] = ()
    problem: str = ""
    history: str = ""
    weak_fields: tuple[str, ...] = ()
    seconds: float | None = None
    left_out: tuple[LeftOut, ...] = ()
    by_watts: tuple[str, ...] = ()
    limited: tuple[tuple[str, float], ...] = ()
    stops: tuple[StopPath, ...] = ()
    points: tuple[PointsRow, ...] = ()

    @property
    def battery_amps(self) -> float:
        """What the batteries give together, in A; below zero they are charged."""
        return sum(row.amps for row in self.sources if row.share is None)


def state_tables(operation: Operation, profile: Profile, names: Iterable[str] | None = None) -> Iterator[StateTable]:
    """The named states (all of them, or ``names``) in the order of the text."""
    protection = Protection(operation.circuit, profile)
    for name in operation.circuit.harness.states if names is None else names:
        try:
            first = operation.state(name)
            points = (first, *operation.left_before.others(name))
        except UnsolvableError as error:
            yield StateTable(name, problem=str(error))
            continue
        for point in points:
            before = released(operation, point) if point.momentary else None
            yield StateTable(
                name,
                point.differing,
                tuple(sorted(point.memory.pulled)),
                tuple(sorted(point.memory.on)),
                tuple(_sources(point)),
                tuple(_loads(point, frozenset(operation.on_windings.untold(point)))),
                tuple(_fuses(point)),
                tuple(_wires(point, before, protection)),
                history="" if point is first else said(first.memory, point.memory),
                weak_fields=tuple(_weak_fields(point)),
                seconds=profile.cranking_seconds if before is not None else None,
                left_out=point.flow.left_out,
                by_watts=point.flow.by_watts,
                limited=point.flow.limited,
                stops=tuple(_stops(point)),
                points=tuple(_open_points(operation, point)),
            )
        for memory, why in operation.left_before.unsolved(name):
            yield StateTable(name, first.differing, problem=str(why), history=said(first.memory, memory))
        if untold := operation.left_before.untold(name):
            problem = f"not all that may have been left before is shown: {untold}"
            yield StateTable(name, first.differing, problem=problem)


def _stops(point: OperatingPoint) -> Iterator[StopPath]:
    """The kill wires that something leads to their return."""
    for part in point.circuit.harness.parts.values():
        path = stop_path(point.flow, part)
        if path is not None and path.share < SHOWN:
            yield path


def _open_points(operation: Operation, point: OperatingPoint) -> Iterator[PointsRow]:
    """Points that carry a coil's current when the engine stops with them closed. Where that does not settle: none."""
    if point.engine != "off":
        return
    coils = [b.key for b in point.circuit.branches if b.branch_type is BranchType.IGNITION]
    for part in point.circuit.harness.parts.values():
        if not isinstance(part, Switch) or part.senses != "crank":
            continue
        position = point.positions[part.control]
        closed = next((p.name for p in part.positions if p.pairs and p.name != position), None)
        if closed is None or any(p.pairs for p in part.positions if p.name == position):
            continue
        try:
            other = operation.at({**point.positions, part.control: closed}, point.memory)
        except UnsolvableError:
            continue
        drawn = tuple(
            (key, abs(other.amps(key))) for key in coils if abs(other.amps(key)) - abs(point.amps(key)) > LEAST
        )
        if drawn:
            yield PointsRow(part.control, position, drawn)


def _sources(point: OperatingPoint) -> Iterator[SourceRow]:
    circuit = point.circuit
    running = {m.supply: m for m in point.flow.situation.machines}
    for supply in circuit.supplies:
        if supply.kind == "winding":
            if supply.name in point.flow.windings:
                yield _winding(point, supply)
            continue
        amps = point.mean_amps(supply.key)
        machine = running.get(supply.name)
        volts = point.mean_across(supply.key)
        most = point.flow.network.can_give(machine, point.flow.situation, volts) if machine else 0.0
        share = None if supply.kind == "battery" else (amps / most if most else 0.0)
        yield SourceRow(supply.name, volts, amps, point.watts(supply.key), share)


def _winding(point: OperatingPoint, supply: Supply) -> SourceRow:
    """A winding: V and A rms at its ends, the W that it delivers there, as a share of the most at this speed."""
    from ..ac.wound_flow import WoundFlow

    flow, watts = point.flow, point.watts(supply.key)
    assert isinstance(flow, WoundFlow)  # noqa: S101  # no other has windings
    amps, share = flow.delivered_amps(supply.name), watts / flow.most_watts(supply.name)
    return SourceRow(supply.name, abs(point.across(supply.key)), amps, watts, share, "rms")


def _weak_fields(point: OperatingPoint) -> Iterator[str]:
    """The machines that are solved to give more than in proportion to the volts of their field."""
    network = point.flow.network
    for machine in point.flow.situation.machines:
        if network.machines.field_siemens[machine.supply] and machine.lasting:
            share = field_share(network, point.flow.at, machine.supply)
            if share < WEAK_FIELD and point.mean_amps(source_of(machine.supply)) > share * machine.lasting:
                yield machine.supply


def _loads(point: OperatingPoint, alternating: frozenset[str]) -> Iterator[LoadRow]:
    regulated = frozenset(k for m in point.flow.situation.machines for k in regulated_fields(point, m))
    for branch in point.circuit.branches:
        if not branch.branch_type.consumes:
            continue
        rating = point.flow.network.rated[branch.key]
        unrated = rating.ohms is None and rating.curve is None and rating.amps != 0.0
        # Volts are those that it has while its circuit is closed; amps and watts are averaged over its duty.
        volts, amps, watts = point.across(branch.key), point.mean_amps(branch.key), point.watts(branch.key)
        if branch.branch_type.as_load is Direction.BOTH:
            volts, amps = abs(volts), abs(amps)
        stand = load_status(point, branch.key)
        rated = rating.amps
        part = point.circuit.harness.parts.get(branch.part)
        if rated and isinstance(branch.item, Element) and point.flow.situation.turning:
            rated *= branch.item.duty
        share = abs(amps) / rated if rated else None
        word: str = "alternating" if branch.key in alternating else stand.word if stand is not None else ""
        if isinstance(part, Resistor):
            share = watts / part.watts if part.watts else None
        elif branch.key in regulated:
            share, word = None, AT_MOST
        yield LoadRow(branch.key, volts, amps, watts, share, word, unrated, average_of(point, branch.key))


def average_of(point: OperatingPoint, key: str) -> Average:
    """What the A of a load or source are at an operating point."""
    return "rms" if point.is_rms(key) else "mean"


def regulated_fields(point: OperatingPoint, machine: Running) -> Iterator[BranchId]:
    """The fields of a machine that delivers less than it can: a regulator lowers their current, by how much is not
    solved.
    """
    if machine.lasting and point.mean_amps(source_of(machine.supply)) < FULL * machine.lasting:
        fields = point.flow.network.machines.fields[machine.supply] or (field_of(machine.supply),)
        yield from (key for key in fields if key in point.circuit.by_key)


def _fuses(point: OperatingPoint) -> Iterator[FuseRow]:
    for branch in point.circuit.branches:
        part = point.circuit.harness.parts.get(branch.part)
        if branch.branch_type is BranchType.FUSE and isinstance(part, Fuse):
            rating = continuous_amps(part.amps, part.blows)
            amps = point.heating_amps(branch.key)
            yield FuseRow(part.name, rating, amps, amps / rating if rating else None)


def _wires(point: OperatingPoint, before: OperatingPoint | None, protection: Protection) -> Iterator[WireRow]:
    """``before``: what flows before the momentary controls are pressed, for a point that lasts no longer than that."""
    ampacities, seconds = protection.ampacities, protection.profile.cranking_seconds if before else math.inf
    for branch in point.circuit.branches:
        segment = branch.segment
        if segment is None:
            continue
        amps = point.heating_amps(branch.key)
        if amps < NO_CURRENT:
            continue
        warmed = before.heating_amps(branch.key) if before else 0.0
        celsius = temperature(ampacities, segment, amps, before=warmed, seconds=seconds)
        margin = None if celsius is None else insulation_class(segment.wire_class).highest - celsius
        word = ""
        if celsius is None and (found := ampacities.of(segment)) is not None and found.amps is not None:
            margin = 0.0  # the table allows no current at all at this ambient
        elif celsius is not None and celsius >= copper().melting_point:
            celsius, margin, word = None, 0.0, MELTS
        drop = abs(point.across(branch.key))
        yield WireRow(segment.name, amps, drop, ampacities.ambient(segment), celsius, margin, word)
