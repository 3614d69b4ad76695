"""Two wires in one way of a sealed connector."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ...lang.model import Connector
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule

MOST = 1
"""Wires that one seal closes on."""


def find(examination: Examination) -> Iterator[Finding]:
    sealed = [p for p in examination.harness.parts.values() if isinstance(p, Connector) and p.sealed]
    for part in sealed:
        for half in (f"{part.name}.{way}{gender}" for way in range(1, part.ways + 1) for gender in "sp"):
            branches = examination.circuit.at.get(half, ())
            pieces = [branch.piece for branch in branches if branch.law is Law.WIRE and branch.piece]
            if len(pieces) <= MOST:
                continue
            wires = tuple(dict.fromkeys(piece.wire for piece in pieces))
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{len(pieces)} wires end in sealed way {half}; its seal closes on one",
                span=pieces[-1].span,
                about=(part.name, *wires),
                figures=(Figure("wires", len(pieces), ""), Figure("in one seal", MOST, "")),
                source=RULE.source,
                remedy=f"join wires {', '.join(wires)} at a splice behind {part.name}, and bring one wire to {half}",
            )


RULE = Rule(
    name="crowded-seal",
    level=Level.WARNING,
    family="build",
    catches="more than one wire in a way of a sealed connector",
    why="""The rubber seal of a way closes on one round wire. Beside two it leaves a gap, water gets in and stays, and
    the sealed plug keeps it there: it corrodes faster than an open one.""",
    source="common practice, no source",
    formula="found where more than one wire ends at one half of a way of a connector that is `sealed`",
    bad="""
loom "Two wires through one seal"
place tray
place tail wet
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load TAIL lamp at tail { lamp 5 W: 1 2 }
load PLATE lamp at tail { lamp 5 W: 1 2 }
connector C1 1 ways 10 A sealed at tail
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to C1.1s grey 1 mm2
wire 4 C1.1p to TAIL.1 grey 1 mm2 0.2 m
wire 5 C1.1p to PLATE.1 grey 1 mm2 0.2 m
wire 6 TAIL.2 to FRAME black 1 mm2 0.1 m
wire 7 PLATE.2 to FRAME black 1 mm2 0.1 m
wire 8 BAT.- to FRAME black 6 mm2 0.2 m
""",
    good="""
loom "A sealed splice behind the plug"
place tray
place tail wet
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load TAIL lamp at tail { lamp 5 W: 1 2 }
load PLATE lamp at tail { lamp 5 W: 1 2 }
connector C1 1 ways 10 A sealed at tail
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to C1.1s grey 1 mm2
splice SP-TAIL sealed at tail
wire 9 C1.1p to SP-TAIL grey 1 mm2 0.1 m
wire 4 SP-TAIL to TAIL.1 grey 1 mm2 0.2 m
wire 5 SP-TAIL to PLATE.1 grey 1 mm2 0.2 m
wire 6 TAIL.2 to FRAME black 1 mm2 0.1 m
wire 7 PLATE.2 to FRAME black 1 mm2 0.1 m
wire 8 BAT.- to FRAME black 6 mm2 0.2 m
""",
    cautions="Take the battery's grounded lead off before a plug is opened.",
    find=find,
)
