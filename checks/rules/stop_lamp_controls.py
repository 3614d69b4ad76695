"""A brake that does not light the stop lamp by itself."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Branch
from ...lang.model import Element
from ..conduction import In, JoinedInSeries
from ..conduction.evidence import found
from ..conduction.keys import engine, key_on
from ..conduction.questions import AllOf, Question
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule

BRAKES = ("front-brake", "rear-brake")


def find(examination: Examination) -> Iterator[Finding]:
    lamps = [b for b in examination.circuit.branches if isinstance(b.item, Element) and "stop-lamp" in b.item.roles]
    for brake in BRAKES:
        if brake in examination.circuit.controls:
            for lamp in lamps:
                yield from _unlit(examination, lamp, brake)
        elif lamps:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"no switch senses the {brake.replace('-', ' ')}",
                span=lamps[0].span,
                about=(lamps[0].part,),
                source=RULE.source,
                remedy=f"a switch that `senses {brake}` beside the other one; older machines had none",
            )


def _unlit(examination: Examination, lamp: Branch, brake: str) -> Iterator[Finding]:
    """A duty: with the key on and that brake pressed, the lamp is live, whatever the other brake does."""
    conduction = examination.conduction
    asked: list[Question] = [key_on(conduction.network), In(brake, ("press",))]
    if not any(supply.kind == "battery" for supply in examination.circuit.supplies):
        asked.append(engine("running"))
    live, while_ = JoinedInSeries(lamp.key), AllOf(tuple(asked))
    scope = conduction.scope(live, while_)
    among = while_.table(scope) & scope.counted & scope.plausible
    dark = among & (among ^ scope.must(live.table(scope), among))
    shown = conduction.show(scope, dark & (dark ^ live.table(scope)))
    if shown is None:
        return
    switches = examination.circuit.controls[brake].switches
    yield found(
        RULE.name,
        RULE.level,
        f"{' and '.join(switches)} does not light {lamp.key} by itself",
        lamp.span,
        about=(lamp.part, *switches),
        shown=shown,
        source=RULE.source,
        remedy="each brake switch between the feed behind the key and the stop lamp, side by side",
    )


RULE = Rule(
    name="stop-lamp-controls",
    level=Level.WARNING,
    family="behaviour",
    catches="a brake switch that does not work every stop lamp by itself with the key on",
    why="""The rider behind sees the stop lamp and nothing else. Laws ask that either brake lights it, without help of
    the other. A switch wired in a row with its neighbour, or behind the light switch, passes a quick look
    and fails on the road. Local law decides.""",
    source="UN R53 6.4 and 49 CFR 571.108: either brake lights the stop lamp (from memory); local law decides",
    bad="""
loom "Stop lamp controls"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
load STOP lamp at tray for signals { stop 21 W stop-lamp: 54 31 }
switch BRAKE-FRONT 3 A momentary senses front-brake at tray { rest: ; press: 1 2 }
switch BRAKE-REAR 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
wire 4 KEY.15 to BRAKE-FRONT.1 orange 2 mm2 0.30 m
wire 5 BRAKE-FRONT.2 to BRAKE-REAR.1 pink 2 mm2 0.30 m
wire 6 BRAKE-REAR.2 to STOP.54 pink 2 mm2 0.30 m
wire 7 STOP.31 to FRAME black 2 mm2 0.30 m
""",
    good="""
loom "Stop lamp controls, near miss"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
load STOP lamp at tray for signals { stop 21 W stop-lamp: 54 31 }
switch BRAKE-FRONT 3 A momentary senses front-brake at tray { rest: ; press: 1 2 }
switch BRAKE-REAR 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
wire 4 KEY.15 to BRAKE-FRONT.1 orange 2 mm2 0.30 m
wire 5 BRAKE-FRONT.2 to STOP.54 pink 2 mm2 0.30 m
wire 8 KEY.15 to BRAKE-REAR.1 orange 2 mm2 0.30 m
wire 6 BRAKE-REAR.2 to STOP.54 pink 2 mm2 0.30 m
wire 7 STOP.31 to FRAME black 2 mm2 0.30 m
""",
    find=find,
)
