"""Open connectors and fuses where water comes."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Connector, Fuse
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    wet = {place.name for place in examination.harness.places.values() if place.wet}
    for part in examination.harness.parts.values():
        if part.place not in wet:
            continue
        if isinstance(part, Connector) and not part.sealed:
            remedy = "a sealed connector, or a drier place"
        elif isinstance(part, Fuse):
            remedy = "a drier place: a fuse holder is open by nature"
        else:
            continue
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"water reaches {part.place}, and {part.kind} {part.name} there is open",
            span=part.span,
            about=(part.name,),
            source=RULE.source,
            remedy=remedy,
        )


RULE = Rule(
    name="unsealed",
    level=Level.WARNING,
    family="build",
    catches="an open connector or a fuse at a place that water reaches",
    why="""Water in an open plug with current on it eats the fed pin away within a season, and leaks current between
    the ways the whole time. A fuse holder does the same and then gets hot.""",
    source="common practice, no source",
    bad="""
loom "An open plug under the seat's edge"
place tray
place tail wet
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tail { lamp 5 W: 1 2 }
connector C1 1 ways 10 A at tail
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to LAMP.1 via C1.1 grey 1 mm2
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
""",
    good="""
loom "A sealed one"
place tray
place tail wet
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tail { lamp 5 W: 1 2 }
connector C1 1 ways 10 A sealed at tail
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to LAMP.1 via C1.1 grey 1 mm2
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
""",
    find=find,
)
