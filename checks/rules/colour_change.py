"""Wires of different colours in one splice."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ...lang.model import Splice
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for part in examination.harness.parts.values():
        if not isinstance(part, Splice):
            continue
        pieces = [b.piece for b in examination.circuit.at.get(part.name, ()) if b.law is Law.WIRE and b.piece]
        colours = sorted({piece.colour for piece in pieces if piece.colour})
        if len(colours) < 2:
            continue
        wires = [f"{piece.wire} {piece.colour}" for piece in pieces if piece.colour]
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"the colour changes at splice {part.name}: {', '.join(wires)}",
            span=part.span,
            about=(part.name, *dict.fromkeys(piece.wire for piece in pieces)),
            source=RULE.source,
            remedy="one colour for all wires of one net as far as the next connector",
        )


RULE = Rule(
    name="colour-change",
    level=Level.NOTE,
    family="build",
    catches="a conductor that changes its colour in a splice, inside one side of a connector",
    why="""Whoever traces a fault at the roadside follows a colour. Where it changes inside the tape, the other end is
    never found without cutting the loom open. At a plug, a fuse or a switch a change is seen, and does no harm.""",
    source="common practice, no source",
    find=find,
)
