"""A stop lamp that is on though no brake is pressed."""

from __future__ import annotations

from collections.abc import Iterator

from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for one in examination.misfed:
        if one.duty != "on without a brake" or one.other is not None or one.shown is None:
            continue
        lamp = one.lamp
        path = examination.conduction.loop(one.shown, lamp)
        yield found(
            RULE.name,
            RULE.level,
            f"stop lamp {lamp.key} is on without a brake",
            lamp.span,
            about=(lamp.part,),
            shown=one.shown,
            path=path,
            source=RULE.source,
            remedy=f"disconnect what feeds {lamp.a} past the brake switches, found along the path above",
        )


RULE = Rule(
    name="stop-always-on",
    level=Level.WARNING,
    family="behaviour",
    catches="a stop lamp that is on without a brake",
    why="""The rider behind learns from the stop lamp alone that this motorcycle slows down. One that is always on says
    nothing, heats its lens and empties the battery. A switch stuck on is found at the first look; a wire that leads
    past the switches passes every test of the brakes.""",
    source="UN R53 6.4 and 49 CFR 571.108: a stop lamp is on while a brake is applied (from memory); local law decides",
    formula="""found where a stop lamp is joined to both poles of a source in a plausible combination, with the brakes
       and all that springs back at rest; where no switch senses a brake, only where no switch but the key matters""",
    bad="""
loom "A wire leads past the brake switches"
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
switch LIGHTS 6 A at tray for lighting { off: ; on: 15 58 }
switch BRAKE-FRONT 3 A momentary senses front-brake at tray { rest: ; press: 1 2 }
switch BRAKE-REAR 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
load REAR lamp at tray for lighting { tail 5 W tail-lamp plate-lamp: 58 31; stop 21 W stop-lamp: 54 31 }
splice SP at tray
splice SP-STOP at tray
wire 4 KEY.15 to SP orange 2 mm2 0.30 m
wire 5 SP to BRAKE-FRONT.1 orange 1.5 mm2 0.30 m
wire 6 SP to BRAKE-REAR.1 orange 1.5 mm2 0.30 m
wire 7 BRAKE-FRONT.2 to SP-STOP pink 1.5 mm2 0.30 m
wire 8 BRAKE-REAR.2 to SP-STOP pink 1.5 mm2 0.30 m
wire 10 SP to LIGHTS.15 orange 1.5 mm2 0.30 m
wire 12 REAR.31 to FRAME black 1.5 mm2 0.30 m
wire 9 SP-STOP to REAR.54 pink 1.5 mm2 0.30 m
wire 11 LIGHTS.58 to REAR.58 grey 1.5 mm2 0.30 m
wire 13 SP to SP-STOP orange 1.5 mm2 0.30 m
""",
    good="""
loom "Both brake switches, and no wire past them"
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
switch LIGHTS 6 A at tray for lighting { off: ; on: 15 58 }
switch BRAKE-FRONT 3 A momentary senses front-brake at tray { rest: ; press: 1 2 }
switch BRAKE-REAR 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
load REAR lamp at tray for lighting { tail 5 W tail-lamp plate-lamp: 58 31; stop 21 W stop-lamp: 54 31 }
splice SP at tray
splice SP-STOP at tray
wire 4 KEY.15 to SP orange 2 mm2 0.30 m
wire 5 SP to BRAKE-FRONT.1 orange 1.5 mm2 0.30 m
wire 6 SP to BRAKE-REAR.1 orange 1.5 mm2 0.30 m
wire 7 BRAKE-FRONT.2 to SP-STOP pink 1.5 mm2 0.30 m
wire 8 BRAKE-REAR.2 to SP-STOP pink 1.5 mm2 0.30 m
wire 10 SP to LIGHTS.15 orange 1.5 mm2 0.30 m
wire 12 REAR.31 to FRAME black 1.5 mm2 0.30 m
wire 9 SP-STOP to REAR.54 pink 1.5 mm2 0.30 m
wire 11 LIGHTS.58 to REAR.58 grey 1.5 mm2 0.30 m
""",
    cautions="Take the battery's grounded lead off before a wire is moved.",
    find=find,
)
