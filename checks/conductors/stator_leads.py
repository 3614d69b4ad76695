"""Alternating currents of stator leads: what a wire, plug or contact between a winding and what it feeds carries.

No waveform is solved. What is given is a lower bound, rms: the rated direct current of the rectifier times the least
factor of its circuit, or the rated current of the loads connected to a winding, within the winding's output.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import Rectifier, Source
from ...lang.quantities.quantity import shown
from ...lang.quantities.ranking import exceeds
from ...lang.records import dataclass
from ..ac.windings import StatorOf, short_amps, stator_of
from ..protection.isolation import joined_to, way_back
from ..tables.stators import stator_factor

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ..operation.operation import Operation
    from ..protection.protection import Protection


@dataclass(frozen=True, slots=True)
class Alternating:
    """At least ``amps`` A rms through a branch, ``by`` what; ``state`` in which, empty for a machine at full output.

    ``shunt``: the regulator shorts the stator, so that the true current is higher whatever is on. ``machine``: whose
    leads are reported as one. ``source``: where the figure comes from.
    """

    branch: Branch
    amps: float
    by: str
    machine: str
    source: str
    shunt: bool = False
    state: str = ""


def alternating(operation: Operation, protection: Protection) -> dict[str, Alternating]:
    """The most of every branch of the protected circuit that carries any, by key, in its order."""
    worst: dict[str, Alternating] = {}
    for found in (*_rectified(protection), *_wound(operation)):
        if found.branch.key not in worst or exceeds(found.amps, worst[found.branch.key].amps):
            worst[found.branch.key] = found
    return {b.key: replace(worst[b.key], branch=b) for b in protection.circuit.branches if b.key in worst}


def _rectified(protection: Protection) -> Iterator[Alternating]:
    """The leads between a stator and a rectifier, at the rectifier's full output."""
    circuit = protection.circuit
    parts = circuit.harness.parts
    stators = {
        End(part.name, terminal)
        for part in parts.values()
        if isinstance(part, Source)
        for terminal in (*part.phases, *(t for winding in part.windings for t in winding.terminals))
    }
    for supply in circuit.supplies:
        part = parts.get(supply.name)
        if not isinstance(part, Rectifier) or not supply.phases:
            continue
        if (measured := stator_of(circuit, supply)) is not None:
            yield from _measured_leads(circuit, part, supply, measured, stators)
            continue
        direct = protection.machine_amps(supply)
        if direct is None:
            continue  # no watts are written: `not-judged` lists it
        factor = stator_factor(len(supply.phases))
        for phase in supply.phases:
            for branch in _in_every_way(circuit, [phase], stators, frozenset()):
                yield Alternating(
                    branch,
                    factor.value * direct,
                    f"to {part.name} at full output",
                    part.name,
                    f"{shown(factor.value)} times {shown(direct)} A: {factor.cited}",
                    shunt=part.shunt,
                )


def _measured_leads(
    circuit: Circuit, part: Rectifier, supply: Supply, measured: StatorOf, stators: Collection[End]
) -> Iterator[Alternating]:
    """The leads of a stator that was measured. A shunt regulator shorts it whatever is on, at most speed too; behind a
    series one they carry what the battery takes of it.
    """
    most = measured.source.speeds[1]
    if part.control == "series":
        direct = measured.direct_amps(part.regulated or 0.0, most)
        factor = stator_factor(len(supply.phases))
        amps, by = factor.value * direct, f"to {part.name} at full output"
        source = f"{shown(factor.value)} times {shown(direct)} A: {factor.cited}"
    else:
        amps, by = short_amps(measured, most), f"to {part.name}, whose regulator shorts them"
        source = (
            f"open-circuit voltage and short-circuit current of {measured.source.name}, at {shown(100.0 * most)} % of "
            "running speed"
        )
    for phase in supply.phases:
        for branch in _in_every_way(circuit, [phase], stators, frozenset()):
            yield Alternating(branch, amps, by, part.name, source)


def _wound(operation: Operation) -> Iterator[Alternating]:
    """The leads between an alternating winding and the loads on it, each alone and together in each named state."""
    circuit = operation.circuit
    for winding in (s for s in circuit.supplies if s.kind == "winding" and s.name not in _measured(operation)):
        most = _most(circuit, winding)
        for load in _hanging(operation, winding, frozenset()):
            yield from _shared(operation, winding, [load], most, "", frozenset())
        for point in operation.points.values():
            if point.engine == "off":
                continue  # nothing turns: the winding gives nothing
            opened = frozenset(
                b.key for b in circuit.branches if b.guard is not None and not point.connectivity.conducts(b)
            )
            lit = _hanging(operation, winding, opened)
            if len(lit) > 1:
                yield from _shared(operation, winding, lit, most, point.state, opened)


def solved(operation: Operation) -> frozenset[End]:
    """The terminals of windings, stators and rectifiers of which the text says enough to know every current there."""
    circuit = operation.circuit
    found: set[End] = set()
    for supply in circuit.supplies:
        if supply.kind == "winding" and supply.name in _measured(operation):
            found |= {*supply.plus, supply.minus}
        elif (stator := stator_of(circuit, supply)) is not None:
            found |= {*supply.phases, *(End(stator.source.name, phase) for phase in stator.source.phases)}
    return frozenset(found)


def _measured(operation: Operation) -> frozenset[str]:
    """The windings that are solved from what was measured of them: their leads are judged with all others."""
    from ..ac.equations import WoundEquations

    network = operation.network
    if not isinstance(network, WoundEquations):
        return frozenset()
    return frozenset(str(coil.winding) for coil in network.coils if not coil.estimated)


def _most(circuit: Circuit, winding: Supply) -> float | None:
    """The A that a winding gives at nominal volts; ``None`` where its watts are not written."""
    source = circuit.harness.parts[winding.part]
    windings = source.windings if isinstance(source, Source) else ()
    watts = next((each.watts for each in windings if each.name == winding.winding), None)
    return watts / circuit.harness.volts if watts else None


def _hanging(operation: Operation, winding: Supply, opened: Collection[str]) -> list[tuple[Branch, str, str]]:
    """The loads between the two sides of a winding, each with its end on the live side and its other end.

    An ignition's primary is none: its dwell sets its current, no rating.
    """
    circuit = operation.circuit
    always_open = {b.key for b in circuit.branches if b.guard is not None or b.branch_type is BranchType.FUSE}
    back = joined_to(circuit, [winding.minus], without=always_open, both_ways=True)
    live = joined_to(circuit, winding.plus, without=opened, shut=back, both_ways=True)
    returned = joined_to(circuit, [winding.minus], without=opened, shut=live, both_ways=True)
    return [
        (branch, near, far)
        for branch in circuit.branches
        if branch.branch_type.consumes and branch.branch_type is not BranchType.IGNITION
        if (operation.network.rated[branch.key].amps or 0.0) > 0.0
        for near, far in ((branch.a, branch.b), (branch.b, branch.a))
        if near in live and far in returned
    ]


def _shared(
    operation: Operation,
    winding: Supply,
    loads: list[tuple[Branch, str, str]],
    most: float | None,
    state: str,
    opened: Collection[str],
) -> Iterator[Alternating]:
    """What loads that are on together draw through each branch that all of their current goes through."""
    circuit, rated = operation.circuit, operation.network.rated
    through: dict[str, float] = {}
    total = sum(rated[load.key].amps or 0.0 for load, _, _ in loads)
    share = min(1.0, most / total) if most is not None else 1.0
    for load, near, far in loads:
        amps = (rated[load.key].amps or 0.0) * share
        for starts, end in ((list(winding.plus), near), ([winding.minus], far)):
            for branch in _in_every_way(circuit, starts, {end}, opened):
                through[branch.key] = through.get(branch.key, 0.0) + amps
    names = ", ".join(load.key for load, _, _ in loads)
    source = "the rated current of " + names + (f", within the output of {winding.name}" if share < 1.0 else "")
    for key, amps in through.items():
        yield Alternating(
            circuit.by_key[key], amps, f"from {winding.name} to {names}", winding.name, source, state=state
        )


def _in_every_way(
    circuit: Circuit, starts: Sequence[str], goal: Collection[str], opened: Collection[str]
) -> Iterator[Branch]:
    """The branches that every way of current between one of ``starts`` and one of ``goal`` goes through.

    Where leads lie side by side each carries a part that is not known, and none is given.
    """
    reached = joined_to(circuit, starts, without=opened, past=goal, both_ways=True)
    met = next((node for node in reached if node in goal and node not in starts), None)
    for branch in way_back(reached, met) if met is not None else ():
        left = joined_to(circuit, starts, without={*opened, branch.key}, past=goal, both_ways=True)
        if not any(node in goal for node in left):
            yield branch
