"""A fuse that is rated above the ampacity of the wire behind it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from ....lang.editing.proposals import Proposal, Resize
from ....lang.model.parts import Fuse, Unit
from ....lang.quantities.quantity import Quantity, shown
from ....lang.quantities.size import Size
from ....lang.records import dataclass
from ...conductors.behind_loads import Behind, behind_loads
from ...conductors.too_thin import too_thin
from ...findings.finding import Figure, Finding, Level
from ...fixes.fuse_place import fuse_in, places, words
from ...fixes.sizes import smaller_fuse_or_thicker
from ...fixes.thicker import NO_SIZE, carries_its_loads, chattering, large_enough, no_size, thicker_for
from ...protection.fuse_places import FusePlace, ThinWire
from ...protection.sustained_fault import SustainedFault
from ...protection.tap_rule import Taps
from ...rule import Rule
from ...study import Study
from ...tables.ampacity import Ampacity
from ...tables.fuses import largest_rating_within


@dataclass(frozen=True, slots=True)
class _Thin:
    """A conductor of a known ``size``, rated ``amps`` A, whose devices pass ``share`` times that.

    ``certain``: its A by a figure that was read.
    """

    share: float
    sustained_fault: SustainedFault
    carries: Ampacity
    size: str
    amps: float
    certain: float


@dataclass(frozen=True, slots=True)
class _Alike:
    """All ``wires`` that are too thin for what protects them in common and that one repair settles: the thinnest is
    rated ``least`` A, and each is thick enough at size ``thick``, which is empty where no size is. ``place``: the fuse
    that protects them all besides those that are there, if one does. ``each``: branches that only a fuse in each of
    them would protect.
    """

    wires: tuple[str, ...]
    least: float
    thick: str
    place: FusePlace | None = None
    each: bool = False


def find(study: Study) -> Iterator[Finding]:
    protection = study.protection
    thin = {each.sustained_fault.conductor.key: each for each in _thin(study)}
    taps = Taps(protection, {key: each.amps for key, each in thin.items()})
    worst: dict[str, _Thin] = {}
    for each in thin.values():
        wire = each.sustained_fault.conductor.owner
        if taps.is_short(each.sustained_fault) or (wire in worst and worst[wire].share >= each.share):
            continue
        worst[wire] = each
    # One fuse answers for all wires behind it: what fits the thinnest of them.
    behind: dict[str, dict[str, _Thin]] = {}
    for wire, each in worst.items():
        behind.setdefault(_group(each.sustained_fault), {})[wire] = each
    repairs = {name: repair for wires in behind.values() for name, repair in _repairs(study, wires).items()}
    for wire, each in worst.items():
        yield _finding(study, wire, each, repairs[wire])
    yield from (_behind(study, found) for found in behind_loads(study.conductors))


def _thin(study: Study) -> Iterator[_Thin]:
    """The conductors whose devices pass more than they may carry, short taps too."""
    for fault, carries, amps, size in too_thin(study.protection, study.conductors):
        yield _Thin(fault.amps / amps, fault, carries, size, amps, carries.certain or 0.0)


def _alike(study: Study, thin: Mapping[str, _Thin]) -> _Alike:
    """What too thin wires of one protection have in common, worked out once for all of them."""
    passes = max(each.sustained_fault.amps for each in thin.values())
    return _Alike(tuple(thin), min(each.amps for each in thin.values()), _thick(study, thin, passes))


def _repairs(study: Study, thin: Mapping[str, _Thin]) -> dict[str, _Alike]:
    """For each of some too thin wires of one protection, by name, those that one repair settles with it."""
    whole = _alike(study, thin)
    if not all(_wants_a_fuse(study, each.sustained_fault, whole.least) for each in thin.values()):
        return dict.fromkeys(thin, whole)
    asked = {name: ThinWire(each.sustained_fault, each.amps) for name, each in thin.items()}
    found = places(study.operation, study.protection, asked)
    single = {name: thin[name] for name, place in found.items() if place.covers == (name,)}
    machine = any(limit.machine for each in thin.values() for limit in each.sustained_fault.limits)
    branches = replace(_alike(study, single), each=True) if len(single) > 1 and not machine else None
    repairs: dict[str, _Alike] = {}
    for name, each in thin.items():
        if branches is not None and branches.thick and name in single:
            repairs[name] = branches
        elif name not in found:  # those that no single fuse protects are settled one by one
            repairs[name] = _alike(study, {name: each})
        else:
            wires = {other: thin[other] for other in thin if found.get(other) == found[name]}
            repairs[name] = replace(_alike(study, wires), place=found[name])
    return repairs


def _wants_a_fuse(study: Study, sustained_fault: SustainedFault, amps: float) -> bool:
    """Whether a wire needs one more fuse: no smaller one does, and the device is one, alone or beside a machine."""
    devices = sustained_fault.devices
    if len(devices) > 1 or isinstance(study.harness.parts[_part(study, devices[0])], Unit):
        return False
    return not any(True for _ in _smaller_fuse(study, sustained_fault, amps))


def _finding(study: Study, wire: str, thin: _Thin, alike: _Alike) -> Finding:
    """``alike``: the wires that are settled together with this one, it among them."""
    protection, sustained_fault = study.protection, thin.sustained_fault
    error = sustained_fault.amps > protection.profile.fuse_error_share * thin.certain
    limit = "fuse_error_share" if error else "fuse_warning_share"
    proposals = _fixes(study, sustained_fault, alike)
    bare = protection.profile.bare_distance
    return RULE.found(
        "one" if len(sustained_fault.limits) == 1 else "several",
        sustained_fault.conductor.span,
        facts={
            "wire": wire,
            "size": thin.size,
            "limit": Quantity(thin.amps, "A"),
            "current": Quantity(sustained_fault.amps, "A"),
            "devices": tuple(limit.name for limit in sustained_fault.limits),
            "rated": _rated((limit.name, limit.amps or 0.0) for limit in sustained_fault.limits),
            "generators": tuple(limit.name for limit in sustained_fault.limits if limit.machine),
            "part": _part(study, sustained_fault.devices[0]),
            "bare": Quantity(bare, "m"),
            "thick": alike.thick,
            "alike": alike.wires,
            "trip": Quantity(math.floor(alike.least * 10.0) / 10.0, "A"),
            "fuse": words(study, alike.place) if alike.place is not None else "",
        },
        level=Level.ERROR if error else Level.WARNING,
        about=(wire, *(_part(study, name) for name in sustained_fault.devices)),
        path=protection.distances.way(sustained_fault),
        figures=(
            Figure("exposure", sustained_fault.amps, "A"),
            Figure("ampacity", thin.amps, "A"),
            Figure("share", thin.share * 100.0, "%"),
        ),
        source=f"{thin.carries.source}; {thin.carries.why}; {protection.profile.source(limit)}; "
        f"profile {protection.profile.title}",
        fix=_fix(study, sustained_fault, alike, proposals),
        proposals=proposals,
        group=_repair_group(sustained_fault, alike),
        rank=-thin.share,
    )


def _behind(study: Study, found: Behind) -> Finding:
    """A wire that only loads feed, which let more through than it may carry once it is shorted to ground."""
    segment, profile = found.segment, study.protection.profile
    size = segment.size.text if segment.size else ""
    rated_fuses = _rated(found.fuses)
    state = found.point.state
    error = found.amps > profile.fuse_error_share * found.certain
    fits = largest_rating_within("blade", found.limit)
    proposals = thicker_for(study, segment, found.most)
    smaller = bool(fits and found.before)
    return RULE.found(
        "behind-loads" if rated_fuses else "behind-loads-unfused",
        found.branch.span,
        facts={
            "wire": segment.wire,
            "size": size,
            "current": Quantity(found.amps, "A"),
            "limit": Quantity(found.limit, "A"),
            "loads": found.before,
            "fuses": rated_fuses,
            "largest": Quantity(fits or 0.0, "A"),
            "chattering": chattering(study),
        },
        level=Level.ERROR if error else Level.WARNING,
        fix="smaller" if smaller else "behind-loads" if proposals else no_size(study),
        about=tuple(dict.fromkeys((segment.wire, *(name for name, _ in found.fuses), *found.before))),
        state=state,
        combination=() if state else found.point.differing,
        figures=(Figure("sustained fault current", found.amps, "A"), Figure("ampacity", found.limit, "A")),
        source=f"{found.ampacity.source}; {found.ampacity.why}; "
        f"{profile.source('fuse_error_share' if error else 'fuse_warning_share')}; profile {profile.title}",
        proposals=proposals,
    )


def _rated(devices: Iterable[tuple[str, float]]) -> tuple[str, ...]:
    """Devices by name, each with its rating in A."""
    return tuple(f"{name} ({shown(Quantity(amps, 'A'))})" for name, amps in devices)


def _part(study: Study, name: str) -> str:
    return study.circuit.by_key[name].part


def _group(sustained_fault: SustainedFault) -> str:
    return " ".join(limit.name for limit in sustained_fault.limits)


def _repair_group(sustained_fault: SustainedFault, alike: _Alike) -> str:
    """What the findings share that one repair settles."""
    if alike.each:
        return f"{_group(sustained_fault)} each"
    at = f" {alike.place.wire}" if alike.place is not None else f" {alike.wires[0]}" if len(alike.wires) == 1 else ""
    return f"{_group(sustained_fault)}{at}"


def _fixes(study: Study, sustained_fault: SustainedFault, alike: _Alike) -> tuple[Proposal, ...]:
    """A smaller fuse, where one alone protects the wire and a rating that fits the thinnest carries its loads; then one
    more, or a thicker wire: first what settles all.
    """
    fuse = fuse_in(study, alike.place) if alike.place is not None else ()
    thicker = _thicker(study, sustained_fault)
    if alike.each or len(alike.wires) == 1:
        return (*_smaller_fuse(study, sustained_fault, alike.least), *thicker, *fuse)
    return (*_smaller_fuse(study, sustained_fault, alike.least), *fuse, *thicker)


def _smaller_fuse(study: Study, sustained_fault: SustainedFault, amps: float) -> Iterator[Proposal]:
    key = next(iter(sustained_fault.devices))
    part = study.harness.parts[_part(study, key)]
    if len(sustained_fault.limits) > 1 or not isinstance(part, Fuse):
        return
    fits = largest_rating_within(part.form, amps)
    if fits and carries_its_loads(study, key, fits):
        says = f"fit a fuse of {shown(fits)} A or less at {part.name}"
        yield Proposal(says, (Resize(ratings=((part.name, fits),)),))


def _thicker(study: Study, sustained_fault: SustainedFault) -> tuple[Proposal, ...]:
    segment = sustained_fault.conductor.segment
    return thicker_for(study, segment, sustained_fault.amps) if segment is not None else ()


def _thick(study: Study, wires: Iterable[str], amps: float) -> str:
    """The least size that carries some A in each of some wires; empty without any."""
    found: list[Size] = []
    for name in wires:
        size = large_enough(study, study.harness.wires[name].segments[0], amps)
        if size is None:
            return ""
        found.append(size)
    return max(found, key=lambda size: size.area).text


def _fix(study: Study, sustained_fault: SustainedFault, alike: _Alike, proposals: Sequence[Proposal]) -> str:
    """The case of what else there is to do than the first that is proposed."""
    either, thick = "or-" if proposals else "", bool(alike.thick)
    if alike.each:
        return f"{either}each"
    if alike.place is not None:
        if not proposals or proposals[0].says != words(study, alike.place):
            return f"{either}fuse"
        return "or-thicker" if thick else "behind-loads"
    if _wants_a_fuse(study, sustained_fault, alike.least) and not _can_be_fused(study, sustained_fault, alike.least):
        return f"{either}split"
    if any(limit.machine for limit in sustained_fault.limits):
        return f"{either}generator"
    if len(sustained_fault.devices) > 1:
        return f"{either}parallel"
    if isinstance(study.harness.parts[_part(study, sustained_fault.devices[0])], Unit):
        return f"{either}trips"
    if any(True for _ in _smaller_fuse(study, sustained_fault, alike.least)):
        return "or-thicker" if thick else "behind-loads"
    return f"{either}{'split' if _is_next(study, sustained_fault) else 'at-feed'}"


def _can_be_fused(study: Study, sustained_fault: SustainedFault, amps: float) -> bool:
    """Whether a fuse that fits a wire rated some A carries what flows there."""
    fits = largest_rating_within("blade", amps)
    return bool(fits) and carries_its_loads(study, sustained_fault.conductor.key, fits or 0.0)


def _is_next(study: Study, sustained_fault: SustainedFault) -> bool:
    """Whether the conductor begins at the one device that protects it."""
    circuit = study.circuit
    device, conductor = circuit.by_key[sustained_fault.devices[0]], sustained_fault.conductor
    return not {device.a, device.b}.isdisjoint({conductor.a, conductor.b})


BESIDES: Final = {
    "fuse": "{fuse}",
    "each": "fit a separate fuse in each, within {bare} of its feed end",
    "generator": "fit a separate fuse in wire {wire}: {generators} {generators:adds|add} to the current of the fuse",
    "parallel": "feed wire {wire} through one fuse only: the ratings of parallel fuses add up",
    "trips": "set {part} to trip at {trip} or less",
    "thicker": "[use {thick} or thicker for {alike:wire}]",
    "split": "split the loads of wire {wire} between two wires, each with its fuse",
    "at-feed": "fit a separate fuse in wire {wire} within {bare} of its feed end",
}
"""What to do besides an edit that is proposed, or where none is."""


RULE = Rule(
    name="oversized-fuse",
    level=Level.ERROR,
    family="fire",
    catches="a fuse rated above the ampacity of the wire behind it: a warning above 100 %, an error above 150 %",
    why="""A fuse protects the wire, not the load. With a fuse that is too large a faulty wire can carry a current that
    overheats its insulation until it burns, and the fuse does not blow. Every wire from the fuse to the first load
    counts. Parallel feeds add up, of devices in series the smallest counts, and the output of an alternator or dynamo
    adds to the current. An output of a unit protects its wire only where its `trips` is written. A short tap passes: a
    thin wire that ends, within 0.178 m of a thick one, in a fuse that fits it. Wires that one repair settles are one
    finding, the worst wire first.""",
    source="33 CFR 183.455(c)(1): at most 150 % of the ampacity of 33 CFR 183.425 table 5, below 50 V; the warning "
    "above 100 %: Loomwright's limit; 183.455(b): the fuse of a conductor may be 7 in (0.178 m) from its source of "
    "power",
    formula="""ampacity = table figure of the size and insulation x sqrt((Tc - Ta) / (Tc - 30))
exposure = minimum cut of devices between all feed poles and the wire, the wire itself out
found    where exposure > 100 % of ampacity (warning), > 150 % (error), except for a tap: all of it within 0.178 m of
         wires that are thick enough, and connected only to fuses that together pass no more than 100 %""",
    cautions="Never fit a larger fuse because one blows: find out what draws the current.",
    says={
        "one": "wire {wire} ({size}, rated {limit} continuous) is protected only by {devices} ({current})",
        "several": "wire {wire} ({size}, rated {limit} continuous) is protected only by {rated}, {current} together",
        "behind-loads": "wire {wire} ({size}, rated {limit} continuous) carries {current} when it is shorted to ground "
        "behind {loads}, and {fuses} {fuses:does|do} not blow",
        "behind-loads-unfused": "wire {wire} ({size}, rated {limit} continuous) carries {current} when it is shorted "
        "to ground behind {loads}, and no fuse protects it",
    },
    fixes={
        "behind-loads": "",
        "smaller": "or fit a fuse of {largest} or less between {loads} and the wire",
        **BESIDES,
        **{f"or-{case}": f"or {besides}" for case, besides in BESIDES.items()},
        **NO_SIZE,
    },
    find=find,
    fix=smaller_fuse_or_thicker,
)
