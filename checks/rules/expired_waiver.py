"""A waiver past its date."""

from __future__ import annotations

from collections.abc import Iterator

from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for waiver in examination.harness.waivers:
        if waiver.until is not None and waiver.until < examination.today:
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"the waiver of {waiver.rule} for {', '.join(waiver.names)} ended on "
                f"{waiver.until.isoformat()}; what it covers counts again",
                span=waiver.span,
                about=waiver.names,
                source=RULE.source,
                remedy="settle what it covers, or give a later date with a reason that still holds",
            )


RULE = Rule(
    name="expired-waiver",
    level=Level.WARNING,
    family="honesty",
    catches="a waiver past its date, its last day",
    why="""A date on a waiver is a promise to look again. When it has gone by, what the waiver covered counts again,
    and this finding says why it is back.""",
    source="ours",
    bad="""
loom "Until the season is over"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.1 m
wire 3 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
splice SP9 at tray
waive unused-part for SP9 because "the heater's wire goes there next winter" until 2001-03-01
""",
    good="""
loom "No date: it stands until somebody takes it out"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.1 m
wire 3 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
splice SP9 at tray
waive unused-part for SP9 because "the heater's wire goes there next winter"
""",
    find=find,
)
