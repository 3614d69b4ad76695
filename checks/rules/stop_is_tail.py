"""A stop lamp and a tail lamp on one lead."""

from __future__ import annotations

from collections.abc import Iterator

from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..lamps import Misfed
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for one in examination.misfed:
        told = _told(one)
        if told is None:
            continue
        message, remedy = told
        lamp, other = one.lamp, one.other
        yield found(
            RULE.name,
            RULE.level,
            message,
            lamp.span,
            about=(lamp.part, *((other.part,) if other is not None else ())),
            shown=one.shown,
            path=examination.conduction.loop(one.shown, lamp) if one.shown is not None else (),
            source=RULE.source,
            remedy=remedy,
        )


def _told(one: Misfed) -> tuple[str, str] | None:
    """What to say and what to do; nothing where another rule tells it."""
    lamp, other = one.lamp, one.other
    if one.exchanged:
        return None
    if one.duty == "on with a brake only":
        return (
            f"tail lamp {lamp.key} is switched by a brake",
            f"connect {lamp.a} to the light switch, and the brake switches to the stop lamp alone",
        )
    if other is None:
        return None
    if one.duty == "one net":
        message = f"stop lamp {lamp.key} and tail lamp {other.key} are on one lead: they can only be on together"
    else:
        message = f"stop lamp {lamp.key} shares the lead of tail lamp {other.key} and is on without a brake"
    remedy = f"separate {lamp.a} from {other.a}: the stop lamp to the brake switches alone, the tail lamp to the lights"
    return message, remedy


RULE = Rule(
    name="stop-is-tail",
    level=Level.WARNING,
    family="behaviour",
    catches="a stop lamp on the tail lamp's lead, or a tail lamp that a brake switches",
    why="""Stop and tail lamp are two filaments of one bulb with one return, and their leads are mixed up at the bulb
    holder or joined in a splice. Then the stop lamp is on whenever the lights are, and a brake changes nothing that
    the rider behind can see.""",
    source="UN R53 6.4 and 49 CFR 571.108: a stop lamp is on while a brake is applied (from memory); local law decides",
    formula="""found where a stop lamp is on with no brake pressed and its + is in one net with the + of a tail lamp,
       or a stop and a tail lamp have both sides in common,
       or a brake lights a tail lamp that is off without it, while no stop lamp is on or it has no other feed""",
    bad="""
loom "The stop lamp is on the tail lamp's lead"
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
wire 9 LIGHTS.58 to REAR.54 pink 1.5 mm2 0.30 m
wire 11 LIGHTS.58 to REAR.58 grey 1.5 mm2 0.30 m
wire 13 SP-STOP to REAR.54 pink 1.5 mm2 0.30 m
""",
    good="""
loom "A tail lamp that is on with the stop lamp beside it"
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
