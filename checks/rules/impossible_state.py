"""A named state that no settled condition of the harness ever has."""

from __future__ import annotations

from collections.abc import Iterator

from ..behaviour.histories import why_impossible
from ..behaviour.proofs import too_wide
from ..conduction import TooWideError
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for name, state in examination.harness.states.items():
        try:
            told = why_impossible(examination.conduction, state.settings)
        except TooWideError as wide:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"whether {name} can come about was not proved: {too_wide(wide)}",
                span=state.span,
                source=RULE.source,
                remedy="try it on the machine",
            )
            continue
        if told is not None:
            part, why = told
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"{name} cannot come about: {why}; nothing else was asked of it",
                span=state.span,
                about=(part,),
                state=name,
                source=RULE.source,
                remedy="take the latch out of the state, or write the position of what sets and clears it",
            )


RULE = Rule(
    name="impossible-state",
    level=Level.ERROR,
    family="honesty",
    catches="a named state in which no memory of relays, latches and machines ever settles",
    why="""What is expected of a state that cannot come about holds whatever is written: the lamp is live there, and
    dead as well. So nothing is asked of such a state; it is an error of its own, told once at the state, and
    `states`, `faults` and `suspect` refuse it likewise.""",
    source="ours: every combination of the controls is gone through",
    bad="""
loom "Impossible state"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
switch BTN 0.1 A momentary at tray { rest: ; press: 1 2 }
unit CTRL at tray {
    supply 10 mA asleep 1 mA: 30 31
    input btn grounded: IN
    input key fed: K
    latch on: set when btn and key, cleared when not key
    output horn 5 A trips 7 A: OUT when on
    output lamp 5 A trips 7 A: OUT2 when key
}
load HORN horn at tray for signals { coil 3 A: 1 2 }
load LAMP lamp at tray for lighting { l 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to CTRL.30 red/white 2 mm2 0.30 m
wire 2b MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.K orange 1 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 BTN.1 to CTRL.IN white 0.5 mm2 0.30 m
wire 7 BTN.2 to CTRL.31 black 0.5 mm2 0.30 m
wire 8 CTRL.OUT to HORN.1 pink 2 mm2 0.30 m
wire 9 HORN.2 to FRAME black 2 mm2 0.30 m
wire 10 CTRL.OUT2 to LAMP.1 green 2 mm2 0.30 m
wire 11 LAMP.2 to HORN.2 black 2 mm2 0.30 m
state horn-without-key { KEY off, CTRL.on set }
expect in horn-without-key: HORN live
""",
    good="""
loom "Impossible state, near miss"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
switch BTN 0.1 A momentary at tray { rest: ; press: 1 2 }
unit CTRL at tray {
    supply 10 mA asleep 1 mA: 30 31
    input btn grounded: IN
    input key fed: K
    latch on: set when btn and key, cleared when not key
    output horn 5 A trips 7 A: OUT when on
    output lamp 5 A trips 7 A: OUT2 when key
}
load HORN horn at tray for signals { coil 3 A: 1 2 }
load LAMP lamp at tray for lighting { l 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to CTRL.30 red/white 2 mm2 0.30 m
wire 2b MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.K orange 1 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 BTN.1 to CTRL.IN white 0.5 mm2 0.30 m
wire 7 BTN.2 to CTRL.31 black 0.5 mm2 0.30 m
wire 8 CTRL.OUT to HORN.1 pink 2 mm2 0.30 m
wire 9 HORN.2 to FRAME black 2 mm2 0.30 m
wire 10 CTRL.OUT2 to LAMP.1 green 2 mm2 0.30 m
wire 11 LAMP.2 to HORN.2 black 2 mm2 0.30 m
state horn-with-key { KEY on, CTRL.on set }
expect in horn-with-key: HORN live, LAMP live
""",
    find=find,
)
