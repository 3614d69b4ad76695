"""Contact-breaker points, and the ignition coils whose current they break."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import Switch
from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    from ...lang.diagnostics.diagnostic import Span
    from ..logic.connected import Copper
    from .behaviour import Behaviour


@dataclass(frozen=True, slots=True)
class Points:
    """A switch on the crank, one pair of its terminals, and the primaries that copper connects to either."""

    switch: str
    ends: tuple[End, End]
    coils: tuple[Branch, ...]
    span: Span


def points_of_coils(
    behaviour: Behaviour, copper: Copper, judging: Callable[..., AbstractContextManager[None]]
) -> Iterator[Points]:
    """Every pair of contacts that the crank moves and that the current of an ignition coil goes through.

    Points that only tell a unit when to fire carry no coil's current, and are not among them, whichever side of a coil
    they are connected to. What cannot be told of a part is left out, and said by ``not-judged``.
    """
    joined, circuit = copper.bare, copper.circuit
    rails = {joined.of(node) for supply in circuit.supplies for node in (*supply.plus, supply.minus)}
    coils = [branch for branch in circuit.branches if branch.branch_type is BranchType.IGNITION]
    for part in circuit.harness.parts.values():
        if not isinstance(part, Switch) or part.senses != "crank":
            continue
        for a, b in dict.fromkeys(pair for position in part.positions for pair in position.pairs):
            ends = End(part.name, a), End(part.name, b)
            nets = {joined.of(end) for end in ends}
            near = nets - rails
            with judging(part.name):
                broken = tuple(
                    coil
                    for coil in coils
                    if near & {joined.of(coil.a), joined.of(coil.b)}
                    and (nets & rails or _needs_any_of(behaviour, coil, _side_by_side(copper, nets)))
                )
                if broken:
                    yield Points(part.name, ends, broken, part.span)


def _side_by_side(copper: Copper, nets: set[End]) -> tuple[str, ...]:
    """The contacts that the crank moves between two nets."""
    joined, parts = copper.bare, copper.circuit.harness.parts
    return tuple(
        branch.key
        for branch in copper.circuit.branches
        if branch.branch_type is BranchType.CONTACT
        and isinstance(part := parts[branch.part], Switch)
        and part.senses == "crank"
        and {joined.of(branch.a), joined.of(branch.b)} == nets
    )


def _needs_any_of(behaviour: Behaviour, coil: Branch, contacts: tuple[str, ...]) -> bool:
    """Whether a coil is never live while all these contacts are open."""
    without = behaviour.without(contacts)
    return not without.holds_in(without.live(coil.key))
