"""Stop and tail filament of one bulb, exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.quantities import shown
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..lamps import of_role, watts_of
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    yield from _by_duty(examination)
    yield from _by_watts(examination)


def _by_duty(examination: Examination) -> Iterator[Finding]:
    for one in examination.misfed:
        if one.exchanged and one.other is not None and one.shown is not None:
            lamp, tail = one.lamp, one.other
            yield found(
                RULE.name,
                RULE.level,
                f"stop lamp {lamp.key} is on without a brake, and tail lamp {tail.key} with one only: "
                "their leads are exchanged",
                lamp.span,
                about=(lamp.part,),
                shown=one.shown,
                path=examination.conduction.loop(one.shown, lamp),
                source=RULE.source,
                remedy=f"swap the wires at {lamp.a} and {tail.a}",
            )


def _by_watts(examination: Examination) -> Iterator[Finding]:
    """The stop filament of a bulb must be the brighter one by far: in one part a tail lamp of more watts is it."""
    circuit, volts = examination.circuit, examination.harness.volts
    exchanged = {one.lamp for one in examination.misfed if one.exchanged}
    for stop in of_role(circuit, "stop-lamp"):
        of_stop = watts_of(stop, volts)
        if of_stop is None or stop in exchanged:
            continue
        for tail in of_role(circuit, "tail-lamp"):
            of_tail = watts_of(tail, volts)
            if tail is stop or (tail.part, tail.law) != (stop.part, stop.law) or of_tail is None or of_tail <= of_stop:
                continue
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"tail lamp {tail.key} takes {shown(of_tail)} W and stop lamp {stop.key} only "
                f"{shown(of_stop)} W: "
                "the stop lamp must be the brighter one",
                span=tail.span,
                about=(stop.part,),
                figures=(Figure("tail lamp", of_tail, "W"), Figure("stop lamp", of_stop, "W")),
                source=RULE.source,
                remedy=f"look at the bulb and its holder: swap the wires at {stop.a} and {tail.a}, or correct the "
                "watts in the text",
            )


RULE = Rule(
    name="exchanged-filaments",
    level=Level.WARNING,
    family="behaviour",
    catches="stop and tail filament of one bulb exchanged, told by watts or by what switches them",
    why="""A rear bulb has a filament of some 5 W and one of some 21 W on one return. Exchanged, the bright one is on
    all night: it dazzles, melts the lens and takes four times the current, and the brake adds next to nothing.""",
    source="UN R7: a stop lamp is several times as bright as a rear position lamp (from memory); the rest is ours",
    formula="""found where, in one part, a tail lamp takes more watts than a stop lamp of the same kind,
       or the stop lamp is on with no brake pressed and the tail lamp with a brake only""",
    bad="""
loom "The bulb's leads are exchanged"
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
wire 9 SP-STOP to REAR.58 pink 1.5 mm2 0.30 m
wire 11 LIGHTS.58 to REAR.54 grey 1.5 mm2 0.30 m
""",
    good="""
loom "Each filament on its own lead"
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
    cautions="Let the bulb cool before it is touched.",
    find=find,
)
