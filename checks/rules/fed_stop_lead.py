"""A stop lead that battery volts can reach."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Load, Unit
from ..behaviour import AtPole
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    for part in examination.harness.parts.values():
        if not isinstance(part, (Load, Unit)) or part.stop_lead is None:
            continue
        lead = f"{part.name}.{part.stop_lead[0]}"
        fed = AtPole(lead, feed=True)
        scope = conduction.scope(fed)
        shown = conduction.show(scope, fed.table(scope) & scope.counted)
        if shown is None:
            continue
        yield found(
            RULE.name,
            Level.ERROR,
            f"the stop lead {lead} is joined to a feed",
            part.span,
            about=(part.name,),
            shown=shown,
            path=conduction.feed(shown, lead),
            source=RULE.source,
            remedy="a stop lead goes to nothing but a contact that grounds it",
        )


RULE = Rule(
    name="fed-stop-lead",
    level=Level.ERROR,
    family="stop",
    catches="a stop lead joined to a feed pole in some combination",
    why="""The stop lead of a magneto box is the end of its own coil or the gate of its switch, made to be
    grounded. Battery volts on it destroy the box at once, and the engine with it stands until a new one is
    found.""",
    source="common practice, no source",
    bad="""
loom "Fed stop lead"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: 2 31; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
ground ENGINE at tray
load BOX ignition at tray for ignition { stop-lead: 2 31 }
mount BOX.31 to ENGINE
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
switch STOP 2 A at tray for ignition { run: 2 15; stop: 2 31 }
wire 4 KEY.15 to STOP.15 orange 1 mm2 0.30 m
wire 5 STOP.2 to BOX.2 black/red 1 mm2 0.30 m
wire 6 STOP.31 to ENGINE black 1 mm2 0.30 m
wire 7 ENGINE to FRAME black 6 mm2 0.30 m
wire 8 KEY.15 to LAMP.1 orange 1 mm2 0.30 m
wire 9 LAMP.2 to FRAME black 1 mm2 0.30 m
wire 10 BOX.2 to KEY.2 black/red 1 mm2 0.30 m
wire 11 KEY.31 to ENGINE black 1 mm2 0.30 m
""",
    good="""
loom "Fed stop lead, near miss"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: 2 31; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
ground ENGINE at tray
load BOX ignition at tray for ignition { stop-lead: 2 31 }
mount BOX.31 to ENGINE
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
switch STOP 2 A at tray for ignition { run: ; stop: 2 31 }
wire 5 STOP.2 to BOX.2 black/red 1 mm2 0.30 m
wire 6 STOP.31 to ENGINE black 1 mm2 0.30 m
wire 7 ENGINE to FRAME black 6 mm2 0.30 m
wire 8 KEY.15 to LAMP.1 orange 1 mm2 0.30 m
wire 9 LAMP.2 to FRAME black 1 mm2 0.30 m
wire 10 BOX.2 to KEY.2 black/red 1 mm2 0.30 m
wire 11 KEY.31 to ENGINE black 1 mm2 0.30 m
""",
    find=find,
)
