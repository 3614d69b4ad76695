"""Pick-up leads beside the lead by which an ignition coil is switched."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ...lang.circuit import Branch, Law
from ...lang.model import Piece, Switch, Unit, UnitOutput
from ..behaviour import is_ignition
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    harness, of = examination.harness, examination.circuit.nets.of
    pulses = {net for branch in examination.circuit.branches for net in _pulsing(examination, branch)}
    if not pulses:
        return
    beside: dict[frozenset[str], Piece] = {}
    for piece in harness.pieces:
        if of[piece.a.node] in pulses:
            for stretch in _stretches(piece):
                beside.setdefault(stretch, piece)
    lengths = {frozenset((route.a, route.b)): route.length for route in harness.routes}
    for part in harness.parts.values():
        if not isinstance(part, Unit) or not part.is_ignition:
            continue
        ends = [t for given in part.inputs if given.mode == "signal" for t in (given.terminal, given.back) if t]
        nets = {of[f"{part.name}.{t}"] for t in ends if f"{part.name}.{t}" in of}
        leads = [p for p in harness.pieces if of[p.a.node] in nets and not harness.bundles_of(p.wire)]
        near = {p.wire: [s for s in _stretches(p) if s in beside] for p in leads}
        near = {wire: stretches for wire, stretches in near.items() if stretches}
        if not near:
            continue
        metres = max(sum(lengths.get(s, 0.0) for s in stretches) for stretches in near.values())
        others = tuple(dict.fromkeys(beside[s].wire for stretches in near.values() for s in stretches))
        wires = tuple(near)
        listed = ", ".join(wires)
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"pick-up leads of {part.name} ({listed}) run on one route with "
            f"wire {', '.join(others)}, which carries the pulses of an ignition coil",
            span=next(p.span for p in leads if p.wire == wires[0]),
            about=(part.name, *wires, *others),
            figures=(Figure("side by side", metres, "m"),),
            source=RULE.source,
            remedy=f"lead {listed} another way, or twist or screen them and write `twisted {listed}`",
        )


def _pulsing(examination: Examination, branch: Branch) -> Iterator[object]:
    """The nets at the switched side of an ignition coil: what cuts it off there makes hundreds of volts on the lead."""
    part = examination.harness.parts.get(branch.part)
    if branch.law is not Law.IGNITION or part is None or not is_ignition(part):
        return
    of = examination.circuit.nets.of
    ends = {of[branch.a], of[branch.b]}
    for other in examination.circuit.branches:
        owner = examination.harness.parts.get(other.part)
        switched: tuple[object, ...] = ()
        if isinstance(owner, Switch) and owner.senses == "crank":
            switched = (of[other.a], of[other.b])
        elif isinstance(other.item, UnitOutput) and isinstance(owner, Unit) and owner.is_ignition:
            switched = (of[f"{owner.name}.{other.item.terminal}"],)
        yield from (net for net in switched if net in ends and not _is_pole(examination, net))


def _is_pole(examination: Examination, net: object) -> bool:
    of = examination.circuit.nets.of
    return any(of[pole] == net for supply in examination.circuit.supplies for pole in (*supply.plus, supply.minus))


def _stretches(piece: Piece) -> Iterator[frozenset[str]]:
    return (frozenset(pair) for pair in pairwise(piece.route))


RULE = Rule(
    name="near-ignition",
    level=Level.NOTE,
    family="build",
    catches="the leads of an ignition pick-up on one route with the switched lead of a coil",
    why="""A pick-up gives a volt or two while the engine is cranked. The lead by which a coil is switched jumps by
    hundreds of volts at each spark, and the lead to the plug by thousands. Side by side the box takes that for the
    next turn of the crank: it fires at the wrong moment or misses. Plug leads are not written in a harness: keep
    pick-up leads away from them as well.""",
    source="common practice, no source",
    formula="""found where a wire at a `signal` input of an ignition unit and the wire between an ignition coil and what
       switches it run along one stretch of a route, and the first is in no `twisted` or `shielded` line""",
    bad="""
loom "Pick-up leads beside the coil's lead"
system 12 V negative ground
wires class B
place tray, engine
route tray engine 0.6 m
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray, engine
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
unit BOX at tray for ignition {
    supply 0.1 A: 15 31
    input pick signal: P P-
    output coil 6 A grounded clamped: C when pick
}
sensor PICK at engine for ignition { signal 200 ohm: 1 2 }
load COIL ignition at engine for ignition { primary 4 ohm duty 40 %: 15 1 }
switch KILL 6 A at tray for ignition { run: 1 2; stop: }
wire 4 KEY.15 to KILL.1 orange 2 mm2 0.2 m
splice SP at tray
wire 5 KILL.2 to SP white 2 mm2 0.2 m
wire 6 SP to BOX.15 white 2 mm2 0.2 m
wire 7 BOX.31 to FRAME black 2 mm2 0.2 m
wire 8 SP to COIL.15 white 2 mm2
wire 9 COIL.1 to BOX.C white/black 2 mm2
wire 10 PICK.1 to BOX.P green 1 mm2
wire 11 PICK.2 to BOX.P- blue 1 mm2
""",
    good="""
loom "Pick-up leads that are twisted"
system 12 V negative ground
wires class B
place tray, engine
route tray engine 0.6 m
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray, engine
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
unit BOX at tray for ignition {
    supply 0.1 A: 15 31
    input pick signal: P P-
    output coil 6 A grounded clamped: C when pick
}
sensor PICK at engine for ignition { signal 200 ohm: 1 2 }
load COIL ignition at engine for ignition { primary 4 ohm duty 40 %: 15 1 }
switch KILL 6 A at tray for ignition { run: 1 2; stop: }
wire 4 KEY.15 to KILL.1 orange 2 mm2 0.2 m
splice SP at tray
wire 5 KILL.2 to SP white 2 mm2 0.2 m
wire 6 SP to BOX.15 white 2 mm2 0.2 m
wire 7 BOX.31 to FRAME black 2 mm2 0.2 m
wire 8 SP to COIL.15 white 2 mm2
wire 9 COIL.1 to BOX.C white/black 2 mm2
wire 10 PICK.1 to BOX.P green 1 mm2
wire 11 PICK.2 to BOX.P- blue 1 mm2
twisted 10, 11
""",
    cautions="An ignition coil gives lethal volts: engine off and key out before a lead is moved.",
    find=find,
)
