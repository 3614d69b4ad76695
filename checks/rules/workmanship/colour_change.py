"""Wires of different colours in one splice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ....lang.editing.proposals import Proposal, SetWord
from ....lang.model.parts import Splice
from ....lang.model.wires import Segment
from ...findings.finding import Finding, Level
from ...fixes.new_parts import clashes
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Splice):
            continue
        segments = study.circuit.pieces_at(part.name)
        colours = sorted({segment.colour for segment in segments if segment.colour})
        if len(colours) < 2:
            continue
        wires = [f"{segment.wire} {segment.colour}" for segment in segments if segment.colour]
        proposals = tuple(_one_colour(study, part.name, segments))
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"the colour changes at splice {part.name}: {', '.join(wires)}",
            span=part.span,
            about=(part.name, *dict.fromkeys(segment.wire for segment in segments)),
            source=RULE.source,
            remedy=""
            if proposals
            else f"find out which wire at {part.name} is of another circuit; then use one colour "
            "for the rest, as far as the next connector",
            proposals=proposals,
        )


def _one_colour(study: Study, splice: str, segments: Iterable[Segment]) -> Iterator[Proposal]:
    """The colour of each wire for all of them, that of the most first, where no other end is then mistaken."""
    wires = {segment.wire: segment.colour for segment in segments if segment.colour}
    colours = list(wires.values())
    for colour in sorted(dict.fromkeys(colours), key=lambda each: -colours.count(each)):
        changed = tuple(wire for wire, old in wires.items() if old != colour)
        if not any(clashes(study, wire, colour, besides=(splice,)) for wire in changed):
            changes = tuple(SetWord(wire, wires[wire], colour) for wire in changed)
            yield Proposal(f"use {colour} for all wires at {splice}, as far as the next connector", changes)


RULE = Rule(
    name="colour-change",
    level=Level.NOTE,
    family="workmanship",
    catches="a conductor that changes its colour in a splice, inside one side of a connector",
    why="""Whoever traces a fault at the roadside follows a colour. Where it changes inside the tape, the other end is
    never found without cutting the loom open. At a plug, a fuse or a switch a change is seen, and does no harm.""",
    source="common practice, no source",
    find=find,
)
