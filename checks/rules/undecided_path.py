"""A stop, a dead claim or an interlock that was neither proved nor refuted."""

from __future__ import annotations

from collections.abc import Iterator

from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    parts = examination.harness.parts
    for kill in examination.proofs.kills:
        if kill.proof.ended == "open":
            yield found(
                RULE.name,
                Level.WARNING,
                f"whether {kill.control} stops {kill.part} was not proved: {kill.proof.why}",
                parts[kill.control.switch].span,
                about=(kill.part, kill.control.switch),
                source=RULE.source,
                remedy="try it on the machine, in every position of what shares its wires; or give it wires of its own",
            )
    for claimed in examination.proofs.claims:
        if claimed.proof.ended == "open" and claimed.claim is not None:
            claim = claimed.claim
            thing = claim.part if claim.element is None else f"{claim.part}.{claim.element}"
            yield found(
                RULE.name,
                Level.WARNING,
                f"whether {thing} is {claim.how} as expected was not proved: {claimed.proof.why}",
                claim.span,
                about=(claim.part,),
                source=RULE.source,
                remedy="measure it; or give it wires of its own",
            )
    for lock in examination.proofs.interlocks:
        if lock.proof.ended == "open":
            yield found(
                RULE.name,
                Level.WARNING,
                f"whether {lock.starter} stays dead in gear was not proved: {lock.proof.why}",
                parts[lock.starter].span,
                about=(lock.starter,),
                source=RULE.source,
                remedy="try it on the machine, on its stand; or give its relay wires of its own",
            )


RULE = Rule(
    name="undecided-path",
    level=Level.WARNING,
    family="honesty",
    catches="a stop, `dead` or interlock neither proved nor refuted",
    why="""Silence would be a promise. Where too many combinations hang together through loads, or a rating is
    missing, it is said what was not proved, and someone has to try it.""",
    source="ours: up to 2^22 combinations and 4,096 solved cases a question (checks/tables/laws.toml)",
    bad="""
loom "Undecided path"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 20 A blade at tray
switch KEY 15 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 4 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
switch KILL 15 A at tray for ignition { run: 1 2; stop: }
load COIL ignition at tray for ignition { primary 4 ohm duty 60 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS.2 to FRAME
capacitor COND 0.25 uF 400 V at tray for ignition
mount COND.- to FRAME
load HEATER heater at tray for controls { heater 9 A: 1 2 }
splice SP-1 at tray
splice SP-2 at tray
splice SP-X1 at tray
splice SP-X2 at tray
load H1 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S1 1 A at tray for instruments { off: ; on: 1 2 }
load H2 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S2 1 A at tray for instruments { off: ; on: 1 2 }
load H3 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S3 1 A at tray for instruments { off: ; on: 1 2 }
load H4 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S4 1 A at tray for instruments { off: ; on: 1 2 }
load H5 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S5 1 A at tray for instruments { off: ; on: 1 2 }
load H6 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S6 1 A at tray for instruments { off: ; on: 1 2 }
load H7 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S7 1 A at tray for instruments { off: ; on: 1 2 }
load H8 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S8 1 A at tray for instruments { off: ; on: 1 2 }
load H9 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S9 1 A at tray for instruments { off: ; on: 1 2 }
load H10 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S10 1 A at tray for instruments { off: ; on: 1 2 }
load H11 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S11 1 A at tray for instruments { off: ; on: 1 2 }
load H12 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S12 1 A at tray for instruments { off: ; on: 1 2 }
load H13 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S13 1 A at tray for instruments { off: ; on: 1 2 }
load H14 lamp at tray for instruments { lamp 1.5 W: 1 2 }
switch S14 1 A at tray for instruments { off: ; on: 1 2 }
wire 4 KEY.15 to SP-1 orange 4 mm2 0.10 m
wire 5 SP-1 to SP-2 orange 4 mm2 0.10 m
wire 6 SP-1 to KILL.1 orange 4 mm2 0.30 m
wire 7 KILL.2 to COIL.15 yellow 4 mm2 0.30 m
wire 8 COIL.1 to POINTS.1 yellow/black 2 mm2 0.30 m
wire 8c COND.+ to POINTS.1 yellow/black 2 mm2 0.10 m
wire 9 COIL.15 to SP-X1 yellow 4 mm2 0.10 m
wire 10 SP-X1 to SP-X2 white 2 mm2 0.10 m
wire 11 SP-X2 to HEATER.1 white 2 mm2 0.30 m
wire 12 HEATER.2 to FRAME black 2 mm2 0.30 m
wire A1 SP-1 to S1.1 orange 2 mm2 0.20 m
wire B1 S1.2 to H1.1 violet 1 mm2 0.20 m
wire D1 H1.2 to SP-X1 white 1 mm2 0.20 m
wire A2 SP-1 to S2.1 orange 2 mm2 0.20 m
wire B2 S2.2 to H2.1 violet 1 mm2 0.20 m
wire D2 H2.2 to SP-X1 white 1 mm2 0.20 m
wire A3 SP-1 to S3.1 orange 2 mm2 0.20 m
wire B3 S3.2 to H3.1 violet 1 mm2 0.20 m
wire D3 H3.2 to SP-X1 white 1 mm2 0.20 m
wire A4 SP-1 to S4.1 orange 2 mm2 0.20 m
wire B4 S4.2 to H4.1 violet 1 mm2 0.20 m
wire D4 H4.2 to SP-X1 white 1 mm2 0.20 m
wire A5 SP-1 to S5.1 orange 2 mm2 0.20 m
wire B5 S5.2 to H5.1 violet 1 mm2 0.20 m
wire D5 H5.2 to SP-X1 white 1 mm2 0.20 m
wire A6 SP-1 to S6.1 orange 2 mm2 0.20 m
wire B6 S6.2 to H6.1 violet 1 mm2 0.20 m
wire D6 H6.2 to SP-X1 white 1 mm2 0.20 m
wire A7 SP-1 to S7.1 orange 2 mm2 0.20 m
wire B7 S7.2 to H7.1 violet 1 mm2 0.20 m
wire D7 H7.2 to SP-X1 white 1 mm2 0.20 m
wire A8 SP-2 to S8.1 orange 2 mm2 0.20 m
wire B8 S8.2 to H8.1 violet 1 mm2 0.20 m
wire D8 H8.2 to SP-X2 white 1 mm2 0.20 m
wire A9 SP-2 to S9.1 orange 2 mm2 0.20 m
wire B9 S9.2 to H9.1 violet 1 mm2 0.20 m
wire D9 H9.2 to SP-X2 white 1 mm2 0.20 m
wire A10 SP-2 to S10.1 orange 2 mm2 0.20 m
wire B10 S10.2 to H10.1 violet 1 mm2 0.20 m
wire D10 H10.2 to SP-X2 white 1 mm2 0.20 m
wire A11 SP-2 to S11.1 orange 2 mm2 0.20 m
wire B11 S11.2 to H11.1 violet 1 mm2 0.20 m
wire D11 H11.2 to SP-X2 white 1 mm2 0.20 m
wire A12 SP-2 to S12.1 orange 2 mm2 0.20 m
wire B12 S12.2 to H12.1 violet 1 mm2 0.20 m
wire D12 H12.2 to SP-X2 white 1 mm2 0.20 m
wire A13 SP-2 to S13.1 orange 2 mm2 0.20 m
wire B13 S13.2 to H13.1 violet 1 mm2 0.20 m
wire D13 H13.2 to SP-X2 white 1 mm2 0.20 m
wire A14 SP-2 to S14.1 orange 2 mm2 0.20 m
wire B14 S14.2 to H14.1 violet 1 mm2 0.20 m
wire D14 H14.2 to SP-X2 white 1 mm2 0.20 m
""",
    good="""
loom "No kill path, near miss"
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
switch KILL 10 A at tray for ignition { run: 1 2; stop: }
load COIL-LEFT ignition at tray for ignition { primary 4 ohm duty 40 %: 15 1 }
load COIL-RIGHT ignition at tray for ignition { primary 4 ohm duty 40 %: 15 1 }
switch POINTS-LEFT 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
switch POINTS-RIGHT 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS-LEFT.2 to FRAME
capacitor COND-LEFT 0.25 uF 400 V at tray for ignition
mount COND-LEFT.- to FRAME
mount POINTS-RIGHT.2 to FRAME
capacitor COND-RIGHT 0.25 uF 400 V at tray for ignition
mount COND-RIGHT.- to FRAME
wire 4 KEY.15 to KILL.1 orange 2 mm2 0.30 m
wire 5 KILL.2 to COIL-LEFT.15 yellow 2 mm2 0.30 m
wire 6 KILL.2 to COIL-RIGHT.15 yellow 2 mm2 0.30 m
wire 7 COIL-LEFT.1 to POINTS-LEFT.1 yellow/black 2 mm2 0.30 m
wire 7c COND-LEFT.+ to POINTS-LEFT.1 yellow/black 2 mm2 0.10 m
wire 8 COIL-RIGHT.1 to POINTS-RIGHT.1 yellow/white 2 mm2 0.30 m
wire 8c COND-RIGHT.+ to POINTS-RIGHT.1 yellow/white 2 mm2 0.10 m
""",
    find=find,
)
