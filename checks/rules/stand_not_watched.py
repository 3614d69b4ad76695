"""An ignition that does not mind the stand."""

from __future__ import annotations

from collections.abc import Iterator

from ..behaviour import AllOf, In, Question, Runs, feed_keys
from ..behaviour.proofs import fed_path, ignition_parts, in_gear
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    network = conduction.network
    if "stand" not in network.circuit.controls:
        return
    gear = in_gear(network)
    down: list[Question] = [In("stand", ("down",)), *([gear] if gear else [])]
    while_ = AllOf(tuple(down))
    for part in ignition_parts(network):
        runs = Runs(part.name)
        scope = conduction.scope(runs, while_)
        shown = conduction.show(scope, runs.table(scope) & while_.table(scope) & scope.counted)
        if shown is None:
            continue
        switches = network.circuit.controls["stand"].switches
        yield found(
            RULE.name,
            RULE.level,
            f"{part.name} runs with the stand down",
            part.span,
            about=(part.name, *switches),
            shown=shown,
            path=fed_path(conduction, shown, feed_keys(network, part)),
            source=RULE.source,
            remedy=f"feed the ignition through {' and '.join(switches)}, and past it through the neutral switch",
        )
        return


RULE = Rule(
    name="stand-not-watched",
    level=Level.WARNING,
    family="stop",
    catches="a sensed stand, and an ignition that is live with it down and in gear",
    why="""A stand left down digs in at the first left-hand bend. Some laws let a stand that does not fold up by itself
    pass where the engine cannot drive the machine with the stand out: that is what the switch is for, and a
    switch that only lights a lamp does not do it. Local law decides.""",
    source="Regulation (EU) 168/2013 with Delegated Regulation (EU) 44/2014, which took over from Directive 2009/78/EC "
    "(from memory, confidence high); local law decides",
    bad="""
loom "Stand not watched"
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
switch KILL 6 A at tray for ignition { run: 1 2; stop: }
load COIL ignition at tray for ignition { primary 4 ohm duty 60 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS.2 to FRAME
capacitor COND 0.25 uF 400 V at tray for ignition
mount COND.- to FRAME
switch STAND 5 A senses stand at tray for sensing { down: ; up: 1 2 }
switch NEUTRAL 5 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
load TELL lamp at tray for instruments { stand 2 W tell-tale: 15 ST; neutral 2 W tell-tale: 15 N }
splice SP at tray
wire 4 KEY.15 to SP orange 2 mm2 0.20 m
wire 5 SP to KILL.1 orange 2 mm2 0.30 m
wire 6 KILL.2 to COIL.15 yellow 2 mm2 0.30 m
wire 7 COIL.1 to POINTS.1 yellow/black 2 mm2 0.30 m
wire 7c COND.+ to POINTS.1 yellow/black 2 mm2 0.10 m
wire 8 SP to TELL.15 orange 2 mm2 0.30 m
wire 9 TELL.ST to STAND.1 grey 2 mm2 0.30 m
wire 10 STAND.2 to FRAME black 2 mm2 0.30 m
wire 11 TELL.N to NEUTRAL.1 grey/white 2 mm2 0.30 m
wire 12 NEUTRAL.2 to FRAME black 2 mm2 0.30 m
""",
    good="""
loom "Stand not watched, near miss"
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
switch KILL 6 A at tray for ignition { run: 1 2; stop: }
load COIL ignition at tray for ignition { primary 4 ohm duty 60 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS.2 to FRAME
capacitor COND 0.25 uF 400 V at tray for ignition
mount COND.- to FRAME
switch STAND 5 A senses stand at tray for sensing { down: ; up: 1 2 }
switch NEUTRAL 5 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
splice SP-SAFE at tray
splice SP at tray
wire 4 KEY.15 to SP orange 2 mm2 0.20 m
wire 5 SP to KILL.1 orange 2 mm2 0.30 m
wire 6 KILL.2 to STAND.1 yellow 2 mm2 0.30 m
wire 13 KILL.2 to NEUTRAL.1 yellow 2 mm2 0.30 m
wire 7 COIL.1 to POINTS.1 yellow/black 2 mm2 0.30 m
wire 7c COND.+ to POINTS.1 yellow/black 2 mm2 0.10 m
wire 9 SP-SAFE to COIL.15 grey 2 mm2 0.20 m
wire 10 STAND.2 to SP-SAFE grey 2 mm2 0.30 m
wire 12 NEUTRAL.2 to SP-SAFE grey 2 mm2 0.30 m
""",
    find=find,
)
