"""A key of which no position says that it is out."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.messages import listed
from ...lang.words import KEY_OUT
from ..conduction.keys import keys
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for key in keys(examination.conduction.network):
        names = [position.name for position in key.positions]
        if not any(name in KEY_OUT for name in names):
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"{key.name} is a key and has no position {listed(KEY_OUT)}: nothing was checked with the "
                "ignition off",
                span=key.span,
                about=(key.name,),
                source=RULE.source,
                remedy=f"name the position of {key.name} in which the ignition is off `off` (its positions here: "
                f"{listed(names, 'and')}); take `key` off its line if it is not the ignition switch",
            )


RULE = Rule(
    name="key-without-off",
    level=Level.WARNING,
    family="honesty",
    catches="a key with no position `off`, `lock` or `park`",
    why="""What stays live with the ignition off, what drains the battery and whether the engine stops at the key are
    asked of the positions `off`, `lock` and `park`. Where a key has none of them nothing of that is found, and a
    report without a finding would read as a promise.""",
    source="ours",
    bad="""
loom "A key that is never out"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { out: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red 1 mm2 0.1 m
wire 3 KEY.2 to LAMP.1 grey 1 mm2 0.1 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
""",
    good="""
loom "A key that is out in lock and park, and a switch that is no key"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { lock: ; on: 1 2, 1 3; park: 1 3 }
switch LIGHT 10 A at tray { out: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
load PARK lamp at tray always in KEY park { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red 1 mm2 0.1 m
wire 3 KEY.2 to LIGHT.1 grey 1 mm2 0.1 m
wire 4 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 5 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 6 KEY.3 to PARK.1 blue 1 mm2 0.1 m
wire 7 PARK.2 to FRAME black 1 mm2 0.1 m
wire 8 BAT.- to FRAME black 6 mm2 0.2 m
""",
    find=find,
)
