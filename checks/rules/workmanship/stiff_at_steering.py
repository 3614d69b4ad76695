"""What does not bend, where the harness moves with the steering."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import SetWord, for_wires
from ....lang.model.parts import Connector, Splice
from ....lang.model.wires import Segment
from ....lang.quantities.size import Size
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.workmanship import workmanship


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    largest = workmanship("largest_steered_area").value
    said: set[str] = set()
    for segment in harness.segments:
        if not segment.flexing or segment.wire in said:
            continue
        if segment.solid:
            said.add(segment.wire)
            yield _solid(segment)
        elif segment.size is not None and segment.size.area > largest:
            said.add(segment.wire)
            yield _thick(segment, segment.size, largest)
    moving = _moving_places(study)
    for part in harness.parts.values():
        if isinstance(part, Splice | Connector) and part.place in moving:
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{part.kind} {part.name} lies at {part.place}, between two stretches that move with the "
                "steering",
                span=part.span,
                about=(part.name,),
                source=RULE.source,
                remedy=f"move {part.name} before or behind the stretch that moves",
            )


def _solid(segment: Segment) -> Finding:
    stranded = for_wires("use stranded wire", (segment.wire,), (SetWord(segment.wire, "solid", ""),))
    return Finding(
        rule=RULE.name,
        level=Level.WARNING,
        message=f"wire {segment.wire} moves with the steering and is solid",
        span=segment.span,
        about=(segment.wire,),
        path=segment.route,
        source=RULE.source,
        proposals=(stranded,),
    )


def _thick(segment: Segment, size: Size, largest: float) -> Finding:
    return Finding(
        rule=RULE.name,
        level=Level.WARNING,
        message=f"wire {segment.wire} moves with the steering and is {size.text} thick",
        span=segment.span,
        about=(segment.wire,),
        path=segment.route,
        figures=(Figure("area", size.area, "mm2"), Figure("largest", largest, "mm2")),
        source=RULE.source,
        remedy=f"use two thinner wires for wire {segment.wire}, or lead it another way",
    )


def _moving_places(study: Study) -> frozenset[str]:
    """The places that lie on the way between two others and from which every route flexes."""
    flexing: dict[str, list[bool]] = {}
    for route in study.harness.routes:
        for place in (route.a, route.b):
            flexing.setdefault(place, []).append(route.flexing)
    return frozenset(place for place, all_of in flexing.items() if len(all_of) > 1 and all(all_of))


RULE = Rule(
    name="stiff-at-steering",
    level=Level.WARNING,
    family="workmanship",
    catches="a solid wire, one over 6 mm2, a splice or a connector where the harness flexes",
    why="""At every turn of the bars these wires bend. Solid copper breaks after some thousand turns, a thick wire
    pulls at its ends, and at a splice all the bending happens in one spot. The break is inside the insulation and
    shows as an engine that cuts out on full lock.""",
    source="common practice, no source; solid wire is not crimped either (NASA-STD-8739.4, 4.3.4); the size is ours",
    formula="""found where a wire along a flexing route is solid, or its area > 6 mm2
   or where a splice or a connector lies between two flexing routes""",
    cautions="Turn the bars from lock to lock and watch the loom before you ride: a trapped wire can lock them.",
    find=find,
)
