"""A pump that goes on when the engine has stopped."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Element
from ..behaviour import AllOf, In, Joined, Question
from ..conduction.evidence import found
from ..conduction.keys import engine
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    controls = examination.circuit.controls
    # With the engine off no pick-up gives a signal, and what an output holds after the last one ends by itself.
    silent = tuple(In(name, (c.rest,)) for name, c in controls.items() if c.free and not c.switches)
    dangers: list[tuple[Question, str]] = [(AllOf((engine("off"), *silent)), "with the engine off")]
    if "tilt" in controls:
        dangers.append((In("tilt", ("fallen",)), "with the machine fallen over"))
    for branch in conduction.consumers:
        if not isinstance(branch.item, Element) or branch.item.what != "pump":
            continue
        for while_, when in dangers:
            live = Joined(branch.key)
            scope = conduction.scope(live, while_)
            shown = conduction.show(scope, live.table(scope) & while_.table(scope) & scope.counted & scope.lasting)
            if shown is None:
                continue
            yield found(
                RULE.name,
                RULE.level,
                f"{branch.key} runs on" + ("" if shown.shown else f" {when}"),
                branch.span,
                about=(branch.part,),
                shown=shown,
                path=conduction.loop(shown, branch),
                source=RULE.source,
                remedy="an output that is on while the engine turns and `holds` a few seconds, and a tilt switch",
            )
            break


RULE = Rule(
    name="pump-runs-on",
    level=Level.WARNING,
    family="stop",
    catches="a pump live with the engine off beyond what its output holds, or with the machine fallen",
    why="""After a fall a fuel pump that runs on feeds the fire. It should stop some seconds after the last spark by
    itself, whatever the key says. Work on fuel lines only with the battery off and no flame near.""",
    source="common practice, no source",
    bad="""
loom "Pump runs on"
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
load PUMP pump at tray for controls { pump 3 A: 1 2 }
wire 4 KEY.15 to PUMP.1 orange 2 mm2 0.30 m
wire 5 PUMP.2 to FRAME black 2 mm2 0.30 m
""",
    good="""
loom "Pump runs on, near miss"
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
load PUMP pump at tray for controls { pump 3 A: 1 2 }
sensor PICK-UP at tray for sensing { signal 200 ohm: 1 2 }
unit TIMER at tray for controls {
    supply 20 mA: 30 31
    input spark signal: P P-
    output pump 5 A trips 7.5 A holds 3 s clamped: OUT when spark
}
wire 6 KEY.15 to TIMER.30 orange 2 mm2 0.30 m
wire 7 TIMER.31 to FRAME black 2 mm2 0.30 m
wire 8 PICK-UP.1 to TIMER.P white 1 mm2 0.30 m
wire 9 PICK-UP.2 to TIMER.P- white/black 1 mm2 0.30 m
wire 4 TIMER.OUT to PUMP.1 turquoise 2 mm2 0.30 m
wire 5 PUMP.2 to FRAME black 2 mm2 0.30 m
""",
    find=find,
)
