"""What works only if a unit does: whether an ignition part or a starter depends on one of its outputs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ...lang.circuit.branch import On, Pulled
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End, coil_of
from ...lang.model.conditions import asked_by
from ...lang.model.parts import Load, Part, Relay, Unit, UnitOutput
from ...lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ..logic.connected import Copper


def outputs_that_ask(unit: Unit, name: str) -> tuple[UnitOutput, ...]:
    """The outputs of a unit that depend on one of its inputs or latches, through other latches too."""
    asked = {name}
    while True:
        further = {
            latch.name for latch in unit.latches if asked & {*asked_by(latch.set_when), *asked_by(latch.cleared_when)}
        } - asked
        if not further:
            break
        asked |= further
    return tuple(output for output in unit.outputs if asked & set(asked_by(output.when)))


def needs_to_ride(part: Part) -> bool:
    """Whether an engine does not start or run without this part: of the ignition, or the starter."""
    ignition = isinstance(part, Load | Unit) and part.is_ignition
    return ignition or part.system in ("ignition", "starting")


def engine_depends(copper: Copper, unit: Unit, outputs: Iterable[UnitOutput]) -> bool:
    """Whether an ignition part or a starter depends on one of these outputs, itself or through a relay."""
    circuit, joined = copper.circuit, copper.switched
    harness = circuit.harness
    reached = {joined.of(End(unit.name, output.terminal)) for output in outputs} - _poles(copper)
    if reached and needs_to_ride(unit):
        return True
    for branch in circuit.branches:
        if not branch.branch_type.consumes or branch.part == unit.name:
            continue
        if joined.of(branch.a) in reached or joined.of(branch.b) in reached:
            part = harness.parts[branch.part]
            if needs_to_ride(part):
                return True
            if isinstance(part, Relay):
                contacts = {joined.of(End(part.name, end)) for pair in part.pulled for end in pair}
                if any(
                    needs_to_ride(harness.parts[b.part])
                    for b in circuit.branches
                    if b.branch_type.consumes and {joined.of(b.a), joined.of(b.b)} & (contacts - _poles(copper))
                ):
                    return True
    return False


def _poles(copper: Copper) -> set[str]:
    """The groups of terminals at a pole of a source: every load is at one of them."""
    joined = copper.switched
    return {joined.of(node) for supply in copper.circuit.supplies for node in (*supply.plus, supply.minus)}


_JOINS = (
    BranchType.FUSE,
    BranchType.METER,
    BranchType.DIODE,
    BranchType.PASS,
    BranchType.FLASHER,
    BranchType.RESISTOR,
    BranchType.CUT_OUT,
    BranchType.LEG,
)


MOST_NAMED = 4
"""At most this many parts that cannot work are named in a message (ours)."""


def counted(parts: tuple[str, ...]) -> str:
    """Parts in a message."""
    more = f" and {len(parts) - MOST_NAMED} more" if len(parts) > MOST_NAMED else ""
    return ", ".join(parts[:MOST_NAMED]) + more


def dead_without(
    circuit: Circuit, unit: Unit, outputs: Iterable[UnitOutput] | None = None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The parts that can work while a unit's outputs are on, and that nothing can feed while these ``outputs``, or all
    of them, are off; and the consumers, by key, of which that is so.

    Every switch counts as closed in each of its positions at once, so that no part is named which something else might
    feed; relays pull where their coil can be live, other units work where their supply can.
    """
    stands = frozenset(On(unit.name, output.name) for output in (unit.outputs if outputs is None else outputs))
    if not stands:
        return (), ()
    on, off = _may_live(circuit, {unit.name}, frozenset()), _may_live(circuit, {unit.name}, stands)
    consumers: dict[str, set[str]] = {}
    for branch in circuit.branches:
        if branch.branch_type.consumes and branch.part != unit.name:
            consumers.setdefault(branch.part, set()).add(branch.key)
    parts = tuple(part for part, keys in consumers.items() if keys & on and not keys & off)
    return parts, tuple(sorted(key for keys in consumers.values() for key in keys & on - off))


def may_live(circuit: Circuit) -> frozenset[str]:
    """The consumers, by key, that may be live, as far as joins tell: an upper bound, worked out quickly."""
    return frozenset(_may_live(circuit, set(), frozenset()))


def _may_live(circuit: Circuit, works: set[str], stands: frozenset[On]) -> set[str]:
    """The consumers that may be live; units in ``works`` are powered anyway, outputs in ``stands`` never on."""
    plus = [node for supply in circuit.supplies for node in supply.plus]
    minus = [supply.minus for supply in circuit.supplies]
    supplies: dict[str, list[str]] = {}
    for branch in circuit.branches:
        if branch.branch_type is BranchType.SUPPLY:
            supplies.setdefault(branch.part, []).append(branch.key)
    live: set[str] = set()
    while True:
        merged: DisjointSet[str] = DisjointSet()
        for branch in circuit.branches:
            guard = branch.guard
            match guard:
                case Pulled(relay, True):
                    shut = coil_of(relay) not in live
                case On(unit, _):
                    powered = unit in works or any(key in live for key in supplies.get(unit, ()))
                    shut = guard in stands or not powered
                case _:
                    shut = not (
                        branch.branch_type.conductor
                        or branch.branch_type in _JOINS
                        or branch.branch_type is BranchType.CONTACT
                    )
            if not shut:
                merged.merge(branch.a, branch.b)
        feeds, returns = set(map(merged.leader, plus)), set(map(merged.leader, minus))
        found = {
            branch.key
            for branch in circuit.branches
            if branch.branch_type.consumes
            and any(
                merged.leader(one) in feeds and merged.leader(other) in returns
                for one, other in ((branch.a, branch.b), (branch.b, branch.a))
            )
        }
        if found <= live:
            return live
        live |= found
