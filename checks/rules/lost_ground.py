"""A return that, once lost, makes a dead load work through another."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Element
from ..examination import Examination
from ..faults.lost_grounds import LostGround, lost_grounds
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..starter_returns import Left, left_to_thin_wires


def find(examination: Examination) -> Iterator[Finding]:
    yield from (_finding(lost) for lost in lost_grounds(examination.operation))
    yield from (_starter(left) for left in left_to_thin_wires(examination))


def _starter(left: Left) -> Finding:
    """A lead in a starter's way back that, once off, leaves the current to a wire that does not stand it."""
    size = left.piece.size.text if left.piece.size else ""
    return Finding(
        rule=RULE.name,
        level=Level.NOTE,
        message=f"{left.lost.key} open: the {left.amps:.3g} A of {left.starter} go through wire {left.piece.wire} "
        f"({size}, rated {left.stands:.3g} A short-time)",
        span=left.lost.span,
        about=tuple(dict.fromkeys((left.lost.owner, left.piece.wire, left.starter))),
        figures=(Figure("starter", left.amps, "A"), Figure("rated short-time", left.stands, "A")),
        source="k S / sqrt(t) of the profile's cranking time; common practice, no source: a second strap",
        remedy=f"fit a second ground lead of the same size beside {left.lost.key}",
    )


def _finding(lost: LostGround) -> Finding:
    names = [branch.key for branch, _ in lost.woken]
    first, share = lost.woken[0]
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    roles = first.item.roles if isinstance(first.item, Element) else ()
    shown = f" ({roles[0]})" if roles else ""
    return Finding(
        rule=RULE.name,
        level=Level.NOTE,
        message=f"{lost.conductor.key} open: {first.key}{shown}{more}, dead before, works through other loads",
        span=lost.conductor.span,
        about=tuple(dict.fromkeys((lost.conductor.owner, *(branch.part for branch, _ in lost.woken)))),
        state=lost.state,
        figures=(Figure(f"{first.key} then gets", share * 100.0, "%"),),
        source="common practice, no source: each lamp its own way to the body of ground",
        remedy="ground the loads one by one, or know the sign: two lamps that glow when one is switched on",
    )


RULE = Rule(
    name="lost-ground",
    level=Level.NOTE,
    family="ground",
    catches="one return conductor that, once open, makes a dead load work through another, or leaves a "
    "starter's current to a thin wire",
    why="""Where several loads share one way back and it comes off, their current looks for another: through a lamp that
    is off, against its direction, into whatever that lamp's feed hangs on. The stop lamp then lights the dials and not
    itself. The fault is told by what glows that should not; who knows which wire it is finds it at once.""",
    source="common practice, no source",
    formula="found where opening one return conductor in a named state lifts a dead load to its dead share or above",
    bad="""
loom "Tail and stop lamp on one ground wire"
place tray, tail
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { off: ; on: 30 15 }
switch LIGHTS 5 A at tray { off: ; on: 15 58 }
switch BRAKE 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
load REAR lamp at tail { tail 5 W tail-lamp plate-lamp: 58 31; stop 21 W stop-lamp: 54 31 }
load DIAL lamp at tray { dial 2 W: 58 31 }
splice SP at tray
splice SP-58 at tray
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2.5 mm2 0.2 m
wire 3 KEY.15 to SP orange 2.5 mm2 0.1 m
wire 4 SP to LIGHTS.15 orange 2.5 mm2 0.2 m
wire 5 LIGHTS.58 to SP-58 grey 2.5 mm2 0.2 m
wire 6 SP-58 to REAR.58 grey 2.5 mm2
wire 7 SP-58 to DIAL.58 grey 2.5 mm2 0.2 m
wire 8 SP to BRAKE.1 orange/red 2.5 mm2 0.2 m
wire 9 BRAKE.2 to REAR.54 pink 2.5 mm2
wire 10 REAR.31 to FRAME black 2.5 mm2
wire 11 DIAL.31 to FRAME black 2.5 mm2 0.2 m
wire 12 BAT.- to FRAME black 6 mm2 0.2 m
state braking { KEY on, BRAKE press }
""",
    good="""
loom "Tail and stop lamp grounded one by one"
place tray, tail
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { off: ; on: 30 15 }
switch LIGHTS 5 A at tray { off: ; on: 15 58 }
switch BRAKE 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
load TAIL lamp at tail { tail 5 W tail-lamp plate-lamp: 58 31 }
load STOP lamp at tail { stop 21 W stop-lamp: 54 31 }
load DIAL lamp at tray { dial 2 W: 58 31 }
splice SP at tray
splice SP-58 at tray
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2.5 mm2 0.2 m
wire 3 KEY.15 to SP orange 2.5 mm2 0.1 m
wire 4 SP to LIGHTS.15 orange 2.5 mm2 0.2 m
wire 5 LIGHTS.58 to SP-58 grey 2.5 mm2 0.2 m
wire 6 SP-58 to TAIL.58 grey 2.5 mm2
wire 7 SP-58 to DIAL.58 grey 2.5 mm2 0.2 m
wire 8 SP to BRAKE.1 orange/red 2.5 mm2 0.2 m
wire 9 BRAKE.2 to STOP.54 pink 2.5 mm2
wire 10 TAIL.31 to FRAME black 2.5 mm2
wire 11 STOP.31 to FRAME black 2.5 mm2
wire 12 DIAL.31 to FRAME black 2.5 mm2 0.2 m
wire 13 BAT.- to FRAME black 6 mm2 0.2 m
state braking { KEY on, BRAKE press }
""",
    cautions="A lamp that lights another one dimly has lost its ground: look there first.",
    find=find,
)
