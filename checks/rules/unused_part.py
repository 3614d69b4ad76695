"""A part that stands in the text and not in the harness."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    reached = {
        end
        for branch in examination.circuit.branches
        if branch.law in (Law.WIRE, Law.MOUNT)
        for node in (branch.a, branch.b)
        for end in (node, node.rpartition(".")[0])
    }
    for part in examination.harness.parts.values():
        if part.name not in reached:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"no conductor reaches {part.name}",
                span=part.span,
                about=(part.name,),
                source=RULE.source,
                remedy="wire it, or take it out of the text",
            )


RULE = Rule(
    name="unused-part",
    level=Level.NOTE,
    family="build",
    catches="a part that no wire and no mounting reaches",
    why="""A part that nothing reaches is either forgotten work or a leftover of an older plan, and whoever buys parts
    by this text buys one too many.""",
    source="ours",
    bad="""
loom "A splice that waits for its wires"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
splice SP9 at tray
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
""",
    good="""
loom "A mounting is enough to reach a part"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.3 m
wire 3 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
mount LAMP.2 to FRAME
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
""",
    find=find,
)
