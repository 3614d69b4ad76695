"""A regulator that does not feel the battery's volts."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Regulator
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.laws import law_source, laws


def find(examination: Examination) -> Iterator[Finding]:
    limit = laws().sense_error_volts
    batteries = [s for s in examination.circuit.supplies if s.kind == "battery"]
    if not batteries:
        return
    for part in examination.harness.parts.values():
        if not isinstance(part, Regulator) or part.sense is None:
            continue
        top, bottom = (f"{part.name}.{terminal}" for terminal in part.sense)
        known = examination.operation.network.index
        if top not in known or bottom not in known:
            continue
        worst = None
        for point in examination.operation.points.values():
            if point.engine != "running" or point.momentary or not point.flow.situation.machines:
                continue
            felt = point.volts(top) - point.volts(bottom)
            battery = point.across(batteries[0].name)
            if abs(felt - battery) > limit and (worst is None or abs(felt - battery) > abs(worst[0] - worst[1])):
                worst = (felt, battery, point)
        if worst is None:
            continue
        felt, battery, point = worst
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{part.name} feels {felt:.3g} V while {batteries[0].name} has {battery:.3g} V: "
            "it holds the wrong volts",
            span=part.span,
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("at the sense terminals", felt, "V"),
                Figure("battery", battery, "V"),
                Figure("allowed difference", limit, "V"),
            ),
            source=str(law_source("sense_error_volts")),
            remedy="take the sense lead, and its ground, to the battery by wires that carry nothing else",
        )


RULE = Rule(
    name="sense-error",
    level=Level.WARNING,
    family="behaviour",
    catches="volts at a regulator's sense terminals that differ from the battery's by over 0.3 V in a riding state",
    why="""A regulator holds steady what it feels. Where it feels the far end of a wire that feeds lamps as well, it
    feels too little and drives the battery up by as much: at 15 V a battery boils dry and lamps die young. Half a volt
    in an old key is enough. A sense lead that hangs free is worse: the machine then gives all it can.""",
    source="0.3 V: ours",
    formula="found where |volts between the sense terminals - volts of the battery| > 0.3 V, engine running",
    bad="""
loom "The sense lead hangs on the headlamp's feed"
place tray, engine
route tray engine 0.4 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at engine { output 280 W: B+ B-; field 6 ohm: DF B- }
regulator REG 5 A at tray { passes: B DF; sense: S D-; regulated 14.2 V }
ground ENGINE at engine
fuse MAIN 20 A blade at tray
switch KEY 20 A key at tray { off: ; on: 1 2 }
load HEAD at tray { dip 55 W lamp dip-beam: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red 2.5 mm2 0.2 m
wire 3 ALT.B+ to MAIN.2 red 2.5 mm2
wire 4 ALT.B- to ENGINE black 2.5 mm2 0.1 m
wire 5 KEY.2 to HEAD.1 blue 0.35 mm2 1.5 m
wire 6 HEAD.2 to ENGINE black 1.5 mm2
wire 7 BAT.- to ENGINE black 6 mm2
wire 8 KEY.2 to REG.B brown 1 mm2 0.3 m
wire 9 REG.DF to ALT.DF green 1 mm2
wire 10 HEAD.1 to REG.S white 1 mm2 0.3 m
wire 11 REG.D- to ENGINE black 1 mm2
state riding { KEY on, engine running }
""",
    good="""
loom "The sense lead runs to the battery's side of the key"
place tray, engine
route tray engine 0.4 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at engine { output 280 W: B+ B-; field 6 ohm: DF B- }
regulator REG 5 A at tray { passes: B DF; sense: S D-; regulated 14.2 V }
ground ENGINE at engine
fuse MAIN 20 A blade at tray
switch KEY 20 A key at tray { off: ; on: 1 2 }
load HEAD at tray { dip 55 W lamp dip-beam: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red 2.5 mm2 0.2 m
wire 3 ALT.B+ to MAIN.2 red 2.5 mm2
wire 4 ALT.B- to ENGINE black 2.5 mm2 0.1 m
wire 5 KEY.2 to HEAD.1 blue 1.5 mm2 0.5 m
wire 6 HEAD.2 to ENGINE black 1.5 mm2
wire 7 BAT.- to ENGINE black 6 mm2
wire 8 KEY.2 to REG.B brown 1 mm2 0.3 m
wire 9 REG.DF to ALT.DF green 1 mm2
wire 10 MAIN.2 to REG.S white 1 mm2 0.3 m
wire 11 REG.D- to ENGINE black 1 mm2
state riding { KEY on, engine running }
""",
    find=find,
)
