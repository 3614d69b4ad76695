"""A wire on the return side that has to carry more than it may."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.quantities import shown
from ..carrying import overloads
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    protection = examination.protection
    seconds = protection.profile.cranking_seconds
    for overload in overloads(examination):
        if protection.side(overload.branch) != "return":
            continue
        piece, peak = overload.piece, overload.peak
        size = piece.size.text if piece.size else ""
        when = "while a control is held" if overload.held else "for ever"
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR if overload.certain else Level.WARNING,
            message=f"return wire {piece.wire} ({size}) carries {shown(peak.amps)} A {when} and may carry "
            f"{shown(overload.limit)} A",
            span=piece.span,
            about=(piece.wire,),
            state=peak.state,
            combination=peak.combination,
            figures=overload.figures(seconds),
            source=overload.source(examination),
            remedy="a thicker wire, or a second one beside it; no fuse looks after a return wire",
        )


RULE = Rule(
    name="thin-return",
    level=Level.ERROR,
    family="fire",
    catches="the same on the return side, where no fuse is sized for the wire",
    why="""The way back carries the sum of everything that shares it, and no fuse is chosen for it. A thin strap from
    the engine, a common ground wire of all lamps or a forgotten second path to the battery gets the current of
    several fuses, and when the thick one beside it comes loose, all of it, the starter's too.""",
    source="33 CFR 183.425 table 5 for what flows for ever; k S / sqrt(30 s) with IEC 60364-5-54's k for what "
    "flows while a "
    "control is held or the engine cranks",
    formula="""found where current, momentary controls at rest > ampacity
   or where current, any control held, or cranking > the greater of ampacity and k S / sqrt(30 s)
in the named states and in the combination in which most hangs on the wire""",
    bad="""
loom "Two good feeds, one thin way back"
place tray, bars
route tray bars 0.8 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse F1 10 A blade at tray
fuse F2 10 A blade at tray
switch HEAT 20 A key at tray { off: ; on: 1 2, 3 4 }
load LEFT heater at bars { pad 90 W: 1 2 }
load RIGHT heater at bars { pad 90 W: 1 2 }
splice SP-G at bars
wire 1 BAT.+ to F1.1 red 1.5 mm2 0.15 m
wire 2 BAT.+ to F2.1 red 1.5 mm2 0.15 m
wire 3 F1.2 to HEAT.1 red 1.5 mm2 0.1 m
wire 4 F2.2 to HEAT.3 red/white 1.5 mm2 0.1 m
wire 5 HEAT.2 to LEFT.1 grey 1.5 mm2
wire 6 HEAT.4 to RIGHT.1 grey/white 1.5 mm2
wire 7 LEFT.2 to SP-G black 1.5 mm2 0.1 m
wire 8 RIGHT.2 to SP-G black 1.5 mm2 0.1 m
wire 9 SP-G to FRAME black 0.5 mm2
wire 10 BAT.- to FRAME black 6 mm2 0.2 m
state heating { HEAT on }
""",
    good="""
loom "A way back for both"
place tray, bars
route tray bars 0.8 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse F1 10 A blade at tray
fuse F2 10 A blade at tray
switch HEAT 20 A key at tray { off: ; on: 1 2, 3 4 }
load LEFT heater at bars { pad 90 W: 1 2 }
load RIGHT heater at bars { pad 90 W: 1 2 }
splice SP-G at bars
wire 1 BAT.+ to F1.1 red 1.5 mm2 0.15 m
wire 2 BAT.+ to F2.1 red 1.5 mm2 0.15 m
wire 3 F1.2 to HEAT.1 red 1.5 mm2 0.1 m
wire 4 F2.2 to HEAT.3 red/white 1.5 mm2 0.1 m
wire 5 HEAT.2 to LEFT.1 grey 1.5 mm2
wire 6 HEAT.4 to RIGHT.1 grey/white 1.5 mm2
wire 7 LEFT.2 to SP-G black 1.5 mm2 0.1 m
wire 8 RIGHT.2 to SP-G black 1.5 mm2 0.1 m
wire 9 SP-G to FRAME black 2.5 mm2
wire 10 BAT.- to FRAME black 6 mm2 0.2 m
state heating { HEAT on }
""",
    cautions="No fuse looks after a return wire: feel it for warmth after the first ride, and its joints.",
    find=find,
)
