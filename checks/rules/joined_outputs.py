"""Two outputs of one unit on one wire."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Unit, UnitOutput
from ..dependents import engine_depends
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    joined = examination.copper.bare
    for part in examination.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        together: dict[str, dict[str, UnitOutput]] = {}
        for output in part.outputs:
            together.setdefault(joined.of(f"{part.name}.{output.terminal}"), {}).setdefault(output.terminal, output)
        for outputs in together.values():
            if len(outputs) < 2:
                continue
            first, *others = outputs.values()
            engine = engine_depends(examination, part, outputs.values())
            nodes = [f"{part.name}.{output.terminal}" for output in outputs.values()]
            yield Finding(
                rule=RULE.name,
                level=Level.ERROR if engine else Level.WARNING,
                message=f"outputs {', '.join(o.name for o in outputs.values())} of {part.name} are connected to each "
                f"other: {' and '.join(nodes)}",
                span=part.shown_at(first.span),
                about=(part.name,),
                source=RULE.source,
                remedy=f"give {' and '.join(nodes[1:])} {'its' if len(others) == 1 else 'their'} own wire and load; "
                "where two outputs must feed one load, put a diode in each",
            )


RULE = Rule(
    name="joined-outputs",
    level=Level.ERROR,
    family="behaviour",
    catches="two outputs of one unit that wires connect to each other",
    why="""An output that is on feeds whatever is connected to the other: both loads come on together, one output
    carries the current of both and trips, and some units are destroyed when voltage comes in at an output.""",
    source="common practice, no source",
    bad="""
loom "Two outputs on one splice"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
switch BTN 0.1 A momentary at tray { rest: ; press: 1 2 }
switch HIGH 0.1 A at tray { off: ; on: 1 2 }
ground FRAME at tray
unit CTRL at tray {
    supply 10 mA: 30 31
    input btn grounded: IN
    input high grounded: IH
    output horn 5 A trips 7 A: OUT when btn
    output lamp 5 A trips 7 A: OUT2 when high
}
load HORN horn at tray for signals { coil 3 A: 1 2 }
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.30 orange 2 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 BTN.1 to CTRL.IN white 1 mm2 0.30 m
wire 7 BTN.2 to FRAME black 1 mm2 0.30 m
wire 8 CTRL.OUT to HORN.1 pink 2 mm2 0.30 m
wire 9 HORN.2 to FRAME black 2 mm2 0.30 m
wire 10 CTRL.OUT2 to LAMP.1 green 2 mm2 0.30 m
wire 11 LAMP.2 to FRAME black 2 mm2 0.30 m
wire 12 HIGH.1 to CTRL.IH grey 1 mm2 0.30 m
wire 13 HIGH.2 to FRAME black 1 mm2 0.30 m
wire 14 HORN.1 to LAMP.1 pink 2 mm2 0.30 m
""",
    good="""
loom "Two outputs with a diode each on one lamp"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
switch BTN 0.1 A momentary at tray { rest: ; press: 1 2 }
switch HIGH 0.1 A at tray { off: ; on: 1 2 }
ground FRAME at tray
diode D1 5 A at tray
diode D2 5 A at tray
splice SP at tray
unit CTRL at tray {
    supply 10 mA: 30 31
    input btn grounded: IN
    input high grounded: IH
    output flash 5 A trips 7 A: OUT when btn
    output lamp 5 A trips 7 A: OUT2 when high
}
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.30 orange 2 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 BTN.1 to CTRL.IN white 1 mm2 0.30 m
wire 7 BTN.2 to SP-G black 1 mm2 0.30 m
wire 8 CTRL.OUT to D1.A pink 2 mm2 0.30 m
wire 9 D1.K to SP green 2 mm2 0.10 m
wire 10 CTRL.OUT2 to D2.A violet 2 mm2 0.30 m
wire 11 D2.K to SP green 2 mm2 0.10 m
wire 12 SP to LAMP.1 green 2 mm2 0.30 m
splice SP-G at tray
wire 13 SP-G to FRAME black 2 mm2 0.30 m
wire 13b LAMP.2 to SP-G black 2 mm2 0.30 m
wire 14 HIGH.1 to CTRL.IH grey 1 mm2 0.30 m
wire 15 HIGH.2 to SP-G black 1 mm2 0.30 m
""",
    find=find,
)
