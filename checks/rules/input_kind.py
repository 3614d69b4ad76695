"""An input that its contacts can only connect to the wrong pole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ...lang.circuit import Law, Way
from ...lang.model import Unit, UnitInput
from ..dependents import engine_depends, outputs_that_ask
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule

_OPENS = (Law.CONTACT, Law.FUSE, Law.METER, Law.DIODE, Law.OUTPUT, Law.FLASHER, Law.CUT_OUT)
"""What leads on from an input, in whichever position: the lead of an input is followed past all of these."""


def find(examination: Examination) -> Iterator[Finding]:
    for part in examination.harness.parts.values():
        if not isinstance(part, Unit) or not part.supplies:
            continue
        for given in part.inputs:
            if given.mode in ("fed", "grounded"):
                yield from _of_input(examination, part, given)


def _of_input(examination: Examination, unit: Unit, given: UnitInput) -> Iterator[Finding]:
    feeds, returns = _poles(examination, unit, given)
    right, wrong = (feeds, returns) if given.mode == "fed" else (returns, feeds)
    node = f"{unit.name}.{given.terminal}"
    plain = _led_to(examination, node, right | wrong)
    if not plain & wrong or plain & right:
        return
    # A `fed` input between a lamp and the switch that grounds it is fed through the lamp: that is a way to sense it.
    if given.mode == "fed" and _led_to(examination, node, right | wrong, loads=True) & right:
        return
    outputs = outputs_that_ask(unit, given.name)
    other = "grounded" if given.mode == "fed" else "fed"
    at = "a feed" if given.mode == "fed" else "ground"
    no = "ground" if given.mode == "fed" else "a feed"
    yield Finding(
        rule=RULE.name,
        level=Level.ERROR if engine_depends(examination, unit, outputs) else Level.WARNING,
        message=f"input {given.name} of {unit.name} is active when connected to {at}, and its contacts connect {node} "
        f"only to {no}"
        + (f": {', '.join(output.name for output in outputs)} will not work as written" if outputs else ""),
        span=unit.shown_at(given.span),
        about=(unit.name,),
        source=RULE.source,
        remedy=f"find out which kind the unit has: write `input {given.name} {other}: {given.terminal}`, or take the "
        f"switch at {node} to {at} instead of {no}",
    )


def _poles(examination: Examination, unit: Unit, given: UnitInput) -> tuple[frozenset[str], frozenset[str]]:
    """The groups of terminals that count as a feed, and as ground, for an input: by copper and fuses."""
    joined, circuit = examination.copper.fused, examination.circuit
    plus = [node for supply in circuit.supplies if supply.kind != "winding" for node in supply.plus]
    minus = [supply.minus for supply in circuit.supplies if supply.kind != "winding"]
    feed, back = (plus, minus) if circuit.return_sign == "-" else (minus, plus)
    returned = [*back, f"{unit.name}.{unit.supplies[0].minus}", *([f"{unit.name}.{given.back}"] if given.back else ())]
    grounds = frozenset(map(joined.of, returned))
    return frozenset(map(joined.of, feed)) - grounds, grounds


def _led_to(examination: Examination, start: str, poles: Iterable[str], *, loads: bool = False) -> frozenset[str]:
    """The groups of terminals that something leads to from an input, not past a pole."""
    joined, stops = examination.copper.fused, frozenset(poles)
    own = examination.circuit.at
    met = {joined.of(start)}
    stack = [joined.of(start)]
    while stack:
        group = stack.pop()
        if group in stops:
            continue
        for node in joined.beside(group):
            for branch in own.get(node, ()):
                if branch.law in _OPENS or (loads and branch.law.consumes and branch.law.wide is not Way.NEVER):
                    other = joined.of(branch.b if branch.a == node else branch.a)
                    if other not in met:
                        met.add(other)
                        stack.append(other)
    return frozenset(met)


RULE = Rule(
    name="input-kind",
    level=Level.ERROR,
    family="behaviour",
    catches="a `fed` input whose contacts lead to ground only, or a `grounded` one whose contacts lead to a feed only",
    why="""Some units look for voltage at an input, others for ground. A switch of the other kind does nothing at all:
    the horn is silent, the box never learns that the clutch is in. Everything behind that input then looks
    broken although no wire of it is.""",
    source="ours: every contact on the lead of the input counts as closed",
    bad="""
loom "A button that grounds an input which waits for a feed"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
switch BTN 0.1 A momentary at tray { rest: ; press: 1 2 }
unit CTRL at tray {
    supply 10 mA: 30 31
    input btn fed: IN
    output lamp 5 A trips 7 A: OUT when not btn
}
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.30 orange 2 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 BTN.1 to CTRL.IN white 1 mm2 0.30 m
wire 7 BTN.2 to FRAME black 1 mm2 0.30 m
wire 8 CTRL.OUT to LAMP.1 green 2 mm2 0.30 m
wire 9 LAMP.2 to FRAME black 2 mm2 0.30 m
""",
    good="""
loom "An input that is fed through the lamp which its switch grounds"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
switch OIL 2 A senses oil-pressure at tray for sensing { low: 1 2; good: }
load TELL lamp at tray for instruments { oil 2 W tell-tale: 15 OIL }
unit CTRL at tray {
    supply 10 mA: 30 31
    input good fed: IN
    output lamp 5 A trips 7 A: OUT when not good
}
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.30 orange 2 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 OIL.1 to CTRL.IN white 1 mm2 0.30 m
wire 7 OIL.1 to TELL.OIL white 1 mm2 0.30 m
wire 8 TELL.15 to CTRL.30 orange 2 mm2 0.30 m
wire 9 CTRL.OUT to LAMP.1 green 2 mm2 0.30 m
wire 10 LAMP.2 to FRAME black 2 mm2 0.30 m
mount OIL.2 to FRAME
""",
    find=find,
)
