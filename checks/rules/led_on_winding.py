"""An LED on a winding that gives alternating current."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law, Way
from ..behaviour import Joined
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    circuit = examination.circuit
    leds = [branch for branch in circuit.branches if branch.law is Law.LED]
    if not leds or not any(supply.kind == "winding" for supply in circuit.supplies):
        return
    # Past a rectifier or a diode of its own no reverse voltage reaches it: those are left out.
    one_way = [branch.key for branch in circuit.branches if branch.law.joined is Way.FORWARD]
    conduction = examination.conduction.without(one_way) if one_way else examination.conduction
    for branch in leds:
        asked = Joined(branch.key, frozenset({"winding"}))
        scope = conduction.scope(asked)
        shown = conduction.show(scope, asked.table(scope) & scope.counted)
        if shown is None:
            continue
        yield found(
            RULE.name,
            RULE.level,
            f"{branch.key} (LED) is on a winding that gives alternating current, with no diode before it",
            branch.span,
            about=(branch.part,),
            shown=shown,
            path=conduction.loop(shown, branch),
            source=RULE.source,
            remedy="feed it from behind a rectifier, or fit a filament lamp",
        )


RULE = Rule(
    name="led-on-winding",
    level=Level.ERROR,
    family="behaviour",
    catches="an LED that contacts connect to both ends of an alternating winding, with no rectifier or diode between",
    why="""An LED conducts one half of each wave and has the other half against it, and a winding with few lamps on it
    gives several times its voltage. It flickers at tick-over, shines with half its light, and fails when that
    reverse voltage passes what it withstands.""",
    source="ours: every combination of the controls is gone through",
    bad="""
loom "An LED headlamp on a lighting winding"
system 12 V negative ground
wires class B
place tray
source MAG alternator at tray for lighting { winding light 40 W: 59 31 }
load HEAD led at tray for lighting { dip 20 W dip-beam: 56 31 }
load REAR lamp at tray for lighting { tail 3 W tail-lamp plate-lamp: 56 31 }
ground FRAME at tray
switch LIGHTS 6 A at tray for lighting { off: ; on: 59 56 }
wire 1 MAG.59 to LIGHTS.59 yellow 2 mm2 0.30 m
wire 2 LIGHTS.56 to HEAD.56 blue 2 mm2 0.30 m
wire 3 HEAD.31 to MAG.31 black 2 mm2 0.30 m
wire 4 LIGHTS.56 to REAR.56 blue 2 mm2 0.30 m
wire 5 REAR.31 to HEAD.31 black 2 mm2 0.30 m
mount MAG.31 to FRAME
""",
    good="""
loom "An LED headlamp with a diode before it"
system 12 V negative ground
wires class B
place tray
source MAG alternator at tray for lighting { winding light 40 W: 59 31 }
diode D-HEAD 6 A at tray
load HEAD led at tray for lighting { dip 20 W dip-beam: 56 31 }
load REAR lamp at tray for lighting { tail 3 W tail-lamp plate-lamp: 56 31 }
ground FRAME at tray
switch LIGHTS 6 A at tray for lighting { off: ; on: 59 56 }
wire 1 MAG.59 to LIGHTS.59 yellow 2 mm2 0.30 m
wire 2 LIGHTS.56 to D-HEAD.A blue 2 mm2 0.30 m
wire 2b D-HEAD.K to HEAD.56 blue 2 mm2 0.10 m
wire 3 HEAD.31 to MAG.31 black 2 mm2 0.30 m
wire 4 LIGHTS.56 to REAR.56 blue 2 mm2 0.30 m
wire 5 REAR.31 to HEAD.31 black 2 mm2 0.30 m
mount MAG.31 to FRAME
""",
    cautions="A winding without its lamps can give several times its voltage: measure with every lamp connected.",
    find=find,
)
