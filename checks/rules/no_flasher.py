"""A turn lamp that burns and does not flash."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ...lang.model import Element, UnitOutput
from ..behaviour import JoinedInSeries
from ..conduction.evidence import found
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule

TURN = {"turn-left", "turn-right"}


def find(examination: Examination) -> Iterator[Finding]:
    circuit = examination.circuit
    turns = [
        b
        for b in circuit.branches
        if isinstance(b.item, Element)
        and {"turn-left", "turn-right"} & set(b.item.roles)
        and "tell-tale" not in b.item.roles
    ]
    if not turns:
        return
    flashing = [
        b.key for b in circuit.branches if b.law is Law.FLASHER or (isinstance(b.item, UnitOutput) and b.item.flashing)
    ]
    # What still feeds a lamp when everything that flashes is open does not flash.
    conduction = examination.conduction.without(flashing) if flashing else examination.conduction
    for branch in turns:
        live = JoinedInSeries(branch.key)
        scope = conduction.scope(live)
        shown = conduction.show(scope, live.table(scope) & scope.counted)
        if shown is None:
            continue
        yield found(
            RULE.name,
            RULE.level,
            f"{branch.key} is a turn lamp and burns without flashing",
            branch.span,
            about=(branch.part,),
            shown=shown,
            path=conduction.loop(shown, branch),
            source=RULE.source,
            remedy="a flasher, or an output that is `flashing`, in every feed of it",
        )


RULE = Rule(
    name="no-flasher",
    level=Level.WARNING,
    family="behaviour",
    catches="a turn lamp live with nothing that flashes in the way",
    why="""A turn lamp that burns steadily tells others nothing, and is taken for a position lamp. Laws ask for 60 to
    120 flashes a minute. Local law decides.""",
    source="UN R53 6.3 and SI 1989/1796: direction indicators flash (from memory); local law decides",
    bad="""
loom "No flasher"
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
load FL lamp at tray for signals { turn 21 W turn-left: L 31 }
load RL lamp at tray for signals { turn 21 W turn-left: L 31 }
load FR lamp at tray for signals { turn 21 W turn-right: R 31 }
load RR lamp at tray for signals { turn 21 W turn-right: R 31 }
switch TURN 6 A at tray for signals { off: ; left: 49a L; right: 49a R }
wire 4 KEY.15 to TURN.49a orange 2 mm2 0.20 m
wire 5 TURN.L to FL.L green/black 2 mm2 0.20 m
wire 6 TURN.L to RL.L green/black 2 mm2 0.20 m
wire 7 TURN.R to FR.R green/white 2 mm2 0.20 m
wire 8 TURN.R to RR.R green/white 2 mm2 0.20 m
mount FL.31 to FRAME
mount FR.31 to FRAME
mount RL.31 to FRAME
mount RR.31 to FRAME
""",
    good="""
loom "No flasher, near miss"
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
load FL lamp at tray for signals { turn 21 W turn-left: L 31 }
load RL lamp at tray for signals { turn 21 W turn-left: L 31 }
load FR lamp at tray for signals { turn 21 W turn-right: R 31 }
load RR lamp at tray for signals { turn 21 W turn-right: R 31 }
switch TURN 6 A at tray for signals { off: ; left: 49a L; right: 49a R }
flasher FLASH 40 W to 50 W thermal at tray { flash: 49 49a }
wire 4 KEY.15 to FLASH.49 orange 2 mm2 0.20 m
wire 9 FLASH.49a to TURN.49a green 2 mm2 0.20 m
wire 5 TURN.L to FL.L green/black 2 mm2 0.20 m
wire 6 TURN.L to RL.L green/black 2 mm2 0.20 m
wire 7 TURN.R to FR.R green/white 2 mm2 0.20 m
wire 8 TURN.R to RR.R green/white 2 mm2 0.20 m
mount FL.31 to FRAME
mount FR.31 to FRAME
mount RL.31 to FRAME
mount RR.31 to FRAME
""",
    find=find,
)
