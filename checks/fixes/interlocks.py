"""Fixes of interlocks: where a sensing switch closes to ground, and a starter relay's coil that is grounded through it.

On nearly every motorcycle neutral, stand and clutch switches have one wire and close to the engine: in a feed they
would be a dead short, so that what is let depend on them is the ground side of a relay's coil (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, Pulled
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.editing.proposals import AddLine, MoveEnd, Proposal
from ...lang.quantities.quantity import shown
from ..tables.spares import spare_rating
from .new_leads import size_at
from .new_parts import at_place, free, lead_along, unused

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..study import Study


def live_end(study: Study, switch: str) -> End | None:
    """The one terminal of a switch's contacts that is not grounded, where the others are; ``None`` where the switch
    does not close to ground, or closes several wires to it.
    """
    off = [end for end in _ends(study, switch) if not grounded(study, end)]
    return off[0] if len(off) == 1 and grounded_ends(study, switch) else None


def grounded_ends(study: Study, switch: str) -> list[End]:
    """The terminals of a switch's contacts that are grounded."""
    return [end for end in _ends(study, switch) if grounded(study, end)]


def opens_at(study: Study, switch: str, control: str, position: str) -> bool:
    """Whether a switch has a contact that is open while the control is in a position: what it cuts off there. A
    stand switch for a lamp alone closes with the stand down, and cuts nothing off.
    """
    guards = [b.guard for b in study.circuit.of_part.get(switch, ()) if b.branch_type is BranchType.CONTACT]
    return any(isinstance(g, InPosition) and g.control == control and position not in g.positions for g in guards)


def band_end(study: Study, *, negative: str, positive: str) -> str:
    """Where the band (cathode) of a diode points: with a positive ground the current comes from the ground."""
    return negative if study.circuit.return_sign == "-" else positive


def _ends(study: Study, switch: str) -> Iterable[End]:
    branches = study.circuit.of_part.get(switch, ())
    return dict.fromkeys(end for b in branches if b.branch_type is BranchType.CONTACT for end in (b.a, b.b))


def grounded(study: Study, node: End) -> bool:
    """Whether copper or a fuse connects a terminal to a body of ground or to the grounded pole."""
    joined, ground = study.copper.fused, study.circuit.ground
    return joined.same(node, ground) or bool(study.copper.body_at(node))


def relay_in(study: Study, path: Sequence[str]) -> Branch | None:
    """The coil of the last relay whose pulled contact is on a path."""
    found = [study.circuit.by_key[step].guard for step in path if step in study.circuit.by_key]
    relays = [guard.relay for guard in found if isinstance(guard, Pulled) and guard.pulled]
    return study.circuit.coil_of(relays[-1]) if relays else None


def coil_through(study: Study, coil: Branch, switch: str) -> Iterator[Proposal]:
    """The ground side of a relay's coil taken to a switch that closes to ground, through a diode: without it, whatever
    lamp is on that switch would be on whenever something else grounds the coil.

    Nothing where the coil is grounded otherwise than by one wire from it to a ground.
    """
    near = live_end(study, switch)
    backs = [end for end in (coil.a, coil.b) if grounded(study, end)]
    segments = study.circuit.pieces_at(backs[0]) if len(backs) == 1 else ()
    if near is None or len(segments) != 1 or study.circuit.return_sign != "-":
        return
    (segment,) = segments
    wire = study.harness.wires.get(segment.wire)
    far = segment.b.node if segment.a.node == backs[0] else segment.a.node
    at, size = free(study, near), size_at(study, (near, backs[0]))
    is_last = wire is not None and {wire.a.node, wire.b.node} == {far, backs[0]} and far in study.copper.bodies
    if wire is None or not is_last or at is None or size is None:
        return
    amps = study.operation.loading(coil.key).held.amps
    rating = spare_rating("diode", amps)
    if rating is None:
        return
    name = unused(study, f"D-{switch}")
    rated = f"{shown(rating)} A"
    yield Proposal(
        f"move wire {wire.name} of {backs[0]} from {far} to {near}, through a diode of {rated} with its band (cathode) "
        f"towards {near}",
        (
            AddLine(f"diode {name} {rated}{at_place(study, coil.part, can_seal=False)}"),
            MoveEnd(wire.name, far, f"{name}.A"),
            lead_along(study, unused(study, f"{name.lower()}-k"), End(name, "K"), coil.part, at, wire.colour, size),
        ),
    )
