"""Stators that were measured, behind rectifiers: how many amps they give at which volts and speed."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.conditions import ENGINE_POSITIONS
from ...lang.records import dataclass
from ..dc.no_windings import Measured
from .rectified import direct_amps, lead_amps
from .windings import StatorOf, from_measured, sources, speed_of, stator_impedance

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from ...lang.circuit.circuit import Circuit
    from ...lang.model.parts import Source
    from .rectified import Kind

TABLE_POINTS = 41
"""Volts at which a stator's amps are taken from the table, from 0 to its open peak."""

LEAST_AMPS = 1e-3
"""What a stator gives that has next to nothing to give (ours): nothing at all has no law."""


def by_phases(source: Source, reached: int, volts: float) -> StatorOf | None:
    """What a rectifier has of a measured stator of which it reaches this many leads; ``volts``: the system's."""
    if len(source.phases) == 2:
        known = from_measured(source.measured, None, volts)
        return None if known is None else StatorOf(source, "single", known[0])
    line = stator_impedance(source.measured)
    return None if line is None else StatorOf(source, "three" if reached == 3 else "single", line)


def points_of(stator: StatorOf, speed: float, held: float) -> list[tuple[float, float]]:
    """V and A that a stator gives behind a rectifier, up to the V at which it is held."""
    peak = math.sqrt(2.0) * speed * stator.line.volts
    volts = [peak * i / (TABLE_POINTS - 1) for i in range(TABLE_POINTS)]
    points = [(v, stator.direct_amps(v, speed)) for v in volts if v < held]
    return [*points, (held, max(stator.direct_amps(held, speed), 0.0))]


def most_amps(stator: StatorOf, speed: float, volts: float, own: float = 0.0) -> float:
    """A that a stator gives behind a rectifier at these V; ``own``: the A of its field besides."""
    return max(stator.direct_amps(volts, speed) + own, LEAST_AMPS)


@dataclass(frozen=True, slots=True)
class Grounded:
    """What a rectifier gives at running speed with a lead of its stator on ground, and A rms of the lead that carries
    most; and both without that.
    """

    amps: float
    whole: float
    lead: float
    usual: float


def grounded(stator: StatorOf, volts: float) -> Grounded | None:
    """The same for a stator held at some V; ``None`` where none of its leads is on ground."""
    sound: dict[str, Kind] = {"single-shorted": "single", "three-shorted": "three"}
    if stator.kind == "nothing" or stator.kind == "unsolved" or stator.kind not in sound:
        return None
    whole = sound[stator.kind]
    return Grounded(
        direct_amps(stator.kind, stator.line, volts),
        direct_amps(whole, stator.line, volts),
        lead_amps(stator.kind, stator.line, volts),
        lead_amps(whole, stator.line, volts),
    )


def measured_stators(circuit: Circuit, held: float, own: float) -> Iterator[Measured]:
    """Every measured stator that a rectifier held at some V may be on; ``own``: the A of its field at these."""
    for source in sources(circuit):
        if source.measured.volts is not None and source.measured.amps is not None:
            leads = tuple(End(source.name, phase) for phase in source.phases)
            kinds = {count: by_phases(source, count, circuit.harness.volts) for count in range(2, len(leads) + 1)}
            yield _measured(leads, kinds, held, own)
        for winding in source.windings:
            known = from_measured(winding.measured, None, circuit.harness.volts)
            ends = tuple(End(source.name, winding.terminals[i]) for i in (0, -1))
            yield _measured(ends, {2: StatorOf(source, "single", known[0]) if known else None}, held, own)


def _measured(leads: tuple[End, ...], kinds: Mapping[int, StatorOf | None], held: float, own: float) -> Measured:
    """``kinds``: what it is by how many of its leads are reached."""
    by_leads = {}
    for count, stator in kinds.items():
        speeds = {e: speed_of(stator.source, e) for e in ENGINE_POSITIONS} if stator is not None else {}
        by_leads[count] = {
            engine: (most_amps(stator, speed, held, own), tuple(points_of(stator, speed, held)))
            for engine, speed in speeds.items()
            if stator is not None and speed is not None
        }
    return Measured(leads, by_leads)
