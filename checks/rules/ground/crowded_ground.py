"""More ring terminals on a ground stud than belong there."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Ground
from ....lang.model.wires import Segment
from ...findings.finding import Figure, Finding, Level
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
        yield RULE.found(
            "crowded",
            segments[int(limit.value)].span,
            facts={"ground": ground, "place": place, "count": len(segments), "limit": limit.value},
            about=(ground, *dict.fromkeys(segment.wire for segment in segments)),
            figures=(Figure("ring terminals", len(segments), ""), Figure("recommended at most", limit.value, "")),
            source=str(limit.cited),
        )


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
        "crowded": "fit a second ground stud on {ground} at {place}, or join the thin ones of the wires in a splice "
        "and run one wire from it to the stud that carries the current of all of them; a lead of the battery or of a "
        "starter stays on the stud",
    },
    find=find,
)
