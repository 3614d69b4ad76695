"""A regulator that does not feel the battery's volts."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Regulator
from ...lang.quantities import shown
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
        turned = abs(felt + battery) <= limit
        first, second = part.sense
        wrong = f"{part.name} feels {shown(felt)} V while {batteries[0].name} has {shown(battery)} V: "
        "it holds the wrong volts"
        if turned:
            wrong = f"the sense terminals of {part.name} are the wrong way round: {top} is taken as the + side"
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=wrong,
            span=part.span,
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("at the sense terminals", felt, "V"),
                Figure("battery", battery, "V"),
                Figure("allowed difference", limit, "V"),
            ),
            source=str(law_source("sense_error_volts")),
            remedy=f"write `sense: {second} {first}`, the + side first; with a positive ground that is the frame's side"
            if turned
            else "take the sense lead, and its ground, to the battery by wires that carry nothing else",
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
loom "The sense lead hangs on the far end of a loaded wire"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source GEN alternator at tray { phases: U V W; field 6 ohm: DF 31 }
rectifier RECT 20 A at tray { phases: U V W; output 220 W: B+ B-; trio: D+; idle 100 W }
regulator REG 5 A at tray { passes: D+ DF; sense: S D-; regulated 14.2 V }
ground FRAME at tray
mount GEN.31 to FRAME
fuse MAIN 20 A blade at tray
fuse F-KEY 7.5 A blade at tray
fuse F-SENSE 2 A blade at tray
switch KEY 15 A key at tray { off: ; on: 30 15 }
load TELL lamp at tray { charge 3 W tell-tale: CHG D+ }
load SEAT heater at tray { pad 5 A: 1 2 }
splice SP at tray
splice SP-D at tray
splice SP-15 at tray
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to SP red/white 4 mm2 0.1 m
wire 3 SP to F-KEY.1 red/white 4 mm2 0.1 m
wire 4 F-KEY.2 to KEY.30 red/blue 1 mm2 1.5 m
wire 5 KEY.15 to SP-15 orange 1 mm2 1.5 m
wire 6 SP-15 to TELL.CHG orange 2 mm2 0.2 m
wire 7 TELL.D+ to SP-D brown 2 mm2 0.2 m
wire 8 SP-D to REG.D+ brown 2 mm2 0.2 m
wire 9 RECT.D+ to SP-D brown 2 mm2 0.2 m
wire 10 REG.DF to GEN.DF brown/white 2 mm2 0.2 m
wire 11 GEN.U to RECT.U green 2 mm2 0.2 m
wire 12 GEN.V to RECT.V green 2 mm2 0.2 m
wire 13 GEN.W to RECT.W green 2 mm2 0.2 m
wire 14 RECT.B+ to SP red/white 4 mm2 0.1 m
wire 15 RECT.B- to FRAME black 4 mm2 0.1 m
wire 16 REG.D- to FRAME black 2 mm2 0.1 m
wire 17 BAT.- to FRAME black 6 mm2 0.2 m
wire 18 SP-15 to SEAT.1 orange 2 mm2 0.2 m
wire 19 SEAT.2 to FRAME black 2 mm2 0.2 m
wire 20 SP-15 to F-SENSE.1 orange 2 mm2 0.2 m
wire 21 F-SENSE.2 to REG.S white 1 mm2 0.2 m
state riding { KEY on, engine running }
""",
    good="""
loom "The same by a short way"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source GEN alternator at tray { phases: U V W; field 6 ohm: DF 31 }
rectifier RECT 20 A at tray { phases: U V W; output 220 W: B+ B-; trio: D+; idle 100 W }
regulator REG 5 A at tray { passes: D+ DF; sense: S D-; regulated 14.2 V }
ground FRAME at tray
mount GEN.31 to FRAME
fuse MAIN 20 A blade at tray
fuse F-KEY 7.5 A blade at tray
fuse F-SENSE 2 A blade at tray
switch KEY 15 A key at tray { off: ; on: 30 15 }
load TELL lamp at tray { charge 3 W tell-tale: CHG D+ }
load SEAT heater at tray { pad 5 A: 1 2 }
splice SP at tray
splice SP-D at tray
splice SP-15 at tray
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to SP red/white 4 mm2 0.1 m
wire 3 SP to F-KEY.1 red/white 4 mm2 0.1 m
wire 4 F-KEY.2 to KEY.30 red/blue 1 mm2 0.3 m
wire 5 KEY.15 to SP-15 orange 1 mm2 0.3 m
wire 6 SP-15 to TELL.CHG orange 2 mm2 0.2 m
wire 7 TELL.D+ to SP-D brown 2 mm2 0.2 m
wire 8 SP-D to REG.D+ brown 2 mm2 0.2 m
wire 9 RECT.D+ to SP-D brown 2 mm2 0.2 m
wire 10 REG.DF to GEN.DF brown/white 2 mm2 0.2 m
wire 11 GEN.U to RECT.U green 2 mm2 0.2 m
wire 12 GEN.V to RECT.V green 2 mm2 0.2 m
wire 13 GEN.W to RECT.W green 2 mm2 0.2 m
wire 14 RECT.B+ to SP red/white 4 mm2 0.1 m
wire 15 RECT.B- to FRAME black 4 mm2 0.1 m
wire 16 REG.D- to FRAME black 2 mm2 0.1 m
wire 17 BAT.- to FRAME black 6 mm2 0.2 m
wire 18 SP-15 to SEAT.1 orange 2 mm2 0.2 m
wire 19 SEAT.2 to FRAME black 2 mm2 0.2 m
wire 20 SP-15 to F-SENSE.1 orange 2 mm2 0.2 m
wire 21 F-SENSE.2 to REG.S white 1 mm2 0.2 m
state riding { KEY on, engine running }
""",
    cautions="An overcharged battery gives off explosive gas and acid; stop the engine if it swells or smells.",
    find=find,
)
