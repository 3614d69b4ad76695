"""Where to put a part: every candidate place is tried in the model, and everything is worked out for it again.

Several parts are tried in all their combinations as long as these are at most ``MOST``; beyond that one at a time,
the others staying where they are. Metres and copper rank them; what costs more is worked out for the best few.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ...lang.resolve.wires import moved
from ..operation.load_status import battery_volts, must_get_volts
from ..tables.bench import mass_per_metre
from .pieces import pieces

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ..findings.finding import Finding
    from ..runner.run import RuleStudy

MOST: Final = 10_000
"""Combinations of places that are tried together (ours)."""
BEST: Final = 8
"""This many of them are worked out to the end (ours)."""

Places = tuple[tuple[str, str], ...]
"""Parts and where they are tried, in the order of the command line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """Parts at places: ``metres`` of new wire and kg of ``copper`` in it, the ``longest`` piece in m, how many new
    pieces cross the ``steering``, and the ``kept`` wires that would have to be of another length.

    ``unreached`` are pieces to which no routes lead, or two equally short ones: their length is in no figure.
    """

    places: Places
    metres: float
    copper: float
    longest: float
    steering: int
    unreached: tuple[str, ...]
    kept: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A combination worked out to the end: the worst ``drop``, a share of 1 of the battery's volts, where it can be
    told; and the errors and warnings that come and go against the places as they are.
    """

    tried: Tried
    drop: float | None
    dropped: str
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """``now`` first judged as it is, then the best; ``count`` combinations were tried, ``together`` or one by one."""

    now: Judged
    best: tuple[Judged, ...]
    count: int
    together: bool


def locate(
    harness: Harness, candidates: Mapping[str, Sequence[str]], study_of: Callable[[Harness], RuleStudy]
) -> Located:
    """Candidates for each part, tried; ``study_of`` examines a harness."""
    here = tuple((name, harness.parts[name].place or "") for name in candidates)
    together = math.prod(len(places) for places in candidates.values()) <= MOST
    choices = _together(candidates) if together else _one_by_one(candidates, here)
    tried = [measure(harness, places) for places in dict.fromkeys(choices) if places != here]
    tried.sort(key=lambda each: (len(each.unreached), round(each.copper, 9), each.places))
    now_tried = measure(harness, here, as_it_is=True)
    now_study = study_of(harness)
    known = {_key(finding): finding for finding in _serious(now_study)}
    now = _judged(now_tried, now_study, known)
    best = tuple(_judged(each, study_of(moved(harness, dict(each.places))), known) for each in tried[:BEST])
    return Located(now=now, best=best, count=len(tried), together=together)


def _together(candidates: Mapping[str, Sequence[str]]) -> Iterator[Places]:
    for chosen in product(*candidates.values()):
        yield tuple(zip(candidates, chosen, strict=True))


def _one_by_one(candidates: Mapping[str, Sequence[str]], here: Places) -> Iterator[Places]:
    for name, places in candidates.items():
        for place in places:
            yield tuple((part, place if part == name else at) for part, at in here)


def measure(harness: Harness, places: Places, *, as_it_is: bool = False) -> Tried:
    """What the wires come to with parts at these places; ``as_it_is``: with the lengths that are written."""
    changed = harness if as_it_is else moved(harness, dict(places))
    found = pieces(changed)
    new = [piece for piece in found if not piece.kept]
    lengths = [piece.finished for piece in new if piece.finished is not None]
    before = {segment.name: segment.length for segment in harness.segments}
    return Tried(
        places=places,
        metres=sum(lengths),
        copper=sum(
            piece.finished * mass_per_metre(piece.size.area)[0]
            for piece in new
            if piece.finished is not None and piece.size is not None
        ),
        longest=max(lengths, default=0.0),
        steering=sum(segment.flexing for segment in changed.segments if not changed.wires[segment.wire].kept),
        unreached=tuple(piece.name for piece in found if piece.finished is None),
        kept=tuple(
            piece.name
            for piece in found
            if piece.kept and piece.finished is not None and _differs(piece.finished, before.get(piece.name))
        ),
    )


def _differs(now: float, before: float | None) -> bool:
    return before is None or abs(now - before) > 1e-6


def _judged(tried: Tried, study: RuleStudy, known: Mapping[tuple[str, ...], Finding]) -> Judged:
    drop, where = _worst_drop(study)
    found = {_key(finding): finding for finding in _serious(study)}
    return Judged(
        tried=tried,
        drop=drop,
        dropped=where,
        new=tuple(finding for key, finding in found.items() if key not in known),
        gone=tuple(finding for key, finding in known.items() if key not in found),
    )


def _serious(study: RuleStudy) -> Iterator[Finding]:
    """Errors and warnings; notes move with every figure."""
    from ..findings.finding import Level

    return (finding for finding in study.found if finding.level is not Level.NOTE)


def _key(finding: Finding) -> tuple[str, ...]:
    return (finding.rule, finding.case, *finding.about)


def _worst_drop(study: RuleStudy) -> tuple[float | None, str]:
    """The greatest share of the battery's volts that is lost on the way to a load, and which in which state."""
    worst: tuple[float | None, str] = (None, "")
    for name, point in study.operation.points.items():
        volts = battery_volts(point)
        for branch in study.circuit.branches:
            if volts <= 0.0 or not must_get_volts(branch) or not point.connectivity.joined(branch.key):
                continue
            share = 1.0 - abs(point.across(branch.key)) / volts
            if worst[0] is None or share > worst[0]:
                worst = (share, f"{branch.key} in {name}")
    return worst
