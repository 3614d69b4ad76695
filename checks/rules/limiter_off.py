"""A limiter that is not across the winding it should limit."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from ...lang.model import Regulator, Source
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    parts = examination.harness.parts.values()
    windings = [
        [f"{part.name}.{terminal}" for terminal in terminals]
        for part in parts
        if isinstance(part, Source)
        for terminals in (*(winding.terminals for winding in part.windings), part.phases)
    ]
    joined = examination.copper.switched
    for part in parts:
        if not isinstance(part, Regulator) or not part.shunts:
            continue
        ends = [f"{part.name}.{terminal}" for terminal in part.shunts]
        if not any(examination.copper.wires_at(end) for end in ends):
            continue  # unused-part says so
        pairs = (pair for nodes in windings for pair in permutations(nodes, 2))
        if any(joined.same(ends[0], one) and joined.same(ends[1], other) for one, other in pairs):
            continue
        loose = [end for end in ends if not any(joined.same(end, node) for nodes in windings for node in nodes)]
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{part.name} limits nothing: "
            + (f"no winding is connected to {' or to '.join(loose)}" if loose else "its two ends are on two windings"),
            span=part.span,
            about=(part.name,),
            source=RULE.source,
            remedy=f"connect {ends[0]} and {ends[1]} to the two ends of the winding that feeds the lamps",
        )


RULE = Rule(
    name="limiter-off",
    level=Level.ERROR,
    family="behaviour",
    catches="a limiter (`shunts`) whose two terminals are not across one winding in any switch position",
    why="""A winding without its limiter gives more voltage the faster the engine turns. The lamps of a small motorcycle
    last one ride, and when the first has failed the others get its share as well.""",
    source="ours: which terminals wires, fuses and contacts connect to a winding",
    bad="""
loom "A limiter that has no ground"
system 12 V negative ground
wires class B
place tray
source MAG alternator at tray for lighting { winding light 40 W: 59 31 }
load HEAD lamp at tray for lighting { dip 35 W dip-beam: 56 31 }
load REAR lamp at tray for lighting { tail 3 W tail-lamp plate-lamp: 56 31 }
ground FRAME at tray
regulator LIMIT 6 A at tray for lighting { shunts 13.5 V: 59 31 }
switch LIGHTS 6 A at tray for lighting { off: ; on: 59 56 }
wire 1 MAG.59 to LIGHTS.59 yellow 2 mm2 0.30 m
wire 2 LIGHTS.56 to HEAD.56 blue 2 mm2 0.30 m
wire 3 HEAD.31 to MAG.31 black 2 mm2 0.30 m
wire 4 LIGHTS.56 to REAR.56 blue 2 mm2 0.30 m
wire 5 REAR.31 to HEAD.31 black 2 mm2 0.30 m
wire 6 LIMIT.59 to LIGHTS.59 yellow 2 mm2 0.30 m
mount MAG.31 to FRAME
""",
    good="""
loom "A limiter behind the light switch: it limits whenever a lamp is on"
system 12 V negative ground
wires class B
place tray
source MAG alternator at tray for lighting { winding light 40 W: 59 31 }
load HEAD lamp at tray for lighting { dip 35 W dip-beam: 56 31 }
load REAR lamp at tray for lighting { tail 3 W tail-lamp plate-lamp: 56 31 }
ground FRAME at tray
regulator LIMIT 6 A at tray for lighting { shunts 13.5 V: 59 31 }
switch LIGHTS 6 A at tray for lighting { off: ; on: 59 56 }
wire 1 MAG.59 to LIGHTS.59 yellow 2 mm2 0.30 m
splice SP-56 at tray
wire 2a LIGHTS.56 to SP-56 blue 2 mm2 0.10 m
wire 2 SP-56 to HEAD.56 blue 2 mm2 0.30 m
wire 3 HEAD.31 to MAG.31 black 2 mm2 0.30 m
wire 4 SP-56 to REAR.56 blue 2 mm2 0.30 m
wire 5 REAR.31 to HEAD.31 black 2 mm2 0.30 m
wire 6 LIMIT.59 to SP-56 blue 2 mm2 0.30 m
wire 7 LIMIT.31 to FRAME black 2 mm2 0.30 m
mount MAG.31 to FRAME
""",
    find=find,
)
