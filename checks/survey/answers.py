"""What can be said of each half and each lead, how surely, and what speaks for and against it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum, unique
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.diagnostic import Span
from ...lang.records import dataclass
from ...lang.survey.colours import in_words
from ..tables.survey import survey_figures
from .candidates import Candidate, Sort
from .colours import fits
from .contradiction import UNEXPLAINED

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.model.wires import Segment
    from ...lang.survey.record import Half, Lead, MeterReading, Survey
    from .candidates import DrawnEnd
    from .identify import Identification

RIVALS: Final = 4
"""Candidates that are named where a half is open."""


@unique
class Verdict(Enum):
    SURE = "sure"
    LIKELY = "likely"
    ANY_OF = "any of"
    OPEN = "open"
    NOTHING = "not on the diagram"


@unique
class Alike(Enum):
    """Why no reading of copper tells two candidates apart, and what that means."""

    SAME_WIRES = "two ends of the same wires"
    SAME_KIND = "parts of the same kind and figures"


@dataclass(frozen=True, slots=True)
class Reason:
    """``supports`` or does not fit; ``kind`` with its ``facts`` is made into words where it is shown."""

    supports: bool
    kind: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LeadAnswer:
    """A lead: the end that it is on in the most probable map (``None``: on none that is drawn), the probability of that
    end's net, and where its wires go.

    ``measured``: a reading has touched it. ``sure``: measured, and 95 % or more.
    """

    lead: Lead
    end: str | None
    share: float
    measured: bool
    sure: bool
    wires: tuple[str, ...]
    goes_to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HalfAnswer:
    """``candidates``: the most probable, with their shares; all that are named by the verdict. ``measured``: a reading
    has touched one of its leads.
    """

    half: Half
    verdict: Verdict
    candidates: tuple[tuple[str, float], ...]
    alike: Alike | None
    dropped: float
    reasons: tuple[Reason, ...]
    leads: tuple[LeadAnswer, ...]
    measured: bool

    @property
    def best(self) -> str:
        return self.candidates[0][0]


def answers(identification: Identification) -> tuple[HalfAnswer, ...]:
    """What can be said of every half, in the order of the survey."""
    return tuple(_half(identification, place) for place in range(len(identification.prior.halves)))


def _half(known: Identification, place: int) -> HalfAnswer:
    prior, together = known.prior, known.together
    half = prior.halves[place]
    shares = together.candidates(place)
    order = sorted((number for number in range(len(shares)) if shares[number] > 0.0), key=lambda n: (-shares[n], n))
    best = order[0]
    dropped = together.island_of[place].dropped
    touched = _touched(known.survey, half.name)
    figures = survey_figures()
    row = _best_row(known, place, best)
    ends = known.ends_of(place, row)
    enough = [order[0]]
    while sum(float(shares[n]) for n in enough) < figures.sure and len(enough) < len(order):
        enough.append(order[len(enough)])
    if best == prior.nothing:
        verdict = Verdict.NOTHING if shares[best] >= figures.sure else Verdict.OPEN
    elif shares[best] >= figures.sure and dropped < figures.most_dropped:
        only = prior.possible(place) == (best,)  # however its colours are read it is no other
        proved = only or any(_proved(known.survey, name) for name in (half.name, *_mates(known.survey, half)))
        contradicted = any(half.name == name for each in _unexplained(known) for name, _ in each.leads)
        verdict = Verdict.SURE if proved and not contradicted else Verdict.LIKELY
    elif len(enough) == 1:
        verdict = Verdict.LIKELY
    else:
        verdict = Verdict.ANY_OF if len(enough) <= RIVALS else Verdict.OPEN
    listed = enough if verdict is not Verdict.OPEN else order[:RIVALS]
    alike = _alike(known, listed) if verdict is Verdict.ANY_OF else None
    candidate = None if best == prior.nothing else prior.candidates[best]
    return HalfAnswer(
        half=half,
        verdict=verdict,
        candidates=tuple((prior.name(number), float(shares[number])) for number in listed),
        alike=alike,
        dropped=dropped,
        reasons=tuple(_reasons(known, half, candidate, ends, touched)),
        leads=tuple(_lead(known, place, number, row, dropped) for number in range(len(half.wired))),
        measured=bool(touched),
    )


def _unexplained(known: Identification) -> list[MeterReading]:
    """Readings that fit nothing: what they touch is not sure, since what was dropped as improbable before them may be
    what they show.
    """
    return [each.reading for each in known.judged if each.agrees < UNEXPLAINED]


def _touched(survey: Survey, half: str) -> list[MeterReading]:
    """The readings that touch a lead of a half."""
    return [reading for reading in survey.readings if half in (lead[0] for lead in reading.leads)]


def _proved(survey: Survey, half: str) -> bool:
    """Whether more than colours and place speak of a half: a reading, or what somebody saw."""
    return bool(_touched(survey, half)) or any(found.half == half for found in survey.found)


def _mates(survey: Survey, half: Half) -> tuple[str, ...]:
    """The halves that a half came off: what proves one of them proves the other."""
    return tuple(each.name for each in survey.halves.values() if each.name == half.mates or each.mates == half.name)


def _best_row(known: Identification, place: int, candidate: int) -> int:
    """The most probable map of a half on a candidate, as the number of its row."""
    import numpy as np

    plug = known.together.plugs[place]
    rows = np.where(plug.candidates == candidate, known.together.rows(place), -1.0)
    return int(rows.argmax())


def _fits(lead: Lead, end: DrawnEnd | None) -> bool:
    if end is None or len(lead.colours) != len(end.colours):
        return False
    drawn = list(end.colours)
    for seen in lead.colours:
        match = next((colour for colour in drawn if fits(seen, colour)), None)
        if match is None:
            return False
        drawn.remove(match)
    return True


def _reasons(
    known: Identification,
    half: Half,
    candidate: Candidate | None,
    ends: tuple[DrawnEnd | None, ...],
    touched: list[MeterReading],
) -> Iterator[Reason]:
    if candidate is not None:
        fitting = [lead for lead, end in zip(half.wired, ends, strict=True) if _fits(lead, end)]
        if fitting:
            yield Reason(True, "colours", (str(len(fitting)), str(len(half.wired)), candidate.name))
        for lead, end in zip(half.wired, ends, strict=True):
            if end is None:
                yield Reason(False, "extra lead", (str(lead), candidate.name))
            elif not _fits(lead, end):
                seen = " and ".join(map(in_words, lead.colours))
                drawn = " and ".join(str(colour or "no colour") for colour in end.colours)
                if seen != drawn:
                    yield Reason(False, "colour", (str(lead), seen, drawn, end.node, _wires(end)))
        used = {end.node for end in ends if end is not None}
        missing = [end.node for end in candidate.ends if end.node not in used]
        if missing:
            yield Reason(False, "missing lead", (candidate.name, " ".join(missing)))
        if half.place is not None and candidate.places:
            yield Reason(half.place in candidate.places, "place", (half.place, candidate.name, candidate.places[0]))
        if half.side and candidate.sort is Sort.HALF and candidate.is_drawn_half:
            same = half.side == ("socket" if candidate.side == "s" else "pin")
            yield Reason(same, "side", (half.side, candidate.name))
    lines: dict[int, list[float]] = {}
    for reading, agrees in zip(known.survey.readings, known.judged, strict=True):
        if reading in touched:
            lines.setdefault(reading.span.line, []).append(agrees.agrees)
    agreeing = [str(line) for line, shares in lines.items() if min(shares) > 0.5]
    if agreeing:
        yield Reason(True, "readings", tuple(agreeing))
    against = [str(line) for line, shares in lines.items() if min(shares) < UNEXPLAINED]
    if against:
        yield Reason(False, "readings", tuple(against))


def _wires(end: DrawnEnd) -> str:
    return " ".join(segment.wire for segment in end.segments)


def _lead(known: Identification, place: int, number: int, row: int, dropped: float) -> LeadAnswer:
    prior, together = known.prior, known.together
    lead = prior.halves[place].wired[number]
    plug = together.plugs[place]
    nets = together.nets(place, number)
    net = int(plug.nets[row, number])
    measured = any(lead.name in reading.leads for reading in known.survey.readings)
    contradicted = any(lead.name in reading.leads for reading in _unexplained(known))
    figures = survey_figures()
    enough = nets[net] >= figures.sure and dropped < figures.most_dropped
    sure = measured and not contradicted and enough and net != prior.nowhere
    end = known.ends_of(place, row)[number]
    wires = tuple(segment.wire for segment in end.segments) if end else ()
    return LeadAnswer(
        lead=lead,
        end=end.node if end else None,
        share=float(nets[net]),
        measured=measured,
        sure=bool(sure),
        wires=wires,
        goes_to=_far_ends(known.predictions.harness, end.node, end.segments) if end else (),
    )


def _far_ends(harness: Harness, node: str, segments: tuple[Segment, ...]) -> tuple[str, ...]:
    """Where the wires at an end go, past every plug that they run through."""
    found = []
    for segment in segments:
        wire = harness.wires[segment.wire]
        here = next(place for place, each in enumerate(wire.segments) if each is segment)
        forwards = segment.a.node == node
        found.append((wire.segments[-1].b if forwards else wire.segments[0].a).node if here >= 0 else "")
    return tuple(dict.fromkeys(found))


def _alike(known: Identification, listed: list[int]) -> Alike | None:
    """Why candidates cannot be told apart by copper, where that is so of all of them."""
    prior = known.prior
    if any(number == prior.nothing for number in listed):
        return None
    nets = {tuple(sorted(each.net for each in prior.classes[number] for _ in range(each.count))) for number in listed}
    if len(nets) == 1:
        return Alike.SAME_WIRES
    parts = [known.predictions.harness.parts[prior.candidates[number].part] for number in listed]
    sorts = {prior.candidates[number].sort for number in listed}
    return Alike.SAME_KIND if sorts == {Sort.PART} and len({_figures(part) for part in parts}) == 1 else None


def _figures(part: Part) -> object:
    """What a part is, without its name, places and labels."""
    from dataclasses import replace

    return _placeless(replace(part, name="", places=(), label=None, system=None, was=None))


def _placeless(value: object) -> object:
    """A value of the model without its places in the text."""
    if isinstance(value, Span):
        return None
    if is_dataclass(value):
        return (type(value).__name__, *(_placeless(getattr(value, each.name)) for each in fields(value)))
    return tuple(map(_placeless, value)) if isinstance(value, tuple) else value
