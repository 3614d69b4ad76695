"""A battery that is connected the wrong way round."""

from __future__ import annotations

from collections.abc import Iterator

from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    copper, circuit = examination.copper, examination.circuit
    grounded = examination.harness.grounded
    for supply in circuit.supplies:
        if supply.kind != "battery":
            continue
        plus, minus = supply.plus[0], supply.minus
        right, wrong = (minus, plus) if circuit.return_sign == "-" else (plus, minus)
        body = copper.body_at(wrong)
        if not body or copper.body_at(right):
            continue
        other = "positive" if grounded == "negative" else "negative"
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{supply.name} is the wrong way round: {wrong} is connected to {body}, and the system has a "
            f"{grounded} ground",
            span=supply.span,
            about=(supply.name, body),
            path=(wrong, body),
            source=RULE.source,
            remedy=f"connect {right} to {body} and {wrong} to the feed; where the motorcycle itself has the other "
            f"ground, write `system … V {other} ground`",
        )


RULE = Rule(
    name="battery-reversed",
    level=Level.ERROR,
    family="ground",
    catches="a battery with the pole on a ground that the system does not ground, and its other pole on none",
    why="""A battery connected the wrong way round sends its current through the diodes of the alternator, which are a
    short for it, and through every control unit and LED backwards. The main fuse blows at best; without one
    the charging lead burns. Filament lamps and the starter work as before, so that it is noticed late.""",
    source="ours: the ground that `system` states is compared with what copper, fuses and meters connect",
    bad="""
loom "Battery the wrong way round"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.- to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.+ to FRAME black 6 mm2 0.10 m
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
wire 4 KEY.15 to LAMP.1 orange 2 mm2 0.30 m
wire 5 LAMP.2 to FRAME black 2 mm2 0.05 m
""",
    good="""
loom "Two batteries of 6 V in a row: the pole between them is on no ground"
system 12 V negative ground
wires class B
place tray
source BAT-A battery at tray for supply { voltage 6.3 V; capacity 14 Ah; resistance 15 mohm }
source BAT-B battery at tray for supply { voltage 6.3 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT-A.+ to MAIN.1 red 2 mm2 0.15 m
wire 1b BAT-B.+ to BAT-A.- red 6 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT-B.- to FRAME black 6 mm2 0.20 m
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
wire 4 KEY.15 to LAMP.1 orange 2 mm2 0.30 m
wire 5 LAMP.2 to FRAME black 2 mm2 0.30 m
""",
    cautions="""Take both leads off the battery before anything else. What was connected backwards, rectifier, units and
    LEDs, is tested on a bench before it is trusted again.""",
    find=find,
)
