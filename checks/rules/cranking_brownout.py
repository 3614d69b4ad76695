"""An ignition that gets too little while the starter turns."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ...lang.model import Load, Unit
from ...lang.quantities import shown
from ..dc.standing import standing
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.laws import law_source, laws


def find(examination: Examination) -> Iterator[Finding]:
    nominal = examination.harness.volts
    for branch in examination.circuit.branches:
        part = examination.harness.parts.get(branch.part)
        sparks = branch.law is Law.IGNITION or (
            branch.law in (Law.SUPPLY, Law.ELECTRONICS) and isinstance(part, Load | Unit) and part.is_ignition
        )
        if not sparks:
            continue
        for point in examination.operation.points.values():
            if point.engine != "cranking" or not point.joins.joined(branch.key, series=True):
                continue
            stand = standing(point, branch.key)
            if stand is None or stand.of != "nominal volts":
                continue
            needed = max(stand.works, laws().cranking_share if branch.law is not Law.IGNITION else 0.0)
            if stand.share >= needed:
                continue
            battery = max((point.across(s.name) for s in point.joins.sources if s.kind == "battery"), default=0.0)
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{branch.key} gets {shown(stand.share * nominal)} V while the starter turns and needs "
                f"{shown(needed * nominal)} V to fire",
                span=branch.span,
                about=(branch.part,),
                state=point.state,
                path=tuple(b.key for b, _ in point.joins.losses(branch.key)),
                figures=(
                    Figure("across the ignition", stand.share * nominal, "V"),
                    Figure("needed", needed * nominal, "V"),
                    Figure("battery while cranking", battery, "V"),
                ),
                source=str(law_source("cranking_share")),
                remedy="a battery of less resistance, thicker starter cables, or a shorter way to the ignition",
            )
            break


RULE = Rule(
    name="cranking-brownout",
    level=Level.WARNING,
    family="stop",
    catches="an ignition below 0.67 of nominal volts in a cranking state",
    why="""The starter takes a hundred amps and pulls the battery down by two or three volts, and what else is lost on
    the way to the ignition comes on top. The engine then turns well and never fires; it starts when pushed. A rider who
    does not know of this changes plugs and coils for a season.""",
    source="0.67 of nominal volts: ours",
    formula="found where volts across the ignition < 0.67 of nominal volts (or less than it `needs`), engine cranking",
    bad="""
loom "A tired battery and thin wire to the coil"
place tray, headstock, engine
route tray headstock 0.8 m
route tray engine 0.5 m
source BAT battery at tray { voltage 12.0 V; capacity 9 Ah; resistance 40 mohm }
ground ENGINE at engine
fuse MAIN 10 A blade at tray
switch KEY 15 A key at headstock { off: ; on: 30 15 }
switch START 3 A momentary at headstock { rest: ; press: 1 2 }
relay K-START 150 A at tray { coil 12 ohm: 86 85; released: ; pulled: 30 87 }
load COIL ignition at engine for ignition { primary 3 ohm duty 60 %: 15 1 }
load STARTER motor at engine for starting { armature 110 A: 30 31 }
mount STARTER.31 to ENGINE
mount COIL.1 to ENGINE
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 1 mm2
wire 3 KEY.15 to COIL.15 brown 1 mm2
wire 4 KEY.15 to START.1 brown 1.5 mm2 0.1 m
wire 5 START.2 to K-START.86 white 1.5 mm2
wire 6 K-START.85 to ENGINE black 1.5 mm2
wire 7 BAT.+ to K-START.30 red 16 mm2 0.3 m
wire 8 K-START.87 to STARTER.30 red/black 16 mm2
wire 9 BAT.- to ENGINE black 16 mm2
state cranking { KEY on, START press, engine cranking }
""",
    good="""
loom "The same with a sound battery"
place tray, headstock, engine
route tray headstock 0.8 m
route tray engine 0.5 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 14 mohm }
ground ENGINE at engine
fuse MAIN 10 A blade at tray
switch KEY 15 A key at headstock { off: ; on: 30 15 }
switch START 3 A momentary at headstock { rest: ; press: 1 2 }
relay K-START 150 A at tray { coil 12 ohm: 86 85; released: ; pulled: 30 87 }
load COIL ignition at engine for ignition { primary 3 ohm duty 60 %: 15 1 }
load STARTER motor at engine for starting { armature 110 A: 30 31 }
mount STARTER.31 to ENGINE
mount COIL.1 to ENGINE
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 2.5 mm2
wire 3 KEY.15 to COIL.15 brown 1.5 mm2
wire 4 KEY.15 to START.1 brown 1.5 mm2 0.1 m
wire 5 START.2 to K-START.86 white 1.5 mm2
wire 6 K-START.85 to ENGINE black 1.5 mm2
wire 7 BAT.+ to K-START.30 red 16 mm2 0.3 m
wire 8 K-START.87 to STARTER.30 red/black 16 mm2
wire 9 BAT.- to ENGINE black 16 mm2
state cranking { KEY on, START press, engine cranking }
""",
    cautions="Crank in neutral, with the bike on its stand and nobody in front of it.",
    find=find,
)
