"""A fuse for wires that are too thin for what protects them: where it belongs, in words and as an edit of the text."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final

from ...lang.editing.proposals import AddLine, MoveEnd, Proposal, Resize
from ...lang.model.parts import Fuse
from ...lang.quantities.quantity import Quantity, shown
from ..conductors.too_thin import too_thin
from ..conductors.unrated import unrated
from ..findings.facts import as_facts
from ..findings.wording import filled
from ..protection.fuse_places import FusePlace, ThinWire, fuse_places
from ..tables.fuses import ratings
from .new_parts import at_place, colour_at, lead, unused
from .thicker import large_enough

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...lang.circuit.ids import BranchId
    from ...lang.model.wires import Wire
    from ...lang.quantities.size import Size
    from ..conductors.loading import Conductors
    from ..findings.facts import Fact
    from ..operation.operation import Operation
    from ..protection.protection import Protection
    from ..study import Study
    from ..tables.profiles import Profile

STUB: Final = 0.05
"""m of the lead from the feed to a new fuse (ours): what thin wire is before it counts within the distance too."""

COVERS: Final = "[: it covers {covers:wire}][, not {beyond:wire}, too thin for it]"
IN_WIRE: Final = "fit a fuse of {rating}[, at most {most},] in wire {first} within {bare} of {at}" + COVERS
AT_FUSE: Final = "fit a fuse of {rating}[, at most {most},] at {fuse}" + COVERS


def places(operation: Operation, protection: Protection, thin: Mapping[str, ThinWire]) -> dict[str, FusePlace]:
    """For each of some thin wires, by name, the fuse that protects it and carries what flows; nothing for one that no
    single fuse can.
    """
    unknown = {end for branch, _ in unrated(operation) for end in (branch.a, branch.b)}
    return fuse_places(protection, thin, partial(_least, operation, protection.profile), unknown)


def places_of_all(operation: Operation, protection: Protection, conductors: Conductors) -> dict[str, FusePlace]:
    """The same for every wire of a harness that is too thin for what protects it, each protection by itself."""
    behind: dict[tuple[str, ...], dict[str, ThinWire]] = {}
    for fault, _, amps, _ in too_thin(protection, conductors):
        wires, name = behind.setdefault(tuple(limit.name for limit in fault.limits), {}), fault.conductor.owner
        if name not in wires or amps < wires[name].amps:
            wires[name] = ThinWire(fault, amps)
    return {name: place for thin in behind.values() for name, place in places(operation, protection, thin).items()}


def _least(operation: Operation, profile: Profile, key: BranchId) -> float:
    """The A that a fuse in a branch must be rated to carry what flows there."""
    loading = operation.loading(key)
    return max(loading.continuous.amps / profile.continuous_share, loading.held.amps / profile.held_share)


def words(study: Study, place: FusePlace) -> str:
    """What is to be done, as an imperative with target and place."""
    fuse = _begins_at(study, place)
    facts: dict[str, Fact] = {
        "rating": Quantity(place.rating, "A"),
        "most": Quantity(place.most, "A") if place.most > place.rating else "",
        "first": place.wire,
        "fuse": fuse.name if fuse is not None else "",
        "bare": Quantity(study.protection.profile.bare_distance, "m"),
        "at": place.at,
        "covers": place.covers if len(place.covers) > 1 else (),
        "beyond": place.beyond,
    }
    return filled(IN_WIRE if fuse is None else AT_FUSE, as_facts(facts))


def _begins_at(study: Study, place: FusePlace) -> Fuse | None:
    """The fuse at which a wire begins, where that feeds nothing else and is sold in a rating that does."""
    part = study.harness.parts[place.at.part]
    if not isinstance(part, Fuse) or len(study.circuit.pieces_at(place.at)) > 1:
        return None
    return part if place.rating in ratings(part.form or "blade") else None


def _stub_size(study: Study, wire: Wire) -> Size:
    """The size of the lead to a new fuse: thick enough for what protects it, where the wire could be that; else that of
    the wire, which a short tap may have.
    """
    faults = (study.protection.sustained_faults.get(segment.name) for segment in wire.segments)
    amps = max((fault.amps for fault in faults if fault is not None and fault.protected), default=0.0)
    size = large_enough(study, wire.segments[0], amps) or wire.size
    assert size is not None  # noqa: S101 -- a wire that was judged has one
    return size


def fuse_in(study: Study, place: FusePlace) -> tuple[Proposal, ...]:
    """The same as an edit: a smaller fuse where the wire begins at one and nothing else does, or else a new one. None
    where its end is not there.
    """
    wire, present = study.harness.wires[place.wire], _begins_at(study, place)
    if present is not None:
        return (Proposal(words(study, place), (Resize(ratings=((present.name, place.rating),)),)),)
    if place.at not in (wire.a.node, wire.b.node):
        return ()
    fuse, feed = unused(study, f"F-{place.wire}"), unused(study, f"{place.wire}-feed")
    metres = min(STUB, study.protection.profile.bare_distance)
    changes = (
        AddLine(f"fuse {fuse} {shown(place.rating)} A blade{at_place(study, place.at.part, can_seal=True)}"),
        MoveEnd(place.wire, place.at, f"{fuse}.2"),
        lead(feed, place.at, f"{fuse}.1", colour_at(study, place.at) or wire.colour, _stub_size(study, wire), metres),
    )
    return (Proposal(words(study, place), changes),)
