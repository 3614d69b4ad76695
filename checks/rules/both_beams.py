"""Both filaments of one headlamp bulb at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..behaviour import Joined
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..lamps import bulbs_of_two_beams, watts_of
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction, volts = examination.conduction, examination.harness.volts
    controls = conduction.circuit.controls
    for dip, main in bulbs_of_two_beams(examination.circuit):
        questions = Joined(dip.key), Joined(main.key)
        scope = conduction.scope(*questions)
        # Who holds the flasher for the main beam means it, and lets go: what springs back is at rest.
        at_rest = scope.rest([name for name in scope.by_name if name in controls and controls[name].momentary])
        both = scope.counted & scope.plausible & at_rest
        for question in questions:
            both &= question.table(scope)
        shown = conduction.show(scope, both)
        if shown is None:
            continue
        watts = [watts_of(lamp, volts) for lamp in (dip, main)]
        told = found(
            RULE.name,
            RULE.level,
            f"{dip.key} and {main.key} are filaments of one bulb and are on at once",
            main.span,
            about=(dip.part,),
            shown=shown,
            path=conduction.loop(shown, main),
            source=RULE.source,
            remedy=f"join either {dip.a} or {main.a} to the feed in each position of the dip switch, never both",
        )
        figures = tuple(Figure(b.key, w, "W") for b, w in zip((dip, main), watts, strict=True) if w is not None)
        yield replace(told, figures=figures)


RULE = Rule(
    name="both-beams",
    level=Level.WARNING,
    family="behaviour",
    catches="dipped and main filament of one bulb on at the same time, with no button held",
    why="""A headlamp bulb is made for one filament at a time. With both it has twice the heat: the glass blisters, the
    holder's contacts and the reflector go, and dip switch and wires carry twice the current. The flash of the main
    beam with a button lasts a second and is no fault; separate bulbs that add up are made for it.""",
    source="common practice, no source",
    formula="""found where, in a plausible combination with everything that springs back at rest, the only
       dip-beam and the only main-beam of one lamp, filaments with a terminal in common, are both joined to a source""",
    bad="""
loom "Both beams"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch KEY 15 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
switch DIP 15 A at tray for lighting { low: 56 56b; high: 56 56a, 56 56b }
load HEAD lamp at tray for lighting { dip 55 W dip-beam: 56b 31; main 60 W main-beam: 56a 31 }
load REAR lamp at tray for lighting { tail 5 W tail-lamp: 58 31 }
wire 4 KEY.15 to DIP.56 white 2 mm2 0.30 m
wire 5 HEAD.31 to FRAME black 2 mm2 0.30 m
wire 6 DIP.56a to HEAD.56a white/blue 2 mm2 0.30 m
wire 7 DIP.56b to HEAD.56b yellow 2 mm2 0.30 m
wire 8 KEY.15 to REAR.58 grey 2 mm2 0.30 m
wire 9 REAR.31 to FRAME black 2 mm2 0.30 m
""",
    good="""
loom "One beam at a time"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch KEY 15 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
switch DIP 15 A at tray for lighting { low: 56 56b; high: 56 56a }
load HEAD lamp at tray for lighting { dip 55 W dip-beam: 56b 31; main 60 W main-beam: 56a 31 }
load REAR lamp at tray for lighting { tail 5 W tail-lamp: 58 31 }
wire 4 KEY.15 to DIP.56 white 2 mm2 0.30 m
wire 5 HEAD.31 to FRAME black 2 mm2 0.30 m
wire 6 DIP.56a to HEAD.56a white/blue 2 mm2 0.30 m
wire 7 DIP.56b to HEAD.56b yellow 2 mm2 0.30 m
wire 8 KEY.15 to REAR.58 grey 2 mm2 0.30 m
wire 9 REAR.31 to FRAME black 2 mm2 0.30 m
""",
    cautions="Let the bulb cool before it is touched: it is hotter than usual.",
    find=find,
)
