"""What does not bend, where the harness moves with the steering."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import Proposal, SetWord
from ....lang.model.parts import Connector, Splice
from ....lang.model.wires import Piece
from ....lang.quantities.size import Size
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Examination
from ...tables.workmanship import workmanship


def find(examination: Examination) -> Iterator[Finding]:
    harness = examination.harness
    largest = workmanship("largest_steered_area").value
    said: set[str] = set()
    for piece in harness.pieces:
        if not piece.flexing or piece.wire in said:
            continue
        if piece.solid:
            said.add(piece.wire)
            yield _solid(piece)
        elif piece.size is not None and piece.size.area > largest:
            said.add(piece.wire)
            yield _thick(piece, piece.size, largest)
    moving = _moving_places(examination)
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


def _solid(piece: Piece) -> Finding:
    remedy = f"use stranded wire for wire {piece.wire}"
    return Finding(
        rule=RULE.name,
        level=Level.WARNING,
        message=f"wire {piece.wire} moves with the steering and is solid",
        span=piece.span,
        about=(piece.wire,),
        path=piece.route,
        source=RULE.source,
        remedy=remedy,
        proposals=(Proposal(remedy, (SetWord(piece.wire, "solid", ""),)),),
    )


def _thick(piece: Piece, size: Size, largest: float) -> Finding:
    return Finding(
        rule=RULE.name,
        level=Level.WARNING,
        message=f"wire {piece.wire} moves with the steering and is {size.text} thick",
        span=piece.span,
        about=(piece.wire,),
        path=piece.route,
        figures=(Figure("area", size.area, "mm2"), Figure("largest", largest, "mm2")),
        source=RULE.source,
        remedy=f"use two thinner wires for wire {piece.wire}, or lead it another way",
    )


def _moving_places(examination: Examination) -> frozenset[str]:
    """The places that lie on the way between two others and from which every route flexes."""
    flexing: dict[str, list[bool]] = {}
    for route in examination.harness.routes:
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
