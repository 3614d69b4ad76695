"""What each conductor carries, what it may carry, what protects it and what is lost in it: the one home of all four.

    loading = study.conductors.of(segment)              # a piece of wire
    loading.continuous.amps, loading.ampacity, loading.protected_by, loading.side
    study.conductors.of_wire("12").drop                 # a wire with all its pieces
    study.conductors.overloaded()                       # the pieces that carry more than they may

A figure is worked out by the analysis that knows it, when it is first asked for, and kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Protocol

from ...lang.circuit.branch import Branch
from ...lang.model.wires import Segment
from ...lang.quantities.quantity import shown
from ...lang.quantities.ranking import exceeds, largest
from ...lang.records import dataclass
from ..findings.finding import Figure
from ..operation.peaks import peak_at
from ..operation.released import heating_before
from ..protection.warming import kept_at, short_time_limit
from ..tables.ampacity import Ampacity

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ..operation.operation import Loading, Operation, Peak
    from ..protection.protection import Protection
    from ..protection.sides import Side
    from ..protection.sustained_fault import SustainedFault
    from ..tables.profiles import Profile
    from .stator_leads import Alternating


class Analyses(Protocol):
    """Whoever has one circuit's numbers and its protection."""

    @property
    def circuit(self) -> Circuit:
        """The circuit."""

    @property
    def operation(self) -> Operation:
        """Its operating points."""

    @property
    def protection(self) -> Protection:
        """Its sustained fault currents."""


MORE_BEFORE = 1.1
"""Times the greatest continuous current that is known, what flows at most before a control is pressed (ours)."""


class ConductorLoading:
    """One piece of wire under load and under a fault."""

    def __init__(self, branch: Branch, segment: Segment, analyses: Analyses) -> None:
        self.branch = branch
        self.segment = segment
        self._analyses = analyses

    @cached_property
    def carries(self) -> Loading:
        """The most A in the named states and in the worst combinations, each with where that is."""
        return self._analyses.operation.loading(self.branch.key)

    @property
    def continuous(self) -> Peak:
        """The most A with every momentary control at rest and no cranking."""
        return self.carries.continuous

    @property
    def short_time(self) -> Peak:
        """The most A with anything held, or while the engine cranks."""
        return self.carries.held

    @cached_property
    def ampacity(self) -> Ampacity | None:
        """What it may carry continuously on its route; ``None`` without a size."""
        return self._analyses.protection.ampacities.of(self.segment)

    @cached_property
    def judged_by(self) -> Ampacity | None:
        """The same, by which currents are judged: of the class that its route needs, where its own leaves no rise."""
        return self._analyses.protection.ampacities.judged(self.segment)

    @cached_property
    def short_time_limit(self) -> float:
        """A that bring it from its ambient to the temperature of its class in the profile's cranking time, never less
        than it may carry; 0 without a size.
        """
        return self._short_time_limit(0.0)

    def _short_time_limit(self, before: float) -> float:
        protection = self._analyses.protection
        return short_time_limit(protection.ampacities, self.segment, protection.profile.cranking_seconds, before=before)

    def heated(self, before: float) -> tuple[float, float, float]:
        """The degC at which ``before`` A keep it, those of the class that it is judged by, and the hottest ambient."""
        return kept_at(self._analyses.protection.ampacities, self.segment, before)

    @property
    def protected_by(self) -> SustainedFault | None:
        """What a fault in it draws and which devices limit that; ``None`` where no feed but through consumers, or none,
        reaches it.
        """
        return self._analyses.protection.sustained_faults.get(self.segment.name)

    @cached_property
    def side(self) -> Side:
        """On which side of the consumers it is."""
        return self._analyses.protection.side(self.branch)

    def across(self) -> Iterator[tuple[str, float]]:
        """V across it in each named state that is solved."""
        for name, point in self._analyses.operation.points.items():
            yield name, point.across(self.branch.key)

    @property
    def drop(self) -> Drop | None:
        """The most V that is lost in it in a named state; ``None`` where no named state is solved."""
        return _greatest_drop((self,))

    @cached_property
    def overload(self) -> Overload | None:
        """By how much the worse of its two currents is above its limit; ``None`` where neither is, or no limit known.

        What flows with all momentary controls at rest must be within ampacity; what flows while one is held, or while
        the engine cranks, must not bring the conductor to the temperature of its class within the cranking time, from
        what it has with the controls released.
        """
        allowed = self.judged_by.amps if self.judged_by is not None else None
        if self.segment.size is None or allowed is None:
            return None  # `not-judged` lists it
        found = [Overload(self, self.continuous, allowed, held=False), *self._held_above(allowed)]
        return largest(
            (each for each in found if each.peak.amps > each.limit), key=lambda each: each.share, default=None
        )

    def _held_above(self, allowed: float) -> Iterator[Overload]:
        """What flows while anything is held, wherever that is above ampacity."""
        warmest = min(MORE_BEFORE * self.continuous.amps, allowed)
        if self.short_time.amps <= max(allowed, self._short_time_limit(warmest)):
            return  # so it is almost always, and nothing else need be solved
        operation = self._analyses.operation
        for point in operation.loaded_points:
            amps = point.heating_amps(self.branch.key)
            if point.momentary and amps > allowed:
                before = heating_before(operation, point, self.branch.key)
                limit = allowed if before is None else self._short_time_limit(before)
                yield Overload(self, peak_at(amps, point), limit, held=True, before=before or 0.0)


@dataclass(frozen=True, slots=True)
class Drop:
    """``volts`` V lost at most, and the named ``state`` in which that is."""

    volts: float
    state: str


def _greatest_drop(pieces: tuple[ConductorLoading, ...]) -> Drop | None:
    across: dict[str, float] = {}
    for piece in pieces:
        for name, volts in piece.across():
            across[name] = across.get(name, 0.0) + volts
    return largest(
        (Drop(abs(volts), name) for name, volts in across.items()), key=lambda drop: drop.volts, default=None
    )


@dataclass(frozen=True, slots=True)
class WireLoading:
    """A wire with all its pieces: of what one of them decides that of the worst, in the order of the text."""

    pieces: tuple[ConductorLoading, ...]

    @property
    def continuous(self) -> Peak:
        """The greatest current in A that no held control is needed for, and where it flows."""
        return largest((piece.continuous for piece in self.pieces), key=lambda peak: peak.amps)

    @property
    def short_time(self) -> Peak:
        """The greatest current in A while a control is held or the engine is cranked, and where it flows."""
        return largest((piece.short_time for piece in self.pieces), key=lambda peak: peak.amps)

    @property
    def drop(self) -> Drop | None:
        """The most V that is lost in all of it together in a named state."""
        return _greatest_drop(self.pieces)

    @property
    def metres(self) -> float | None:
        """Its length in m; ``None`` where that of a piece is not known."""
        lengths = [piece.segment.length for piece in self.pieces if piece.segment.length is not None]
        return sum(lengths) if len(lengths) == len(self.pieces) else None

    @property
    def sized(self) -> tuple[tuple[ConductorLoading, Ampacity], ...]:
        """The pieces that have a size, with their ampacity."""
        return tuple((piece, piece.ampacity) for piece in self.pieces if piece.ampacity is not None)

    @property
    def protected_by(self) -> SustainedFault | None:
        """What limits a fault where it draws most."""
        faults = (piece.protected_by for piece in self.pieces)
        return largest((fault for fault in faults if fault is not None), key=lambda fault: fault.amps, default=None)


class Conductors:
    """The conductors of one circuit."""

    def __init__(self, analyses: Analyses) -> None:
        self.analyses = analyses

    @cached_property
    def pieces(self) -> dict[str, ConductorLoading]:
        """Every piece of wire by its name, in the order of the text."""
        return {
            branch.segment.name: ConductorLoading(branch, branch.segment, self.analyses)
            for branch in self.analyses.circuit.branches
            if branch.segment is not None
        }

    def of(self, segment: Segment) -> ConductorLoading:
        """A piece of wire of this harness. Raises ``KeyError`` for one that it has not."""
        return self.pieces[segment.name]

    def of_wire(self, name: str) -> WireLoading:
        """A wire of this harness. Raises ``KeyError`` for one that it has not."""
        wire = self.analyses.circuit.harness.wires[name]
        return WireLoading(tuple(self.of(segment) for segment in wire.segments))

    def overloaded(self) -> tuple[Overload, ...]:
        """For each wire, the piece that is overloaded most, in the order of the text."""
        worst: dict[str, Overload] = {}
        for piece in self.pieces.values():
            found, wire = piece.overload, piece.segment.wire
            if found is not None and (wire not in worst or exceeds(found.share, worst[wire].share)):
                worst[wire] = found
        return tuple(worst.values())


@dataclass(frozen=True, slots=True)
class Overload:
    """A piece of wire whose greatest current is above its limit in A; ``held``: only while a control is held, with
    ``before`` A keeping it warm while none is.
    """

    loading: ConductorLoading
    peak: Peak
    limit: float
    held: bool
    before: float = 0.0

    @property
    def segment(self) -> Segment:
        """The piece of wire."""
        return self.loading.segment

    @property
    def ampacity(self) -> Ampacity:
        """By which it was judged."""
        found = self.loading.judged_by
        assert found is not None  # noqa: S101 -- nothing without one is overloaded
        return found

    @property
    def certain(self) -> bool:
        """Whether figures that were read find it, too: no row from memory decides an error by itself."""
        return self.peak.amps > (self.ampacity.certain or 0.0)

    @property
    def brief(self) -> bool:
        """Whether the time decides, and not ampacity."""
        return self.held and self.limit > (self.ampacity.amps or 0.0)

    @property
    def share(self) -> float:
        """Its current over its limit; infinite without a limit above 0."""
        return self.peak.amps / self.limit if self.limit else float("inf")

    def figures(self, seconds: float) -> tuple[Figure, ...]:
        """The numbers that decide."""
        allowed = f"rated for {shown(seconds)} s" if self.held else "rated continuous"
        return (Figure("current", self.peak.amps, "A"), Figure(allowed, self.limit, "A"))

    def source(self, profile: Profile) -> str:
        """Profile and table behind the limit."""
        if self.brief:
            start, highest, ambient = self.loading.heated(self.before)
            warm = f", warm from {shown(self.before)} A continuous" if start > ambient + 1.0 else " on its route"
            return (
                f"adiabatic equation (IEC 60364-5-54), from {shown(start)} degC{warm}, to the {shown(highest)} degC of "
                f"its class in {shown(profile.cranking_seconds)} s: Loomwright's limit"
            )
        return f"{self.ampacity.source}; {self.ampacity.why}; profile {profile.title}"


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
        """Its current over its ampacity; infinite without an ampacity above 0."""
        return self.load.amps / self.ampacity.amps if self.ampacity.amps else float("inf")


def stator_leads(alternating: Mapping[str, Alternating], conductors: Conductors) -> Iterator[StatorLead]:
    """For each wire between a winding and what it feeds, the piece that is overloaded most, by the text's order."""
    worst: dict[str, StatorLead] = {}
    for load in alternating.values():
        segment = load.branch.segment
        if segment is None or segment.size is None:
            continue  # a plug or a contact, which `overloaded-contact` judges; or a size that `not-judged` lists
        carries = conductors.of(segment).judged_by
        if carries is None or carries.amps is None:
            continue  # `not-judged` lists it
        lead = StatorLead(segment, load, carries)
        if load.amps > carries.amps and (segment.wire not in worst or exceeds(lead.share, worst[segment.wire].share)):
            worst[segment.wire] = lead
    yield from worst.values()
