"""A relay whose coil gets too little to pull in."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Relay
from ...lang.quantities import shown
from ..dc.settling import UnsettledError, pulls_in
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.laws import law_source


def find(examination: Examination) -> Iterator[Finding]:
    nominal = examination.harness.volts
    operation = examination.operation
    for part in examination.harness.parts.values():
        coil = examination.circuit.by_key.get(f"{part.name} coil")
        if not isinstance(part, Relay) or coil is None:
            continue
        needed = pulls_in(part, nominal)
        for point in operation.points.values():
            across = abs(point.across(coil.key))
            if across >= needed or not point.joins.joined(coil.key):
                continue
            pulled = part.name in point.memory.pulled
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{part.name} gets {shown(across)} V and pulls in from {shown(needed)} V: "
                + ("once it has let go it stays released" if pulled else "it stays released"),
                span=part.span,
                about=(part.name,),
                state=point.state,
                path=tuple(b.key for b, _ in point.joins.losses(coil.key)),
                figures=(Figure("across the coil", across, "V"), Figure("pulls in from", needed, "V")),
                source="" if part.pulls is not None else str(law_source("relay_pull_share")),
                remedy="thicker wire to the coil, a feed nearer the battery, or a battery that sags less",
            )
            break
        else:
            for name, error in operation.unsolved.items():
                if isinstance(error, UnsettledError) and part.name in error.parts:
                    yield Finding(
                        rule=RULE.name,
                        level=Level.WARNING,
                        message=f"{part.name} keeps pulling in and letting go: what it switches on takes the volts "
                        "that hold it",
                        span=part.span,
                        about=(part.name,),
                        state=name,
                        source="" if part.pulls is not None else str(law_source("relay_pull_share")),
                        remedy="feed the coil nearer the battery than what it switches, or a battery that sags less",
                    )
                    break


RULE = Rule(
    name="weak-relay",
    level=Level.WARNING,
    family="stop",
    catches="a relay coil below its pull-in volts in a state in which it must pull, cranking above all",
    why="""A relay that gets too little hums, chatters and burns its contacts, or does nothing, and it does so when it
    is needed most: with a cold engine, a low battery and the starter turning. Every volt lost in the key, the stop
    switch and the interlocks before the coil counts.""",
    source="pull-in at 0.67 of nominal volts where the relay does not say: makers' data sheets, 8 V for 12 V",
    formula="found where the coil is joined to a source and gets < `pulls` V (0.67 of nominal volts where left out)",
    bad="""
loom "A starter relay on a tired battery"
place tray, bars, engine
route tray bars 1.2 m
route tray engine 0.5 m
source BAT battery at tray { voltage 12.0 V; capacity 9 Ah; resistance 38 mohm }
ground ENGINE at engine
fuse F 5 A blade at tray
switch START 5 A momentary at bars { rest: ; press: 1 2 }
relay K-START 150 A at tray { coil 3.6 ohm: 86 85; released: ; pulled: 30 87 }
load STARTER motor at engine for starting { armature 110 A: 30 31 }
mount STARTER.31 to ENGINE
wire 1 BAT.+ to F.1 red 1.5 mm2 0.15 m
wire 2 F.2 to START.1 red 1.5 mm2
wire 3 START.2 to K-START.86 white 1.5 mm2
wire 4 K-START.85 to ENGINE black 1.5 mm2
wire 5 BAT.+ to K-START.30 red 16 mm2 0.3 m
wire 6 K-START.87 to STARTER.30 red/black 16 mm2
wire 7 BAT.- to ENGINE black 16 mm2
state cranking { START press, engine cranking }
""",
    good="""
loom "The same relay on a sound battery"
place tray, bars, engine
route tray bars 1.2 m
route tray engine 0.5 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground ENGINE at engine
fuse F 5 A blade at tray
switch START 5 A momentary at bars { rest: ; press: 1 2 }
relay K-START 150 A at tray { coil 3.6 ohm: 86 85; released: ; pulled: 30 87 }
load STARTER motor at engine for starting { armature 110 A: 30 31 }
mount STARTER.31 to ENGINE
wire 1 BAT.+ to F.1 red 1.5 mm2 0.15 m
wire 2 F.2 to START.1 red 1.5 mm2
wire 3 START.2 to K-START.86 white 1.5 mm2
wire 4 K-START.85 to ENGINE black 1.5 mm2
wire 5 BAT.+ to K-START.30 red 16 mm2 0.3 m
wire 6 K-START.87 to STARTER.30 red/black 16 mm2
wire 7 BAT.- to ENGINE black 16 mm2
state cranking { START press, engine cranking }
""",
    cautions="Crank in neutral, with the bike on its stand; a relay that chatters may weld.",
    find=find,
)
