"""A starter that turns the engine over in gear."""

from __future__ import annotations

from collections.abc import Iterator

from ..behaviour.proofs import starters
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    controls = examination.circuit.controls
    if "gearbox" not in controls and "clutch" not in controls:
        for name, _ in starters(examination.conduction.network)[:1]:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"nothing senses gearbox or clutch: {name} turns the engine over in any gear",
                span=examination.harness.parts[name].span,
                about=(name,),
                source=RULE.source,
                remedy="a neutral or a clutch switch in the starter's circuit; older machines had none",
            )
        return
    for lock in examination.proofs.interlocks:
        if lock.proof.ended != "refuted":
            continue
        fitted = " and ".join(lock.fitted)
        yield found(
            RULE.name,
            Level.ERROR if lock.fitted else Level.WARNING,
            f"{lock.starter} turns the engine over" + (f" past {fitted}" if fitted else " in gear"),
            examination.harness.parts[lock.starter].span,
            about=(lock.starter, *lock.fitted),
            shown=lock.proof.shown,
            path=lock.proof.path,
            source=RULE.source,
            remedy="lead the starter relay's coil through the neutral switch, or through the clutch switch beside it",
        )


RULE = Rule(
    name="starter-interlock",
    level=Level.ERROR,
    family="stop",
    catches="the starter live in gear with the clutch out, or in gear with the stand down",
    why="""A starter that turns the engine over in gear moves the machine: off its stand, or into whoever stands before
    it. Where a switch is fitted to prevent that and the wiring goes round it, the rider trusts it, so that
    is the graver fault. Keep the machine in neutral and off its stand for every trial.""",
    source="ours: every combination of the controls is gone through",
    bad="""
loom "Starter interlock"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 16 mm2 0.20 m
load STARTER motor at tray for starting { armature 80 A: 30 31 }
relay K-START 100 A at tray for starting { coil 12 ohm: 86 85; released: ; pulled: 30 87 }
switch START 3 A momentary at tray for starting { rest: ; press: 1 2 }
wire 11 BAT.+ to K-START.30 red 16 mm2 0.30 m
wire 12 K-START.87 to STARTER.30 red/black 16 mm2 0.30 m
wire 13 STARTER.31 to FRAME black 16 mm2 0.30 m
wire 14 KEY.15 to START.1 orange 1 mm2 0.30 m
switch NEUTRAL 2 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
load TELL lamp at tray for instruments { neutral 2 W tell-tale: 15 N }
mount NEUTRAL.2 to FRAME
wire 15 START.2 to K-START.86 white 1 mm2 0.30 m
wire 16 K-START.85 to FRAME black 1 mm2 0.30 m
wire 17 KEY.15 to TELL.15 orange 1 mm2 0.30 m
wire 18 TELL.N to NEUTRAL.1 grey/white 1 mm2 0.30 m
""",
    good="""
loom "Starter interlock, near miss"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 16 mm2 0.20 m
load STARTER motor at tray for starting { armature 80 A: 30 31 }
relay K-START 100 A at tray for starting { coil 12 ohm: 86 85; released: ; pulled: 30 87 }
switch START 3 A momentary at tray for starting { rest: ; press: 1 2 }
wire 11 BAT.+ to K-START.30 red 16 mm2 0.30 m
wire 12 K-START.87 to STARTER.30 red/black 16 mm2 0.30 m
wire 13 STARTER.31 to FRAME black 16 mm2 0.30 m
wire 14 KEY.15 to START.1 orange 1 mm2 0.30 m
switch NEUTRAL 2 A senses gearbox at tray for sensing { in-gear: ; neutral: 1 2 }
mount NEUTRAL.2 to FRAME
wire 15 START.2 to K-START.86 white 1 mm2 0.30 m
wire 16 K-START.85 to NEUTRAL.1 grey/white 1 mm2 0.30 m
""",
    find=find,
)
