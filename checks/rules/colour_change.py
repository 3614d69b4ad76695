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
    bad="""
loom "Red goes into the tape and orange comes out"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
splice SP1 at tray
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to SP1 red 1 mm2 0.3 m
wire 3 SP1 to LIGHT.1 orange 1 mm2 0.3 m
wire 4 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 5 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 6 BAT.- to FRAME black 6 mm2 0.2 m
""",
    good="""
loom "Red in, red out, and a change at the switch"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
splice SP1 at tray
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to SP1 red 1 mm2 0.3 m
wire 3 SP1 to LIGHT.1 red 1 mm2 0.3 m
wire 4 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 5 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 6 BAT.- to FRAME black 6 mm2 0.2 m
""",
    find=find,
)
