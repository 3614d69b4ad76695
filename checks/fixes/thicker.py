"""A thicker wire for one that carries too much: how thick, and what else to do where none is enough."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...lang.editing.proposals import resized
from ...lang.model.wires import Segment
from ...lang.quantities.size import Size
from ..conductors.standard_sizes import fits_contacts, ladder, standard_of
from ..protection.warming import short_time_limit
from ..tables.conductors import resistance_per_metre

if TYPE_CHECKING:
    from ...lang.editing.proposals import Proposal
    from ..conductors.loading import Overload
    from ..study import Study


def with_no_loss(study: Study, overload: Overload) -> float:
    """At most this many A flow in the place of an overloaded wire once it is thick: what it loses now is then gone, and
    loads of a fixed resistance take more.
    """
    lost = 0.0
    for segment in study.harness.wires[overload.segment.wire].segments:
        if segment.size is not None and segment.length is not None:
            lost += overload.peak.amps * segment.length * resistance_per_metre(segment.size.area)
    share = min(lost / study.harness.volts, MOST_LOST)
    return overload.peak.amps / (1.0 - share)


MOST_LOST: Final = 0.5
"""A wire that would lose more of the system's voltage than this is not reckoned with any further (ours)."""


def large_enough(
    study: Study, segment: Segment, amps: float, *, held: bool = False, before: float = 0.0
) -> Size | None:
    """The least standard size that is rated some A on every piece of a piece's wire, and that the contacts of its ways
    take; short-time where ``held``, ``before`` A keeping it warm.
    """
    protection = study.protection
    wire = study.harness.wires.get(segment.wire)
    segments = wire.segments if wire is not None else (segment,)

    def carries(area: float, each: Segment) -> float:
        if held:
            seconds = protection.profile.cranking_seconds
            return short_time_limit(protection.ampacities, each, seconds, before=before, area=area)
        found = protection.ampacities.judged(each, area)
        return (found.amps or 0.0) if found is not None else 0.0

    for size in ladder(standard_of(segment.size)):
        if wire is not None and not fits_contacts(study.harness, wire, size.area):
            continue
        if all(carries(size.area, each) >= amps for each in segments):
            return size
    return None


def thicker_for(
    study: Study, segment: Segment, amps: float, *, held: bool = False, before: float = 0.0
) -> tuple[Proposal, ...]:
    """A wire of the least standard size that is rated some A on its route, where there is one."""
    return resized(segment.wire, large_enough(study, segment, amps, held=held, before=before))


def carries_its_loads(study: Study, key: str, rating: float) -> bool:
    """Whether a fuse of this rating in A, in the place of the one of this key, carries what flows through it."""
    profile, loading = study.protection.profile, study.operation.loading(key)
    continuous, held = loading.continuous.amps, loading.held.amps
    return continuous <= profile.continuous_share * rating and held <= profile.held_share * rating


def thick_enough(study: Study, overload: Overload) -> tuple[Proposal, ...]:
    """An overloaded wire that carries what flows, and will flow once it is thick, and what protects it."""
    return resized(overload.segment.wire, size_enough(study, overload))


def size_enough(study: Study, overload: Overload) -> Size | None:
    """The least standard size for what flows in an overloaded wire, will flow once it is thick, and what protects it;
    ``None`` where none exists, or something chatters: what flows when that settles is not known.
    """
    if study.operation.restless:
        return None
    found = overload.loading.protected_by
    passes = found.amps if found is not None and found.protected and found.known else 0.0
    flows = with_no_loss(study, overload)
    amps = flows if overload.held else max(flows, passes)
    return large_enough(study, overload.segment, amps, held=overload.held, before=overload.before)


NO_SIZE: Final = {
    "chatters": "find out first why {chattering} chatters: the size of wire {wire} follows from its current after that",
    "no-size": "move wire {wire} to a cooler route, or share its current between two wires, each with its own contacts",
}
"""What to do where something chatters, no standard size is enough, or none that is fits the wire's contacts."""


def no_size(study: Study) -> str:
    """The case of ``NO_SIZE``."""
    return "chatters" if study.operation.restless else "no-size"


def chattering(study: Study) -> str:
    """The parts that never settle, by name."""
    return ", ".join(dict.fromkeys(part for case in study.operation.restless for part in case.parts))
