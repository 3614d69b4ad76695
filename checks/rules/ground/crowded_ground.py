"""More ring terminals on a ground stud than belong there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ....lang.model.parts import Ground, Source
from ....lang.model.wires import Segment
from ....lang.quantities.ranking import largest, ranked
from ....lang.quantities.size import Size
from ...conductors.unrated import unrated, wires_to
from ...findings.finding import Figure, Finding, Level
from ...fixes.thicker import large_enough
from ...rule import Rule
from ...study import Study
from ...tables.workmanship import workmanship


def find(study: Study) -> Iterator[Finding]:
    limit = workmanship("terminals_a_stud")
    studs: dict[tuple[str, str], list[Segment]] = {}
    for segment in study.harness.segments:
        for end, place in zip((segment.a, segment.b), segment.studs, strict=True):
            # Which stud a wire goes to is not known where no place says it; several studs may then share the wires.
            if place is not None and isinstance(study.harness.parts.get(end.part), Ground):
                studs.setdefault((end.part, place), []).append(segment)
    for (ground, place), segments in studs.items():
        if len(segments) <= limit.value:
            continue
        joined = _joined(study, segments, len(segments) - int(limit.value) + 1)
        size = _size(study, joined)
        yield RULE.found(
            "crowded",
            segments[int(limit.value)].span,
            facts={
                "ground": ground,
                "place": place,
                "count": len(segments),
                "limit": limit.value,
                "wires": tuple(segment.wire for segment in joined),
                "size": size.text if size is not None else "",
            },
            fix="crowded" if size is not None else "no-size",
            about=(ground, *dict.fromkeys(segment.wire for segment in segments)),
            figures=(Figure("ring terminals", len(segments), ""), Figure("recommended at most", limit.value, "")),
            source=str(limit.cited),
        )


def _joined(study: Study, segments: Sequence[Segment], count: int) -> list[Segment]:
    """The wires of a stud that carry least, enough of them that one in their place leaves no more than belong there; no
    lead of a source is among them.
    """
    parts = study.harness.parts
    leads = [s for s in segments if not any(isinstance(parts.get(end.part), Source) for end in (s.a, s.b))]
    least = {segment.name for segment in ranked(leads, key=lambda segment: -_amps(study, segment))[:count]}
    return [segment for segment in leads if segment.name in least] if len(least) == count else []


def _size(study: Study, joined: Sequence[Segment]) -> Size | None:
    """The least standard size for the current of some wires together, and no thinner than any of them; ``None`` where
    that is not known.
    """
    if not joined or study.operation.restless or _is_unknown(study, joined):
        return None
    amps = sum(_amps(study, segment) for segment in joined)
    known = []
    for segment in joined:
        enough = large_enough(study, segment, amps)
        if enough is None or segment.size is None:
            return None  # on a stud of hundreds of wires no size is, and the first of them says so
        known += [enough, segment.size]
    return largest(known, key=lambda size: size.area)


def _is_unknown(study: Study, joined: Sequence[Segment]) -> bool:
    """Whether one of these wires leads to a load without a rating, which may take any current."""
    wires = {segment.wire for segment in joined}
    return any(not wires.isdisjoint(wires_to(study.protection, load)) for load, _ in unrated(study.operation))


def _amps(study: Study, segment: Segment) -> float:
    """The most A that flow in a wire, held or not."""
    loading = study.conductors.of(segment)
    return max(loading.continuous.amps, loading.short_time.amps)


RULE = Rule(
    name="crowded-ground",
    level=Level.NOTE,
    family="ground",
    catches="more than four ring terminals on one ground stud",
    why="""The more ring terminals are under one nut, the less force holds each of them. When the nut works loose all
    of them lose contact together, and the loads on them are fed backwards through each other.""",
    source="FAA AC 43.13-1B paragraph 11-174b: more than four ask for a bus bar over two or more studs",
    formula="found where ring terminals on one stud > 4",
    cautions="Disconnect the grounded lead of the battery before you undo a ground stud.",
    says={
        "crowded": "{count} ring terminals are on one stud of {ground} at {place}, at most {limit} are recommended",
    },
    fixes={
        "crowded": "fit a second ground stud on {ground} at {place}, or join wires {wires} in a splice and run one "
        "wire of {size} or thicker from it to the stud",
        "no-size": "fit a second ground stud on {ground} at {place}, or join the thinner wires in a splice "
        "and run one wire from it to the stud that carries the current of all of them; a lead of the battery or of a "
        "starter stays on the stud",
    },
    find=find,
)
