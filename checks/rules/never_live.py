"""A load that nothing can feed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..behaviour import SERIES_LAWS, AnyOf, AtPole, JoinedInSeries, reached_at_all
from ..conduction import ANY
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    for branch in conduction.consumers:
        if branch.law in SERIES_LAWS or not conduction.wired(branch):
            continue
        fed = AnyOf((JoinedInSeries(branch.key, ANY), AtPole(branch.a, feed=True), AtPole(branch.b, feed=True)))
        scope = conduction.scope(fed)
        if fed.table(scope) & scope.counted & scope.plausible or not scope.counted:
            continue
        if reached_at_all(conduction, branch):
            continue
        told = found(
            RULE.name,
            Level.ERROR,
            f"{branch.key} is fed in no combination of the controls",
            branch.span,
            about=(branch.part,),
            source=RULE.source,
            remedy=f"follow the wire at {branch.a} back: a contact on the way never closes when it is needed",
        )
        yield replace(told, subject=branch.key)


RULE = Rule(
    name="never-live",
    level=Level.ERROR,
    family="behaviour",
    catches="a load that no combination feeds, and no other rule has said why",
    why="""A wire on the wrong terminal, or two contacts in a row that are never closed together, make a load that
    never works. Found on the stand this costs a minute; found in the dark it costs the ride.""",
    source="ours: every combination of the controls is gone through",
    bad="""
loom "Never live"
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
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
switch NEUTRAL 5 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
switch IN-GEAR 5 A senses gearbox at tray for sensing { in-gear: 1 2; neutral: }
wire 4 KEY.15 to NEUTRAL.1 orange 2 mm2 0.30 m
wire 5 NEUTRAL.2 to IN-GEAR.1 grey 2 mm2 0.30 m
wire 6 IN-GEAR.2 to LAMP.1 grey/white 2 mm2 0.30 m
wire 7 LAMP.2 to FRAME black 2 mm2 0.30 m
""",
    good="""
loom "Never live, near miss"
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
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
switch NEUTRAL 5 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
switch IN-GEAR 5 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
wire 4 KEY.15 to NEUTRAL.1 orange 2 mm2 0.30 m
wire 5 NEUTRAL.2 to IN-GEAR.1 grey 2 mm2 0.30 m
wire 6 IN-GEAR.2 to LAMP.1 grey/white 2 mm2 0.30 m
wire 7 LAMP.2 to FRAME black 2 mm2 0.30 m
""",
    find=find,
)
