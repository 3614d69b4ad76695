"""Sizing forward: what is too thin, which fuse is too large or too small, and which reason decides each.

Currents are those of the named states and of the worst combinations, with every conductor thick, so that they do not
depend on what is there now. Fuses come first: one that carries what flows stays, unless a smaller one that carries it
too spares the wires behind it; then each wire by current, by the fuse that must protect it and by what holds
mechanically; then wires are made thicker until no load loses more than it may and every dead short is cleared. What is
enough stays as it is: copper that is there is margin, and is made thinner only where that is asked for (``thinner``).
What comes out is checked like any harness: where a rule would find something that it does not find now, what that is
about stays as it is. Wires and fuses that are kept from an old harness are facts, and what is waived is not asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.build import build_circuit
from ...lang.circuit.circuit import Circuit
from ...lang.model.harness import Harness
from ...lang.model.parts import Fuse, Ground, Rectifier, Source
from ...lang.model.wires import Wire
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ...lang.quantities.units import metric
from ...lang.records import dataclass
from ...lang.search.blocks import between
from ..operation.load_status import battery_volts, load_status, must_get_volts
from ..operation.operation import Operation
from ..protection.prospective_fault import ProspectiveFault, ProspectiveFaults, heated, not_cleared
from ..protection.protection import Protection
from ..runner.run import rule_named
from ..tables.conductors import resistance_per_metre
from ..tables.fuses import continuous_amps, ratings
from ..tables.short_time import k_factor
from ..tables.workmanship import workmanship
from .criteria import (
    Need,
    Reason,
    Standard,
    at_least,
    fits_contacts,
    for_contacts,
    for_current,
    for_handling,
    for_held,
    is_same,
    ladder,
    standard_of,
)

if TYPE_CHECKING:
    from datetime import date

    from ...lang.model.harness import Reading
    from ..findings.finding import Finding, Level
    from ..logic import SwitchingLogic
    from ..operation.operation import OperatingPoint
    from ..tables.profiles import Profile

_Known = dict[tuple[object, ...], "tuple[Finding, ...]"]
"""What the rules find for sizes of wires and ratings of fuses."""

RULES_OF: Final[Mapping[Reason, tuple[str, ...]]] = {
    "current": ("thin-conductor", "thin-return"),
    "held": ("thin-conductor", "thin-return"),
    "fuse": ("oversized-fuse",),
    "drop": ("voltage-drop",),
    "dead short": ("short-not-cleared",),
    "mechanical": ("house-size",),
}
"""The rules that ask a wire for what a need asks for: where one is waived for the wire, the need is not asked."""

_ROUNDING: Final = 1e-9
"""A by which two ratings may differ and be the same."""

THICK: Final = "50"
"""mm2 of every wire while currents are found: what flows then is the most that can."""

MOST_ROUNDS: Final = 12
"""So often volts and shorts are asked again, and so often the whole; a harness takes two or three (ours)."""

DEFAULT_FORM: Final = "blade"
"""The form of a fuse that does not say its own."""


class UnknownNameError(KeyError):
    """A name that is neither a wire's nor a fuse's; ``known`` are those."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        super().__init__(name)
        self.name, self.known = name, known


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedWire:
    """A wire: what it has, what is proposed, and why.

    ``metric`` and ``awg`` are the smallest of each ladder, ``proposed`` the one of its own, or what it has where that
    is enough and no thicker. ``needs`` are all reasons, ``decides`` the one that asks for most. ``left`` says why the
    wire stays as it is whatever it needs; ``short_of`` what no size of the ladder gives it. ``amps`` is the continuous
    current, ``held`` the greatest while a control is held.
    """

    name: str
    present: Size | None
    proposed: Size | None
    metric: Size | None
    awg: Size | None
    decides: Need | None
    needs: tuple[Need, ...]
    amps: float
    held: float
    metres: float | None
    left: str = ""
    short_of: str = ""

    @property
    def changes(self) -> bool:
        return self.proposed is not None and self.proposed != self.present


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedFuse:
    """A fuse: the rating it has in A, the one proposed, what flows through it, and what decides."""

    name: str
    form: str
    present: float | None
    proposed: float | None
    says: str
    amps: float
    held: float
    left: str = ""

    @property
    def changes(self) -> bool:
        return self.proposed is not None and self.proposed != self.present


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """What is proposed for a harness. ``remarks`` are lines about what could not be judged or met."""

    wires: tuple[SizedWire, ...]
    fuses: tuple[SizedFuse, ...]
    remarks: tuple[str, ...]
    profile: str

    @property
    def sizes(self) -> dict[str, Size]:
        """The new size of each wire that gets one."""
        return {wire.name: wire.proposed for wire in self.wires if wire.changes and wire.proposed is not None}

    @property
    def ratings(self) -> dict[str, float]:
        """The new rating in A of each fuse that gets one."""
        return {fuse.name: fuse.proposed for fuse in self.fuses if fuse.changes and fuse.proposed is not None}


def sizing(
    reading: Reading,
    *,
    today: date,
    profile: Profile,
    names: Iterable[str] = (),
    foreign: Iterable[str] = (),
    thinner: bool = False,
) -> Sizing:
    """What a harness without mistakes needs. ``names``: only these wires and fuses; all others are facts then.

    ``foreign`` are wires and fuses whose text is not the user's to change. ``thinner``: propose the smallest size and
    rating that is enough, too, in place of one that is there and larger. Raises ``UnknownNameError``.
    """
    harness = reading.harness
    known = (*harness.wires, *(name for name, part in harness.parts.items() if isinstance(part, Fuse)))
    asked = tuple(names)
    for name in asked:
        if name not in known:
            raise UnknownNameError(name, known)
    facts = _facts(harness, asked or known, foreign)
    checked: _Known = {}
    final, restless = _at_rest(harness, facts, today, profile, checked, thinner=thinner)
    while restless:  # a wire or a fuse more stays as it is each time
        facts |= dict.fromkeys(restless, "as it is: no other size of it comes to rest")
        final, restless = _at_rest(harness, facts, today, profile, checked, thinner=thinner)
    if not asked:
        return final
    return replace(
        final,
        wires=tuple(wire for wire in final.wires if wire.name in asked),
        fuses=tuple(fuse for fuse in final.fuses if fuse.name in asked),
    )


def _at_rest(
    harness: Harness, facts: Mapping[str, str], today: date, profile: Profile, checked: _Known, *, thinner: bool
) -> tuple[Sizing, tuple[str, ...]]:
    """What is proposed, and still is once it is there: else writing it would never come to an end. With it the wires
    and fuses of which that is not so.
    """
    sizes: dict[str, Size] = {}
    rated: dict[str, float] = {}
    for _ in range(MOST_ROUNDS):
        there = resized(harness, sizes, rated)
        found = _Sizer(there, facts, today, profile, checked, thinner=thinner).run()
        if not found.sizes and not found.ratings:
            return _over(harness, found, sizes, rated), ()
        sizes, rated = {**sizes, **found.sizes}, {**rated, **found.ratings}
    return found, tuple(sorted((*found.sizes, *found.ratings)))


def _over(harness: Harness, found: Sizing, sizes: Mapping[str, Size], rated: Mapping[str, float]) -> Sizing:
    """What was found for a harness with these sizes and ratings already in it, seen from the one without."""
    wires = []
    for wire in found.wires:
        proposed = sizes.get(wire.name, wire.proposed)
        wires.append(replace(wire, present=harness.wires[wire.name].size, proposed=proposed))
    fuses = []
    for fuse in found.fuses:
        part = harness.parts[fuse.name]
        present = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
        fuses.append(replace(fuse, present=present, proposed=rated.get(fuse.name, fuse.proposed)))
    return replace(found, wires=tuple(wires), fuses=tuple(fuses))


def _facts(harness: Harness, asked: Iterable[str], foreign: Iterable[str]) -> dict[str, str]:
    """The wires and fuses that stay as they are, and why."""
    asked, foreign = set(asked), set(foreign)
    facts: dict[str, str] = {}
    for name, wire in harness.wires.items():
        if wire.kept:
            facts[name] = "kept from the old harness"
        elif name in foreign:
            facts[name] = "its text comes with the tool"
        elif name not in asked:
            facts[name] = "not asked for"
    for name, part in harness.parts.items():
        if not isinstance(part, Fuse):
            continue
        if part.kept:
            facts[name] = "kept from the old harness"
        elif name in foreign:
            facts[name] = "its text comes with the tool"
        elif part.amps is None and part.blows is not None:
            facts[name] = f"marked by what blows it, {shown(part.blows)} A"
        elif part.pattern is not None:
            facts[name] = f"its pattern {part.pattern} may say its rating"
        elif not ratings(part.form or DEFAULT_FORM):
            facts[name] = f"no ratings of a {part.form} are known"
        elif name not in asked:
            facts[name] = "not asked for"
    return facts


def resized(harness: Harness, sizes: Mapping[str, Size], rated: Mapping[str, float]) -> Harness:
    """The same harness with other sizes of some wires and other ratings in A of some fuses."""
    wires = dict(harness.wires)
    for name, size in sizes.items():
        wire = wires[name]
        wires[name] = replace(wire, size=size, segments=tuple(replace(segment, size=size) for segment in wire.segments))
    parts = dict(harness.parts)
    for name, amps in rated.items():
        part = parts[name]
        if isinstance(part, Fuse):
            parts[name] = replace(part, amps=amps, blows=None)
    return replace(harness, wires=wires, parts=parts)


# --- one round --------------------------------------------------------------------------------------------------------
@dataclass(slots=True)
class _Extra:
    """What a wire needs beyond its own current: for volts, for shorts, for the check, for what is not known."""

    needs: dict[Reason, Need] = field(default_factory=dict)

    def add(self, new: Need) -> bool:
        """Takes a need in where it asks for more than one of the same reason; tells whether it did."""
        old = self.needs.get(new.reason)
        if old is not None and new.metric == old.metric and new.awg == old.awg:
            return False
        self.needs[new.reason] = new
        return True


class _Sizer:
    """Sizes for one harness as it is."""

    def __init__(
        self,
        harness: Harness,
        facts: Mapping[str, str],
        today: date,
        profile: Profile,
        known: _Known,
        *,
        thinner: bool = False,
    ) -> None:
        self.thinner = thinner
        self.harness = harness
        self.facts = dict(facts)
        self.today = today
        self.profile = profile
        self.known = known
        self.pinned: set[str] = set()
        self.remarks: dict[str, None] = {}
        self.extra: dict[str, _Extra] = {}

    def run(self) -> Sizing:
        if self.protection_now.shorted:
            return self._nothing("a dead short joins the poles of a source: clear it first, then size")
        for _ in range(MOST_ROUNDS):
            rated = self._ratings()
            local = self._local(rated)
            self._for_volts(local, rated)
            self._for_shorts(local, rated)
            sizes = self._sizes(local)
            worse = self._worse(sizes, rated)
            if not worse or not self._hold(worse, sizes, rated):
                break
        if worse:
            return self._nothing("no proposal: the sizes worked out would bring new findings")
        return self._sizing(local, sizes, rated)

    # --- what is there ------------------------------------------------------------------------------------------------
    @cached_property
    def circuit(self) -> Circuit:
        return build_circuit(self.harness)

    @cached_property
    def logic(self) -> SwitchingLogic:
        """The logic, which no size changes."""
        from ..logic import SwitchingLogic

        return SwitchingLogic(self.circuit)

    @cached_property
    def protection_now(self) -> Protection:
        return Protection(self.circuit, self.profile)

    @property
    def free(self) -> dict[str, Wire]:
        """The wires whose size can be chosen."""
        return {name: wire for name, wire in self.harness.wires.items() if name not in self.facts}

    @cached_property
    def fuses(self) -> dict[str, Fuse]:
        return {name: part for name, part in self.harness.parts.items() if isinstance(part, Fuse)}

    @cached_property
    def thick(self) -> Harness:
        return resized(self.harness, dict.fromkeys(self.free, metric(THICK)), {})

    @cached_property
    def operation(self) -> Operation:
        """What flows with every free wire thick."""
        return Operation(build_circuit(self.thick), self.logic)

    # --- fuses --------------------------------------------------------------------------------------------------------
    @cached_property
    def _sold(self) -> dict[str, tuple[float, ...]]:
        """For every fuse that can be chosen the ratings sold that carry what flows, the least first."""
        found: dict[str, tuple[float, ...]] = {}
        for name, fuse in self.fuses.items():
            least = 0.0 if name in self.facts else max(self._least_rating(name))
            if least > 0.0:
                found[name] = tuple(amps for amps in ratings(fuse.form or DEFAULT_FORM) if amps >= least)
        return found

    def _ratings(self) -> dict[str, float]:
        """The rating of every fuse that can be chosen: its own where that carries what flows and its wires carry that;
        else a smaller one that spares the wires, or the least sold that carries what flows.
        """
        chosen: dict[str, float] = {}
        for name, sold in self._sold.items():
            if name in self.pinned or not sold:
                continue
            present = continuous_amps(self.fuses[name].amps, self.fuses[name].blows)
            if self.thinner or present is None:
                chosen[name] = sold[0]
            elif present < sold[0] - _ROUNDING:
                chosen[name] = present if self._is_waived(name, "overloaded-fuse") else sold[0]
            else:
                chosen[name] = self._sparing.get(name, present)
        return chosen

    @cached_property
    def _sparing(self) -> dict[str, float]:
        """The fuses of which a smaller one leaves fewer wires too thin than the one that is there, with the largest
        such rating: it costs less than thicker wires, and no wire gets hotter for it.
        """
        found: dict[str, float] = {}
        for name, sold in self._sold.items():
            present = continuous_amps(self.fuses[name].amps, self.fuses[name].blows)
            if present is None or name in self.pinned or self._is_waived(name, "oversized-fuse"):
                continue
            fewest = len(self._too_thin({}, name))
            for amps in sorted((each for each in sold if each < present - _ROUNDING), reverse=True):
                if not fewest:
                    break
                thin = len(self._too_thin({name: amps}, name))
                if thin < fewest:
                    fewest, found[name] = thin, amps
        return found

    def _too_thin(self, rated: Mapping[str, float], name: str) -> tuple[str, ...]:
        """The wires that a fuse protects, alone or with others, and that carry less than it lets flow."""
        protection = self.protection_now if not rated else self._protection_with(rated)
        thin = {
            sustained_fault.conductor.owner
            for sustained_fault in protection.sustained_faults.values()
            if (segment := sustained_fault.conductor.segment) is not None
            and name in sustained_fault.devices
            and sustained_fault.known
            and sustained_fault.conductor.key not in protection.cranking
            and not self._is_waived(segment.wire, "oversized-fuse")
            and (carries := protection.ampacity(segment)) is not None
            and carries.amps is not None
            and carries.amps < sustained_fault.amps / protection.profile.fuse_warning_share
        }
        return tuple(sorted(thin))

    def _protection_with(self, rated: Mapping[str, float]) -> Protection:
        return Protection(build_circuit(resized(self.harness, {}, rated)), self.profile)

    def _is_waived(self, name: str, *rules: str) -> bool:
        """Whether the user lets a wire or fuse be what one of these rules finds fault with, in every state."""
        return any(
            name in waiver.names and (rule := rule_named(waiver.rule)) is not None and rule.name in rules
            for waiver in self.harness.waivers
            if (waiver.until is None or waiver.until >= self.today) and not getattr(waiver, "state", "")
        )

    def _least_rating(self, name: str) -> tuple[float, float, float]:
        """The A that a fuse needs for what flows for ever, while a control is held, and for what a machine gives."""
        loading = self.operation.loading(name)
        held = max(loading.held.amps, 0.0) / self.profile.held_share
        return loading.continuous.amps / self.profile.continuous_share, held, self._charging.get(name, 0.0)

    @cached_property
    def _charging(self) -> dict[str, float]:
        """The most A that machines give through each branch that is all the way to a battery, or back: a flat one takes
        all of it, and no state shows that.
        """
        protection = self.protection_now
        batteries = [s for s in protection.sources if s.kind == "battery"]
        found: dict[str, float] = {}
        for supply in protection.sources:
            amps = None if supply.kind == "battery" else protection.machine_amps(supply)
            for start, ends in (
                (supply.plus[0], [battery.plus[0] for battery in batteries]),
                (supply.minus, [battery.minus for battery in batteries]),
            ):
                for key in _only_ways(self.circuit, start, ends) if amps else ():
                    found[key] = found.get(key, 0.0) + (amps or 0.0)
        return found

    # --- what each wire needs by itself -------------------------------------------------------------------------------
    def _local(self, rated: Mapping[str, float]) -> dict[str, tuple[Need, ...]]:
        protection = Protection(build_circuit(resized(self.thick, {}, rated)), self.profile)
        faults = _faults_returned(protection)
        return {
            name: tuple(
                need
                for need in self._needs(wire, protection, faults)
                if not self._is_waived(name, *RULES_OF.get(need.reason, ()))
            )
            for name, wire in self.free.items()
        }

    def _needs(self, wire: Wire, protection: Protection, faults: Mapping[str, tuple[float, str]]) -> Iterator[Need]:
        loads = [self.operation.loading(f"wire {segment.name}") for segment in wire.segments]
        amps, held = max(load.continuous.amps for load in loads), max(load.held.amps for load in loads)
        yield for_handling(self.harness, max(amps, held))
        if wire.name in self._main_leads and (main := _main_feed(self.protection_now)) is not None:
            yield at_least("main lead", f"no thinner than the main feed, {main.text}", main.area)
        if amps > 0.0:
            yield for_current(protection, wire.segments, amps, f"{shown(amps)} A continuous", "current")
        charging = max(self._charging.get(f"wire {segment.name}", 0.0) for segment in wire.segments)
        if charging > amps:
            yield for_current(
                protection, wire.segments, charging, f"{shown(charging)} A into a flat battery", "current"
            )
        if held > amps:
            seconds = protection.profile.cranking_seconds
            yield for_held(protection, wire.segments, held, f"{shown(held)} A short-time, {shown(seconds)} s")
        share = protection.profile.fuse_warning_share
        exposed = [
            protection.sustained_faults[segment.name]
            for segment in wire.segments
            if segment.name in protection.sustained_faults
        ]
        exposed = [each for each in exposed if each.conductor.key not in protection.cranking]
        limited = [each for each in exposed if each.devices and each.known]
        if limited:
            worst = max(limited, key=lambda each: each.amps)
            says = " and ".join(f"{limit.name} {shown(limit.amps or 0.0)} A" for limit in worst.limits)
            yield for_current(protection, wire.segments, worst.amps / share, f"protected by {says}", "fuse")
        for each in exposed:
            beyond = {} if each.protected else _fuses_beyond(protection, each.conductor)
            total = sum(amps or 0.0 for amps in beyond.values())
            if total > 0.0:
                says = f"feeds {' and '.join(f'{name} {shown(amps)} A' for name, amps in beyond.items() if amps)}"
                yield for_current(protection, wire.segments, total, says, "fuse")
        returned = max(
            (faults[key] for segment in wire.segments if (key := f"wire {segment.name}") in faults), default=None
        )
        if returned is not None:
            amps, names = returned
            says = f"returns a fault behind {names}"
            yield for_current(protection, wire.segments, amps, says, "fuse")
        if why := self._unknown.get(wire.name):
            present = wire.size
            yield at_least("unknown", why, present.area if present else math.inf)

    @cached_property
    def _unknown(self) -> dict[str, str]:
        """Wires of which some current, or the length, is not known, and what is not: they are never made thinner."""
        found: dict[str, str] = {}
        for name, wire in self.harness.wires.items():
            if any(segment.length is None for segment in wire.segments):
                found[name] = "its length is not known"
        for branch, what in self._unrated():
            for name in self._wires_to(branch):
                found.setdefault(name, f"what {branch.key} takes is not known: its {what} is not written")
        for name in _alternating(self.protection_now):
            found.setdefault(name, "alternating current is not solved")
        for sustained_fault in self.protection_now.sustained_faults.values():
            lacking = [
                limit.name for limit in sustained_fault.limits if limit.amps is None and limit.name not in self.fuses
            ]
            if lacking:
                found.setdefault(
                    sustained_fault.conductor.owner, f"{lacking[0]} may add any current: its rating is not written"
                )
        return found

    def _unrated(self) -> Iterator[tuple[Branch, str]]:
        """The consumers that have no numbers."""
        left_out = {(each.owner, each.what) for each in self.operation.missing if not each.instead}
        for branch in self.circuit.branches:
            if branch.branch_type.consumes:
                for owner, what in sorted(left_out):
                    if owner in (branch.key, branch.part):
                        yield branch, what

    def _wires_to(self, consumer: Branch) -> set[str]:
        """The wires on some way from a source to a consumer, or back."""
        branches = [b for b in self.circuit.branches if b.branch_type.joined is not Direction.NEVER]
        edges = [(b.a, b.b) for b in branches]
        known = {node for edge in edges for node in edge}
        poles = {pole for s in self.protection_now.sources for pole in (*s.plus, s.minus)} & known
        ends = {consumer.a, consumer.b} & known
        return {
            branches[i].owner
            for pole in poles
            for end in ends
            for i in between(edges, pole, end)
            if branches[i].segment is not None
        }

    @cached_property
    def _main_leads(self) -> frozenset[str]:
        """The wires of the starter's current, there and back, of the battery's return pole, and between bodies of
        ground: what they carry when a joint beside them fails, or in the cold, is more than any state shows.
        """
        protection = self.protection_now
        bodies = {part.name for part in self.harness.parts.values() if isinstance(part, Ground)}
        bodies |= {protection.return_pole(s) for s in protection.sources if s.kind == "battery"}
        starting = protection.cranking | protection.cranking_returns
        return frozenset(
            branch.owner
            for branch in self.circuit.branches
            if branch.segment is not None and (branch.key in starting or (branch.a in bodies and branch.b in bodies))
        )

    # --- sizes from needs ---------------------------------------------------------------------------------------------
    def _all_needs(self, local: Mapping[str, tuple[Need, ...]], name: str) -> tuple[Need, ...]:
        extra = self.extra.get(name)
        return (*local[name], *(extra.needs.values() if extra else ()))

    def _choice(self, local: Mapping[str, tuple[Need, ...]], name: str) -> _Choice:
        """The smallest of each ladder that meets every need, and of both the one for this wire."""
        wire = self.free[name]
        needs = self._all_needs(local, name)
        least: dict[Standard, Size | None] = {standard: _greatest(needs, standard) for standard in ("metric", "AWG")}
        taken = for_contacts(self.harness, wire, least)
        if taken is not None:
            needs = (*needs, taken)
            least = {"metric": taken.metric, "AWG": taken.awg}
        own = least[standard_of(wire.size)]
        present = wire.size
        enough = present is not None and all(each.fits(present.area) for each in needs)
        if present is not None and enough:
            stays = not self.thinner or own is None or present.area <= own.area or is_same(present, own)
            own = present if stays else own
        return _Choice(own, least["metric"], least["AWG"], needs)

    def _sizes(self, local: Mapping[str, tuple[Need, ...]]) -> dict[str, Size]:
        """The size of every free wire; where no size will do, the one that it has."""
        sizes = {}
        for name, wire in self.free.items():
            size = self._choice(local, name).own or wire.size
            if size is not None:
                sizes[name] = size
        return sizes

    def _next(self, name: str, area: float) -> Size | None:
        """The next thicker size of a wire's ladder that its contacts take and the steering bends."""
        wire = self.free[name]
        limit = workmanship("largest_steered_area").value if any(p.flexing for p in wire.segments) else math.inf
        for size in ladder(standard_of(wire.size)):
            if size.area > area and size.area <= limit and fits_contacts(self.harness, wire, size.area):
                return size
        return None

    # --- volts --------------------------------------------------------------------------------------------------------
    def _for_volts(self, local: Mapping[str, tuple[Need, ...]], rated: Mapping[str, float]) -> None:
        """Thicker wires until no load in a named state gets less than its share of the battery's volts."""
        hopeless: set[tuple[str, str]] = set()
        for _ in range(MOST_ROUNDS):
            sizes = self._sizes(local)
            operation = Operation(build_circuit(resized(self.harness, sizes, rated)), self.logic)
            areas = {name: size.area for name, size in sizes.items()}
            lacking = [
                each
                for each in _shortfalls(operation, self.profile.volt_share)
                if (each.point.state, each.branch.key) not in hopeless
                and not self._is_waived(each.branch.part, "voltage-drop")
            ]
            if not lacking:
                return
            for each in sorted(lacking, key=lambda short: (-short.volts, short.point.state, short.branch.key)):
                self._thicken(each, areas, hopeless)

    def _thicken(self, lacking: _Shortfall, areas: dict[str, float], hopeless: set[tuple[str, str]]) -> None:
        """Makes wires on the way of a load thicker, the one first that gains most for its copper.

        Where all of them at their thickest do not gain enough, none is touched, and none gets thinner than it is.
        """
        losses = [(b, v) for b, v in lacking.point.connectivity.losses(lacking.branch.key) if v > 0.0]
        start = {
            b.owner: lacking.areas[b.owner]
            for b, _ in losses
            if b.segment and b.owner in self.free and b.owner in areas
        }
        lost = {name: sum(v for b, v in losses if b.owner == name) for name in start}
        metres = {
            name: sum(b.segment.length or 0.0 for b, _ in losses if b.segment and b.owner == name) for name in start
        }
        tried = {name: areas[name] for name in start}

        def now(name: str, area: float) -> float:
            return lost[name] * resistance_per_metre(area) / resistance_per_metre(start[name])

        def price(step: tuple[str, Size]) -> tuple[float, str]:
            """The copper that a step costs for each volt that it saves."""
            name, size = step
            copper = (size.area - tried[name]) * max(metres[name], 1e-3)
            return copper / max(now(name, tried[name]) - now(name, size.area), 1e-12), name

        chosen: dict[str, Size] = {}
        while sum(lost[name] - now(name, tried[name]) for name in start) < lacking.volts:
            steps = [(name, size) for name in start if (size := self._next(name, tried[name])) is not None]
            if not steps:
                hopeless.add((lacking.point.state, lacking.branch.key))
                self.remarks[lacking.remark] = None
                for name in start:
                    self._keep(name, f"{lacking.branch.key} loses volts that no wire saves")
                return
            name, size = min(steps, key=price)
            tried[name], chosen[name] = size.area, size
        most = f"{shown((1.0 - self.profile.volt_share) * 100.0)} %"
        says = f"{lacking.branch.key} in {lacking.point.state} may lose {most}"
        for name, size in chosen.items():
            areas[name] = size.area
            self._extra(name).add(at_least("drop", says, size.area))

    def _extra(self, name: str) -> _Extra:
        return self.extra.setdefault(name, _Extra())

    def _keep(self, name: str, says: str) -> None:
        """A wire is never made thinner than it is."""
        if (present := self.free[name].size) is not None:
            self._extra(name).add(at_least("check", says, present.area))

    # --- shorts -------------------------------------------------------------------------------------------------------
    def _for_shorts(self, local: Mapping[str, tuple[Need, ...]], rated: Mapping[str, float]) -> None:
        """Thicker wires until a dead short at the end of each opens its fuse in time and heats nothing too far."""
        seconds = self.profile.clearing_seconds
        hopeless: set[str] = set()
        for _ in range(len(self.free) * len(ladder("metric"))):
            sizes = self._sizes(local)
            circuit = build_circuit(resized(self.harness, sizes, rated))
            protection = Protection(circuit, self.profile)
            analysis = ProspectiveFaults(circuit, protection)
            shorts = list(analysis.shorts())
            changed = False
            for hot in heated(shorts, seconds):
                name = hot.wire.owner
                if (
                    name in self.free
                    and hot.wire.segment is not None
                    and not self._is_waived(name, "short-not-cleared")
                ):
                    area = math.sqrt(hot.short.i2t) / k_factor(hot.wire.segment.wire_class)
                    first = hot.short.devices[0]
                    says = f"{first.name} passes {shown(hot.short.i2t)} A2s"
                    changed |= self._extra(name).add(_exactly("dead short", says, area))
            greatest = analysis.battery[0] / analysis.battery[1] if analysis.battery else 0.0
            for short in not_cleared(shorts, seconds):
                carries = protection.ampacity(short.wire.segment) if short.wire.segment else None
                harmless = carries is not None and carries.amps is not None and greatest <= carries.amps
                waived = self._is_waived(short.wire.owner, "short-not-cleared")
                if not harmless and not waived and short.wire.key not in hopeless:
                    if self._shorten(short, sizes):
                        changed = True
                    else:
                        hopeless.add(short.wire.key)
                        self.remarks[
                            f"a dead short at the end of wire {short.wire.owner} is not cleared by any size"
                        ] = None
            if not changed:
                return

    def _shorten(self, short: ProspectiveFault, sizes: Mapping[str, Size]) -> bool:
        """One step thicker for the wire of a short's loop that has most resistance; false where none can be."""
        steps: dict[str, tuple[float, Size]] = {}
        for branch in short.loop:
            name = branch.owner
            if (
                name in self.free
                and name in sizes
                and (size := self._next(name, sizes[name].area)) is not None
                and branch.segment
            ):
                ohms = resistance_per_metre(sizes[name].area) * (branch.segment.length or 0.0)
                steps[name] = (steps.get(name, (0.0, size))[0] + ohms, size)
        if not steps:
            return False
        name = max(steps, key=lambda each: (steps[each][0], each))
        says = f"{short.devices[0].name} must open within {shown(self.profile.clearing_seconds)} s"
        return self._extra(name).add(at_least("dead short", says, steps[name][1].area))

    # --- the check ----------------------------------------------------------------------------------------------------
    @cached_property
    def _now(self) -> dict[tuple[object, ...], Level]:
        return _gravest(self._found(self.harness))

    def _found(self, harness: Harness) -> tuple[Finding, ...]:
        """What the rules find; asked once for the same sizes and ratings."""
        from ..runner.run import apply_waivers
        from ..study import Study

        fuses = [(name, part) for name, part in harness.parts.items() if isinstance(part, Fuse)]
        key = (tuple(wire.size for wire in harness.wires.values()), tuple(fuse.amps for _, fuse in fuses))
        if key not in self.known:
            found = Study(harness, today=self.today, profile=self.profile).found
            self.known[key], _ = apply_waivers(harness, found, self.today)
        return self.known[key]

    def _worse(self, sizes: Mapping[str, Size], rated: Mapping[str, float]) -> tuple[Finding, ...]:
        """What a check would find that it does not find now, or finds worse."""
        new = {n: s for n, s in sizes.items() if s != self.free[n].size}
        turned = {n: r for n, r in rated.items() if r != self.fuses[n].amps}
        if not new and not turned:
            return ()
        found = self._found(resized(self.harness, new, turned))
        return tuple(f for f in found if f.level > self._now.get(_place(f), -1))

    def _hold(self, worse: Iterable[Finding], sizes: Mapping[str, Size], rated: Mapping[str, float]) -> bool:
        """Leaves what new findings are about as it is; where they name nothing that changed, everything. False where
        nothing is left to hold.
        """
        wires = {n for n, s in sizes.items() if s != self.free[n].size}
        fuses = {n for n, r in rated.items() if r != self.fuses[n].amps} - self.pinned
        held = False
        for finding in worse:
            named = {name.removeprefix("wire ").partition(".")[0] for name in (*finding.about, *finding.path)}
            touched = (named & (wires | fuses)) or (wires | fuses)
            says = f"{finding.rule} finds nothing that way"
            for name in sorted(touched):
                held |= self._hold_one(name, says, sizes)
        return held

    def _hold_one(self, name: str, says: str, sizes: Mapping[str, Size]) -> bool:
        if name in self.fuses:
            fresh = name not in self.pinned
            self.pinned.add(name)
            return fresh
        if name in self.facts:
            return False  # another finding holds it already
        present = self.free[name].size
        if present is not None and present.area > sizes[name].area:
            return self._extra(name).add(at_least("check", says, present.area))
        if present is None:
            thicker = self._next(name, sizes[name].area)
            return thicker is not None and self._extra(name).add(at_least("check", says, thicker.area))
        self.facts[name] = (
            f"as it is: another size would bring a finding of {says.removesuffix(' finds nothing that way')}"
        )
        return True

    # --- what comes out -----------------------------------------------------------------------------------------------
    def _nothing(self, why: str) -> Sizing:
        self.remarks = {why: None}
        wires = [self._fact(name, wire, self.facts.get(name, why)) for name, wire in self.harness.wires.items()]
        fuses = [self._fuse(name, {}, self.facts.get(name, why)) for name in self.fuses]
        return Sizing(wires=tuple(wires), fuses=tuple(fuses), remarks=tuple(self.remarks), profile=self.profile.title)

    def _fact(self, name: str, wire: Wire, why: str) -> SizedWire:
        return SizedWire(
            name=name,
            present=wire.size,
            proposed=wire.size,
            metric=None,
            awg=None,
            decides=None,
            needs=(),
            left=why,
            **self._amps(wire),
        )

    def _amps(self, wire: Wire) -> dict[str, Any]:
        if self.protection_now.shorted:
            return {"amps": 0.0, "held": 0.0, "metres": None}
        loads = [self.operation.loading(f"wire {segment.name}") for segment in wire.segments]
        lengths = [segment.length for segment in wire.segments if segment.length is not None]
        return {
            "amps": max(load.continuous.amps for load in loads),
            "held": max(load.held.amps for load in loads),
            "metres": sum(lengths) if len(lengths) == len(wire.segments) else None,
        }

    def _sizing(
        self, local: Mapping[str, tuple[Need, ...]], sizes: Mapping[str, Size], rated: Mapping[str, float]
    ) -> Sizing:
        wires = []
        for name, wire in self.harness.wires.items():
            if name in self.facts:
                wires.append(self._fact(name, wire, self.facts[name]))
                continue
            choice = self._choice(local, name)
            short_of = ""
            if choice.own is None:
                lacking = [each.says for each in choice.needs if each.size(standard_of(wire.size)) is None]
                short_of = f"no size does: {'; '.join(lacking)}"
            wires.append(
                SizedWire(
                    name=name,
                    present=wire.size,
                    proposed=sizes.get(name),
                    metric=choice.metric,
                    awg=choice.awg,
                    decides=_decides(choice.needs, standard_of(wire.size)),
                    needs=choice.needs,
                    short_of=short_of,
                    **self._amps(wire),
                )
            )
        fuses = [self._fuse(name, rated, self.facts.get(name, "")) for name in self.fuses]
        self._say_what_is_not_judged()
        return Sizing(wires=tuple(wires), fuses=tuple(fuses), remarks=tuple(self.remarks), profile=self.profile.title)

    def _fuse(self, name: str, rated: Mapping[str, float], left: str) -> SizedFuse:
        fuse = self.fuses[name]
        present = continuous_amps(fuse.amps, fuse.blows)
        says, amps, held = "", 0.0, 0.0
        if not self.protection_now.shorted:
            loading = self.operation.loading(name)
            amps, held = loading.continuous.amps, loading.held.amps
            needs = self._least_rating(name)
            words = (
                f"{shown(amps)} A continuous, {shown(self.profile.continuous_share * 100.0)} % of its rating at most",
                f"{shown(held)} A short-time",
                f"{shown(needs[2])} A into a flat battery",
            )
            if max(needs) > 0.0:
                says = words[needs.index(max(needs))]
        if not left and name in self.pinned:
            left = "another rating would bring a new finding"
        elif not left and name not in rated:
            left = "its current is not known" if not says else "no such rating is sold"
        return SizedFuse(
            name=name,
            form=fuse.form or DEFAULT_FORM,
            present=present,
            proposed=rated.get(name, present),
            says=says,
            amps=amps,
            held=held,
            left=left,
        )

    def _say_what_is_not_judged(self) -> None:
        live = {
            branch.key
            for point in self.operation.points.values()
            for branch in self.circuit.branches
            if must_get_volts(branch) and point.connectivity.joined(branch.key)
        }
        dark = [b.key for b in self.circuit.branches if must_get_volts(b) and b.key not in live]
        if dark:
            self.remarks[f"drop not judged, since no named state feeds it: {', '.join(dark)}"] = None
        if ProspectiveFaults(self.circuit, self.protection_now).battery is None:
            self.remarks["dead shorts not judged: the battery's volts and ohms are not written"] = None
        typical = [f"{each.owner} {each.what} ({each.instead})" for each in self.operation.missing if each.instead]
        if typical:
            self.remarks[f"not written, and taken as usual: {', '.join(typical)}"] = None


@dataclass(frozen=True, slots=True)
class _Choice:
    own: Size | None
    metric: Size | None
    awg: Size | None
    needs: tuple[Need, ...]


def _greatest(needs: Iterable[Need], standard: Standard) -> Size | None:
    """The thickest size that a need asks for; ``None`` where one of them is met by none."""
    sizes = [each.size(standard) for each in needs]
    known = [size for size in sizes if size is not None]
    return max(known, key=lambda size: size.area) if len(known) == len(sizes) else None


def _decides(needs: Iterable[Need], standard: Standard) -> Need:
    """The need that asks for the thickest size; of several the first."""
    return max(needs, key=lambda each: math.inf if (size := each.size(standard)) is None else size.area)


def _exactly(reason: Reason, says: str, area: float) -> Need:
    from .criteria import need

    return need(reason, says, lambda found: found >= area)


def _place(finding: Finding) -> tuple[object, ...]:
    return (finding.rule, finding.span)


def _gravest(found: Iterable[Finding]) -> dict[tuple[object, ...], Level]:
    levels: dict[tuple[object, ...], Level] = {}
    for finding in found:
        place = _place(finding)
        levels[place] = max(finding.level, levels.get(place, finding.level))
    return levels


@dataclass(frozen=True, slots=True)
class _Shortfall:
    """A load that gets too little at a point: ``volts`` more would be enough. ``areas`` are those it was found with."""

    branch: Branch
    point: OperatingPoint
    volts: float
    remark: str
    areas: Mapping[str, float]


def _shortfalls(operation: Operation, allowed: float) -> Iterator[_Shortfall]:
    """The loads of the named states that the rule on drop would find."""
    areas = {name: wire.size.area for name, wire in operation.circuit.harness.wires.items() if wire.size}
    for branch in operation.circuit.branches:
        if not must_get_volts(branch):
            continue
        for point in operation.points.values():
            feed = battery_volts(point)
            if feed <= 0.0 or point.shorted or not point.connectivity.joined(branch.key):
                continue
            stands = load_status(point, branch.key)
            across = abs(point.across(branch.key))
            lacking = allowed * feed - across
            if stands is None or (lacking <= 0.0 and stands.word == "live"):
                continue
            remark = (
                f"{branch.key} gets {shown(across / feed * 100.0)} % of the battery's volts in {point.state}, "
                "and no size of the wires that can be chosen makes it enough"
            )
            yield _Shortfall(branch, point, max(lacking, 1e-3), remark, areas)


def _main_feed(protection: Protection) -> Size | None:
    """The thickest wire from a battery's feed pole to anything but the starter."""
    poles = {protection.feed_pole(s) for s in protection.sources if s.kind == "battery"}
    sizes = [
        branch.segment.size
        for branch in protection.circuit.branches
        if branch.segment is not None
        and branch.segment.size is not None
        and branch.key not in protection.cranking
        and {branch.a, branch.b} & poles
    ]
    return max(sizes, key=lambda size: size.area, default=None)


def _only_ways(circuit: Circuit, start: str, ends: Iterable[str]) -> tuple[str, ...]:
    """The branches without which a node is joined to none of some others, contacts closed in any position."""
    branches = [b for b in circuit.branches if b.branch_type.joined is Direction.BOTH]
    edges = [(b.a, b.b) for b in branches]
    known = {node for edge in edges for node in edge}
    goals = {end for end in ends if end in known and end != start}
    if start not in known or not goals:
        return ()
    on_some = sorted({i for end in goals for i in between(edges, start, end)})

    def still_joined(without: int) -> bool:
        met, waiting = {start}, [start]
        while waiting:
            node = waiting.pop()
            for i in on_some:
                if i != without and node in edges[i]:
                    other = edges[i][1] if edges[i][0] == node else edges[i][0]
                    if other not in met:
                        met.add(other)
                        waiting.append(other)
        return bool(met & goals)

    return tuple(branches[i].key for i in on_some if not still_joined(i))


def _fuses_beyond(protection: Protection, conductor: Branch) -> dict[str, float | None]:
    """The fuses, and their A, that hang by copper on the far end of an unprotected wire."""
    poles = {protection.feed_pole(s) for s in protection.sources}
    for end in (conductor.a, conductor.b):
        met, waiting = {end}, [end]
        found: dict[str, float | None] = {}
        while waiting:
            node = waiting.pop()
            for branch in protection.circuit.at.get(node, ()):
                if branch.key == conductor.key:
                    continue
                if branch.branch_type is BranchType.FUSE:
                    part = protection.circuit.harness.parts[branch.part]
                    found[branch.part] = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
                elif branch.branch_type.conductor and (other := branch.b if branch.a == node else branch.a) not in met:
                    met.add(other)
                    waiting.append(other)
        if not met & poles:
            return found
    return {}


def _faults_returned(protection: Protection) -> dict[str, tuple[float, str]]:
    """The most A that a fault behind one fuse, or one set of feeds, can send back for ever through each branch that is
    the only way from there to a battery, and which fuses those are.

    A fault may be in a consumer, from its feed to its own return, or of any feed to a body of metal.
    """
    circuit = protection.circuit
    poles = [protection.return_pole(s) for s in protection.sources if s.kind == "battery"]
    feeds: dict[str, tuple[float, str]] = {}
    for sustained_fault in protection.sustained_faults.values():
        devices = [limit for limit in sustained_fault.limits if not limit.machine]
        if not devices or not sustained_fault.known or sustained_fault.conductor.key in protection.cranking:
            continue
        passed = sum(limit.amps or 0.0 for limit in devices)
        found = passed, " and ".join(f"{limit.name} {shown(limit.amps or 0.0)} A" for limit in devices)
        for end in (sustained_fault.conductor.a, sustained_fault.conductor.b):
            feeds[end] = max(feeds.get(end, found), found)
    starts: dict[str, tuple[float, str]] = {}
    for branch in circuit.branches:
        if branch.branch_type.consumes:
            for near, far in ((branch.a, branch.b), (branch.b, branch.a)):
                if near in feeds and far in protection.returns:
                    starts[far] = max(starts.get(far, feeds[near]), feeds[near])
    if feeds:
        worst = max(feeds.values())
        bodies = [part.name for part in circuit.harness.parts.values() if isinstance(part, Ground)]
        starts |= {body: worst for body in bodies if body in protection.returns}
    most: dict[str, tuple[float, str]] = {}
    for start, fault in starts.items():
        for key in _only_ways(circuit, start, poles):
            most[key] = max(most.get(key, fault), fault)
    return most


def _alternating(protection: Protection) -> set[str]:
    """The wires that carry alternating current, as far as the bodies of ground."""
    harness, circuit = protection.circuit.harness, protection.circuit
    start = [
        f"{part.name}.{terminal}"
        for part in harness.parts.values()
        if isinstance(part, Source | Rectifier)
        for terminal in (
            *part.phases,
            *(t for winding in (part.windings if isinstance(part, Source) else ()) for t in winding.terminals),
        )
    ]
    walls = {part.name for part in harness.parts.values() if isinstance(part, Ground)}
    walls |= {pole for s in protection.sources for pole in (*s.plus, s.minus)}
    met, waiting, wires = set(start), list(start), set()
    while waiting:
        node = waiting.pop()
        if node in walls:
            continue
        for branch in circuit.at.get(node, ()):
            if branch.branch_type.joined is not Direction.BOTH and not branch.branch_type.consumes:
                continue
            if branch.segment is not None:
                wires.add(branch.owner)
            other = branch.b if branch.a == node else branch.a
            if other not in met:
                met.add(other)
                waiting.append(other)
    return wires
