"""More ring terminals on a ground stud than belong there."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Ground
from ....lang.model.wires import Segment
from ....lang.quantities.quantity import shown
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
        where = f"{ground} at {place}"
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"{len(segments)} ring terminals share the stud of {where}; {shown(limit.value)} belong on one",
            span=segments[int(limit.value)].span,
            about=(ground, *dict.fromkeys(segment.wire for segment in segments)),
            figures=(Figure("ring terminals", len(segments), ""), Figure("on one stud", limit.value, "")),
            source=str(limit.cited),
            remedy=f"fit a second stud at {where}, or gather some of the wires at a splice and bring one wire to "
            "the stud",
        )


RULE = Rule(
    name="crowded-ground",
    level=Level.NOTE,
    family="ground",
    catches="more than four ring terminals on one ground stud",
    why="""The more terminals under one nut, the less each is pressed, and when the nut works loose everything on it
    fails together and feeds back through everything else.""",
    source="FAA AC 43.13-1B paragraph 11-174b: more than four ask for a bus bar over two or more studs",
    formula="found where ring terminals on one stud > 4",
    cautions="Take the battery's grounded lead off before a ground stud is undone.",
    find=find,
)
