"""More ring terminals on a ground stud than belong there."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Ground, Piece
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.workmanship import workmanship


def find(examination: Examination) -> Iterator[Finding]:
    limit = workmanship("terminals_a_stud")
    studs: dict[tuple[str, str], list[Piece]] = {}
    for piece in examination.harness.pieces:
        for end, place in zip((piece.a, piece.b), piece.studs, strict=True):
            if isinstance(examination.harness.parts.get(end.part), Ground):
                studs.setdefault((end.part, place or ""), []).append(piece)
    for (ground, place), pieces in studs.items():
        if len(pieces) <= limit.value:
            continue
        where = f"{ground} at {place}" if place else ground
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"{len(pieces)} ring terminals share the stud of {where}; {limit.value:g} belong on one",
            span=pieces[int(limit.value)].span,
            about=(ground, *dict.fromkeys(piece.wire for piece in pieces)),
            figures=(Figure("ring terminals", len(pieces), ""), Figure("on one stud", limit.value, "")),
            source=str(limit.cited),
            remedy="a second stud, or a splice that gathers some of them into one wire",
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
    bad="""
loom "Five rings under one nut"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
pattern load bulb { lamp 5 W lamp: 1 2 }
load A at tray as bulb
load B at tray as bulb
load C at tray as bulb
load D at tray as bulb
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to A.1 grey 1 mm2 0.1 m
wire 4 A.1 to B.1 grey 1 mm2 0.1 m
wire 5 B.1 to C.1 grey 1 mm2 0.1 m
wire 6 C.1 to D.1 grey 1 mm2 0.1 m
wire 7 A.2 to FRAME black 1 mm2 0.1 m
wire 8 B.2 to FRAME black 1 mm2 0.1 m
wire 9 C.2 to FRAME black 1 mm2 0.1 m
wire 10 D.2 to FRAME black 1 mm2 0.1 m
wire 11 BAT.- to FRAME black 6 mm2 0.2 m
""",
    good="""
loom "Four under the nut, the fifth shares a wire"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
pattern load bulb { lamp 5 W lamp: 1 2 }
load A at tray as bulb
load B at tray as bulb
load C at tray as bulb
load D at tray as bulb
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to A.1 grey 1 mm2 0.1 m
wire 4 A.1 to B.1 grey 1 mm2 0.1 m
wire 5 B.1 to C.1 grey 1 mm2 0.1 m
wire 6 C.1 to D.1 grey 1 mm2 0.1 m
wire 7 A.2 to FRAME black 1 mm2 0.1 m
wire 8 B.2 to FRAME black 1 mm2 0.1 m
wire 9 C.2 to FRAME black 1 mm2 0.1 m
wire 10 D.2 to C.2 black 1 mm2 0.1 m
wire 11 BAT.- to FRAME black 6 mm2 0.2 m
""",
    cautions="Take the battery's grounded lead off before a ground stud is undone.",
    find=find,
)
