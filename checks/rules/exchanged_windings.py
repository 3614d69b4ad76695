"""Two windings of one alternator that are exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.quantities import shown
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..lamps_on_windings import exchanged, too_large
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    for fed in too_large(examination):
        other = exchanged(examination, fed)
        if other is None:
            continue
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{fed.winding.key} and {other.key} are exchanged: {fed.lamp.key} takes {shown(fed.watts)} W and "
            f"{fed.winding.key} gives {shown(fed.gives)} W, while {other.key} feeds no lamp",
            span=fed.winding.span,
            about=(fed.winding.part, fed.lamp.part),
            figures=(Figure("takes", fed.watts, "W"), Figure("winding gives", fed.gives, "W")),
            source=RULE.source,
            remedy=f"swap the leads of {fed.winding.key} and {other.key}",
        )


RULE = Rule(
    name="exchanged-windings",
    level=Level.ERROR,
    family="behaviour",
    catches="a lamp too large for its winding, while a winding of the same alternator that is large enough feeds none",
    why="""The leads of an exciter and of a lighting winding leave the engine through one hole, and after forty years
    in one colour. Exchanged, the lamps glow on the small winding and the ignition box gets the large one's
    current and not its own voltage: there is no spark at starting speed, or the box is destroyed.""",
    source="ours: 1.5 times the watts of the winding, as winding-too-weak",
    formula="found where P(lamp) > 1.5 P(its winding), and P(lamp) <= 1.5 P(another that is wired and has no lamp)",
    bad="""
loom "Exciter and lighting winding exchanged"
system 12 V negative ground
wires class B
place tray
source MAG alternator at tray for lighting { winding exciter 5 W: E 31; winding light 40 W: 59 31 }
load BOX ignition at tray for ignition { stop-lead: K 31; feed 3 W: X 31 }
load HEAD lamp at tray for lighting { dip 35 W dip-beam: 56 31 }
load REAR lamp at tray for lighting { tail 3 W tail-lamp plate-lamp: 56 31 }
ground FRAME at tray
switch STOP 2 A at tray for ignition { run: ; stop: 1 2 }
switch LIGHTS 6 A at tray for lighting { off: ; on: 59 56 }
wire 1 MAG.E to LIGHTS.59 yellow 2 mm2 0.30 m
wire 2 LIGHTS.56 to HEAD.56 blue 2 mm2 0.30 m
wire 3 HEAD.31 to FRAME black 2 mm2 0.30 m
wire 4 LIGHTS.56 to REAR.56 blue 2 mm2 0.30 m
wire 5 REAR.31 to FRAME black 2 mm2 0.30 m
wire 6 MAG.59 to BOX.X black/red 2 mm2 0.30 m
wire 7 BOX.K to STOP.1 black/white 2 mm2 0.30 m
wire 8 STOP.2 to FRAME black 2 mm2 0.30 m
mount MAG.31 to FRAME
mount BOX.31 to FRAME
""",
    good="""
loom "Exciter and lighting winding, each with its own"
system 12 V negative ground
wires class B
place tray
source MAG alternator at tray for lighting { winding exciter 5 W: E 31; winding light 40 W: 59 31 }
load BOX ignition at tray for ignition { stop-lead: K 31; feed 3 W: X 31 }
load HEAD lamp at tray for lighting { dip 35 W dip-beam: 56 31 }
load REAR lamp at tray for lighting { tail 3 W tail-lamp plate-lamp: 56 31 }
ground FRAME at tray
switch STOP 2 A at tray for ignition { run: ; stop: 1 2 }
switch LIGHTS 6 A at tray for lighting { off: ; on: 59 56 }
wire 1 MAG.59 to LIGHTS.59 yellow 2 mm2 0.30 m
wire 2 LIGHTS.56 to HEAD.56 blue 2 mm2 0.30 m
wire 3 HEAD.31 to FRAME black 2 mm2 0.30 m
wire 4 LIGHTS.56 to REAR.56 blue 2 mm2 0.30 m
wire 5 REAR.31 to FRAME black 2 mm2 0.30 m
wire 6 MAG.E to BOX.X black/red 2 mm2 0.30 m
wire 7 BOX.K to STOP.1 black/white 2 mm2 0.30 m
wire 8 STOP.2 to FRAME black 2 mm2 0.30 m
mount MAG.31 to FRAME
mount BOX.31 to FRAME
""",
    cautions="An exciter winding gives several hundred volts: touch none of its leads while the engine turns.",
    find=find,
)
