"""Solid or thick wires, splices and connectors where the harness moves with the steering."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import SetWord, for_wires
from ....lang.model.parts import Connector, Splice
from ....lang.model.wires import Segment
from ....lang.quantities.quantity import Quantity
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
            yield RULE.found(
                "part",
                part.span,
                facts={"part": part.name, "kind": part.kind, "place": part.place},
                about=(part.name,),
            )


def _solid(segment: Segment) -> Finding:
    stranded = for_wires("use stranded wire", (segment.wire,), (SetWord(segment.wire, "solid", ""),))
    return RULE.found(
        "solid",
        segment.span,
        facts={"wire": segment.wire},
        about=(segment.wire,),
        path=segment.route,
        proposals=(stranded,),
    )


def _thick(segment: Segment, size: Size, largest: float) -> Finding:
    return RULE.found(
        "thick",
        segment.span,
        facts={"wire": segment.wire, "size": size.text, "largest": Quantity(largest, "mm2")},
        about=(segment.wire,),
        path=segment.route,
        figures=(Figure("area", size.area, "mm2"), Figure("largest", largest, "mm2")),
    )


def _moving_places(study: Study) -> frozenset[str]:
    """The places between two others from which every route flexes."""
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
    why="""These wires bend at every turn of the bars. Solid copper breaks after some thousand turns, a thick wire
    pulls at its ends, and a splice or a plug concentrates the bending in one spot. The break is inside the
    insulation: the engine cuts out on full lock, and there is no damage to see.""",
    source="common practice, no source; solid wire is not crimped either (NASA-STD-8739.4, 4.3.4); the size is "
    "Loomwright's limit",
    says={
        "solid": "wire {wire} moves with the steering and is solid",
        "thick": "wire {wire} moves with the steering and is {size}, at most {largest} is allowed",
        "part": "{kind} {part} is at {place}, between two stretches that move with the steering",
    },
    fixes={
        "thick": "use two thinner wires in place of wire {wire}, or route it another way",
        "part": "move {part} before or behind the stretch that moves",
    },
    formula="""found where a wire along a flexing route is solid, or its area > 6 mm2
   or where a splice or a connector is between two flexing routes""",
    cautions="Turn the bars from lock to lock and watch the loom before you ride: a trapped wire can lock them.",
    find=find,
)
