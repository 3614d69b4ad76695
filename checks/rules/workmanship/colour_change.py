"""Wires of different colours in one splice."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import Proposal, SetWord
from ....lang.model.parts import Splice
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
        yield RULE.found(
            "changes",
            part.span,
            facts={
                "splice": part.name,
                "wires": tuple(f"{segment.wire} {segment.colour}" for segment in segments if segment.colour),
            },
            fix="one-colour" if any(True for _ in _one_colour(study, part.name)) else "find-out",
            about=(part.name, *dict.fromkeys(segment.wire for segment in segments)),
        )


def fix(study: Study, finding: Finding) -> Iterator[Proposal]:
    """One colour for all wires at the splice; whether it suits the shop and all other wires, the trial tells."""
    return _one_colour(study, finding.about[0])


def _one_colour(study: Study, splice: str) -> Iterator[Proposal]:
    """The colour of each wire for all of them, that of the most first, where no other end is then mistaken."""
    segments = study.circuit.pieces_at(splice)
    wires = {segment.wire: segment.colour for segment in segments if segment.colour}
    colours = list(wires.values())
    for colour in sorted(dict.fromkeys(colours), key=lambda each: -colours.count(each)):
        changed = tuple(wire for wire, old in wires.items() if old != colour)
        if not any(clashes(study, wire, colour, besides=(splice,)) for wire in changed):
            changes = tuple(SetWord(wire, str(wires[wire]), str(colour)) for wire in changed)
            yield Proposal(f"use {colour} for all wires at {splice}, as far as the next connector", changes)


RULE = Rule(
    name="colour-change",
    level=Level.NOTE,
    family="workmanship",
    catches="wires of different colours joined at a splice",
    why="""At the roadside a wire is traced by its colour. Where the colour changes inside the tape, the other end is
    found only by cutting the loom open. At a plug, a fuse or a switch the change is in sight and does no harm.""",
    source="common practice, no source",
    says={"changes": "the wires at splice {splice} change colour: {wires}"},
    fixes={
        "one-colour": "use one colour for all wires at {splice}, as far as the next connector",
        "find-out": "find out which wire at {splice} is of another circuit; then use one colour for the rest, as far "
        "as the next connector",
    },
    find=find,
    fix=fix,
)
