"""Conductors that have to carry more than they may, from the greatest currents that the numbers found."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch
from ...lang.model.wires import Segment
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ...lang.records import dataclass
from ..findings.finding import Figure
from ..tables.ampacity import Ampacity
from ..tables.conductors import metric_sizes
from ..tables.short_time import short_time, short_time_amps

if TYPE_CHECKING:
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


def large_enough(study: Study, segment: Segment, amps: float) -> Size | None:
    """The least standard size that is rated some A continuous on a piece's route."""
    for size in metric_sizes():
        carries = study.protection.judged(segment, size.area)
        if carries is not None and carries.amps is not None and carries.amps >= amps:
            return Size(area=size.area, text=f"{size.area:g} mm2", standard="metric")
    return None


def enough(study: Study, segment: Segment, amps: float) -> str:
    """What is rated some A continuous on a piece's route: the least standard size, as an imperative."""
    if (size := large_enough(study, segment, amps)) is not None:
        return f"use {size.text} or thicker for wire {segment.wire}"
    return f"lead wire {segment.wire} by a cooler route, or share its current between two leads"
