"""A contact that carries more than it is rated for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit import Branch, Law
from ...lang.model import Connector, Diode, Meter, Regulator, Relay, Switch, UnitOutput
from ...lang.quantities import shown
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule

if TYPE_CHECKING:
    from ..alternating import Alternating


def find(examination: Examination) -> Iterator[Finding]:
    worst: dict[str, tuple[float, Branch, float]] = {}
    for branch in examination.circuit.branches:
        rating = _rating(examination, branch)
        if not rating:
            continue
        share = examination.operation.loading(branch.key).held.amps / rating
        name = branch.key if branch.law in (Law.WAY, Law.OUTPUT) else branch.part
        if share > 1.0 and share > worst.get(name, (0.0,))[0]:
            worst[name] = (share, branch, rating)
    yield from _alternating(examination)
    for name, (share, branch, rating) in worst.items():
        peak = examination.operation.loading(branch.key).held
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR,
            message=f"{_words(branch)} is rated {rating:g} A and carries {shown(peak.amps)} A",
            span=branch.span,
            about=tuple(dict.fromkeys((branch.part, name))),
            state=peak.state,
            combination=peak.combination,
            figures=(
                Figure("current", peak.amps, "A"),
                Figure("rating", rating, "A"),
                Figure("share", share * 100, "%"),
            ),
            source=RULE.source,
            remedy="a relay between the two, a part made for the current, or loads on a second contact",
        )


def _alternating(examination: Examination) -> Iterator[Finding]:
    """Plugs and switches between a winding and what it feeds, by the least rms current."""
    worst: dict[str, tuple[float, Alternating, float]] = {}
    for load in examination.alternating.values():
        rating, branch = _rating(examination, load.branch), load.branch
        name = branch.key if branch.law is Law.WAY else branch.part
        if rating and load.amps > rating and load.amps / rating > worst.get(name, (0.0,))[0]:
            worst[name] = (load.amps / rating, load, rating)
    for name, (share, load, rating) in worst.items():
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR,
            message=f"{_words(load.branch)} is rated {rating:g} A and carries at least {load.amps:.3g} A rms {load.by}",
            span=load.branch.span,
            about=tuple(dict.fromkeys((load.branch.part, name))),
            state=load.state,
            figures=(
                Figure("current, rms", load.amps, "A"),
                Figure("rating", rating, "A"),
                Figure("share", share * 100, "%"),
            ),
            source=f"{RULE.source}; {load.source}",
            remedy=f"fit a part rated {load.amps:.3g} A or more in place of {load.branch.part}",
        )


def _rating(examination: Examination, branch: Branch) -> float | None:
    """The A that a branch is rated for by the harness's own text."""
    part = examination.harness.parts.get(branch.part)
    match branch.law:
        case Law.CONTACT if isinstance(part, Switch | Relay):
            return part.amps
        case Law.METER if isinstance(part, Meter):
            return part.amps
        case Law.WAY if isinstance(part, Connector):
            return part.amps
        case Law.DIODE if isinstance(part, Diode):
            return part.amps
        case Law.PASS | Law.CUT_OUT if isinstance(part, Regulator):
            return part.amps
        case Law.OUTPUT if isinstance(branch.item, UnitOutput):
            return branch.item.amps
    return None


def _words(branch: Branch) -> str:
    if branch.law is Law.WAY:
        return f"way {branch.key}"
    if branch.law is Law.CONTACT:
        return f"contact {branch.key.partition(' #')[0]}"
    return branch.key


RULE = Rule(
    name="overloaded-contact",
    level=Level.ERROR,
    family="fire",
    catches="a switch, relay, meter, way, diode, regulator or output above its rating in its worst combination",
    why="""A contact above its rating gets hot each time it is used: its spring loses its force, its plastic melts, it
    welds shut or burns open. A switch in the bars that carries the headlamp itself is the old classic. The worst
    combination counts, pressed buttons included; what a lamp or a motor takes in its first moment does not.""",
    source="the rating that the harness's own text gives",
    formula="found where the greatest steady current, any control held > the rating",
    bad="""
loom "A headlamp through the horn button's little brother"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 3 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { lamp 55 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1.5 mm2 0.1 m
wire 3 LIGHT.2 to LAMP.1 grey 1.5 mm2 0.2 m
wire 4 LAMP.2 to FRAME black 1.5 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state lit { LIGHT on }
""",
    good="""
loom "The little switch works a relay"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch LIGHT 3 A key at tray { off: ; on: 1 2 }
relay K1 20 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
load LAMP lamp at tray { lamp 55 W: 1 2 }
splice SP1 at tray
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to SP1 red 1.5 mm2 0.1 m
wire 3 SP1 to LIGHT.1 red 1.5 mm2 0.1 m
wire 4 SP1 to K1.30 red 1.5 mm2 0.1 m
wire 5 LIGHT.2 to K1.86 white 1 mm2 0.2 m
wire 6 K1.85 to FRAME black 1 mm2 0.1 m
wire 7 K1.87 to LAMP.1 grey 1.5 mm2 0.2 m
wire 8 LAMP.2 to FRAME black 1.5 mm2 0.1 m
wire 9 BAT.- to FRAME black 6 mm2 0.2 m
state lit { LIGHT on }
""",
    cautions="A contact that works too hard may weld: then its switch stops nothing. Try it before you ride.",
    find=find,
)
