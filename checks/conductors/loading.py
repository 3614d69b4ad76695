"""Conductors that have to carry more than they may, from the greatest currents that the numbers found."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.circuit.branch import Branch
from ...lang.editing.proposals import resized
from ...lang.model.wires import Segment
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ...lang.records import dataclass
from ..findings.finding import Figure
from ..sizing.criteria import fits_contacts, ladder, standard_of
from ..tables.ampacity import Ampacity
from ..tables.conductors import resistance_per_metre
from ..tables.short_time import short_time, short_time_amps

if TYPE_CHECKING:
    from ...lang.editing.proposals import Proposal
    from ..ac.stator_leads import Alternating
    from ..operation.operation import Peak
    from ..study import Study


@dataclass(frozen=True, slots=True)
class Overload:
    """A piece of wire whose greatest current is above its limit in A; ``held``: only while a control is held."""

    branch: Branch
    segment: Segment
    peak: Peak
    limit: float
    held: bool
    ampacity: Ampacity

    @property
    def certain(self) -> bool:
        """Whether figures that were read find it, too: no row from memory decides an error by itself."""
        segment, limit = self.segment, self.ampacity.certain or 0.0
        if self.held and segment.size and self.limit > (self.ampacity.amps or 0.0):
            return not short_time(segment.wire_class).cited.from_memory and self.peak.amps > limit
        return self.peak.amps > limit

    @property
    def share(self) -> float:
        return self.peak.amps / self.limit if self.limit else float("inf")

    def figures(self, seconds: float) -> tuple[Figure, ...]:
        """The numbers that decide."""
        allowed = f"rated for {shown(seconds)} s" if self.held else "rated continuous"
        return (Figure("current", self.peak.amps, "A"), Figure(allowed, self.limit, "A"))

    def source(self, study: Study) -> str:
        """Profile and table behind the limit."""
        profile = study.protection.profile
        if self.held and self.segment.size and self.limit > (self.ampacity.amps or 0.0):
            basis = short_time(self.segment.wire_class)
            return (
                f"profile {profile.title}: k S / sqrt({shown(profile.cranking_seconds)} s), k = {shown(basis.k)}; "
                f"{basis.cited}"
            )
        return f"profile {profile.title}: {self.ampacity.source}; {self.ampacity.why}"


def overloads(study: Study) -> Iterator[Overload]:
    """For each wire, the piece that is overloaded most, in the order of the text.

    What flows with all momentary controls at rest must be within ampacity; what flows while one is held, or while the
    engine cranks, within the greater of ampacity and what the conductor stands for the profile's cranking time.
    """
    protection, operation = study.protection, study.operation
    worst: dict[str, Overload] = {}
    for branch in study.circuit.branches:
        segment = branch.segment
        if segment is None or segment.size is None:
            continue  # no wire, or one without a size, which `not-judged` lists
        carries = protection.judged(segment)
        if carries is None or carries.amps is None:
            continue  # `not-judged` lists it
        loading = operation.loading(branch.key)
        brief = short_time_amps(segment.size.area, segment.wire_class, protection.profile.cranking_seconds)
        found = [
            Overload(branch, segment, loading.continuous, carries.amps, False, carries),
            Overload(branch, segment, loading.held, max(brief, carries.amps), True, carries),
        ]
        for overload in found:
            if overload.peak.amps > overload.limit and (
                segment.wire not in worst or overload.share > worst[segment.wire].share
            ):
                worst[segment.wire] = overload
    yield from worst.values()


def with_no_loss(study: Study, overload: Overload) -> float:
    """At most so many A flow in the place of an overloaded wire once it is thick: what it loses now is then gone, and
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


@dataclass(frozen=True, slots=True)
class StatorLead:
    """A piece of wire that carries more alternating current than its ampacity."""

    segment: Segment
    load: Alternating
    ampacity: Ampacity

    @property
    def certain(self) -> bool:
        """Whether a figure that was read finds it, too."""
        return self.load.amps > (self.ampacity.certain or 0.0)

    @property
    def share(self) -> float:
        return self.load.amps / self.ampacity.amps if self.ampacity.amps else float("inf")


def stator_leads(study: Study) -> Iterator[StatorLead]:
    """For each wire between a winding and what it feeds, the piece that is overloaded most, by the text's order."""
    worst: dict[str, StatorLead] = {}
    for load in study.alternating.values():
        segment = load.branch.segment
        if segment is None or segment.size is None:
            continue  # a plug or a contact, which `overloaded-contact` judges; or a size that `not-judged` lists
        carries = study.protection.judged(segment)
        if carries is None or carries.amps is None:
            continue  # `not-judged` lists it
        lead = StatorLead(segment, load, carries)
        if load.amps > carries.amps and (segment.wire not in worst or lead.share > worst[segment.wire].share):
            worst[segment.wire] = lead
    yield from worst.values()


def large_enough(study: Study, segment: Segment, amps: float, *, held: bool = False) -> Size | None:
    """The least standard size that is rated some A on every piece of a piece's wire, continuous or short-time, and that
    the contacts of its ways take.
    """
    protection = study.protection
    wire = study.harness.wires.get(segment.wire)
    segments = wire.segments if wire is not None else (segment,)

    def carries(area: float, each: Segment) -> float:
        found = protection.judged(each, area)
        brief = short_time_amps(area, each.wire_class, protection.profile.cranking_seconds) if held else 0.0
        return max(brief, (found.amps or 0.0) if found is not None else 0.0)

    for size in ladder(standard_of(segment.size)):
        if wire is not None and not fits_contacts(study.harness, wire, size.area):
            continue
        if all(carries(size.area, each) >= amps for each in segments):
            return size
    return None


def thicker_for(study: Study, segment: Segment, amps: float, *, held: bool = False) -> tuple[Proposal, ...]:
    """A wire of the least standard size that is rated some A on its route, where there is one."""
    return resized(segment.wire, large_enough(study, segment, amps, held=held))


def carries_its_loads(study: Study, key: str, rating: float) -> bool:
    """Whether a fuse of this rating in A, in the place of the one of this key, carries what flows through it."""
    profile, loading = study.protection.profile, study.operation.loading(key)
    continuous, held = loading.continuous.amps, loading.held.amps
    return continuous <= profile.continuous_share * rating and held <= profile.held_share * rating


def thick_enough(study: Study, overload: Overload) -> tuple[Proposal, ...]:
    """An overloaded wire that carries what flows, and will flow once it is thick, and what protects it; none where
    something chatters: what flows when that comes to rest is not known.
    """
    if study.operation.restless:
        return ()
    found = study.protection.sustained_faults.get(overload.segment.name)
    passes = found.amps if found is not None and found.protected and found.known else 0.0
    flows = with_no_loss(study, overload)
    amps = flows if overload.held else max(flows, passes)
    return thicker_for(study, overload.segment, amps, held=overload.held)


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
