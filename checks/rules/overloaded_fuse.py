"""A fuse that works too near its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ...lang.model import Fuse
from ...lang.quantities import shown
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.fuses import continuous_amps


def find(examination: Examination) -> Iterator[Finding]:
    profile = examination.protection.profile
    for branch in examination.circuit.branches:
        part = examination.harness.parts.get(branch.part)
        if branch.law is not Law.FUSE or not isinstance(part, Fuse):
            continue
        rating = continuous_amps(part.amps, part.blows)
        if not rating:
            continue
        loading = examination.operation.loading(branch.key)
        found = [
            (loading.continuous, profile.continuous_share, "continuous_share", "for ever"),
            (loading.held, profile.held_share, "held_share", "while a control is held"),
        ]
        over = [each for each in found if each[0].amps > each[1] * rating]
        if not over:
            continue
        peak, share, name, when = over[0]
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{part.name} ({rating:g} A) carries {shown(peak.amps)} A {when}: "
            f"{peak.amps / rating * 100:.0f} % of its rating, and {share * 100:.0f} % is allowed",
            span=part.span,
            about=(part.name,),
            state=peak.state,
            combination=peak.combination,
            figures=(Figure("current", peak.amps, "A"), Figure("allowed", share * rating, "A")),
            source=f"profile {profile.title}: {profile.source(name)}",
            remedy="a larger fuse where the wires behind it stand it, or two circuits instead of one",
        )


RULE = Rule(
    name="overloaded-fuse",
    level=Level.WARNING,
    family="fire",
    catches="a fuse above 80 % of its rating for ever, or above its rating while a control is held",
    why="""A fuse that works near its rating is hot, ages, and opens one night without any fault. A larger one is then
    put in at the roadside, whatever the wire is. What a lamp or a motor takes in its first moment is not counted: a
    fuse judges that by its I2t and lets it pass.""",
    source="70 to 80 % for ever: common practice, no source (a general fuse guide says 75 %); 100 % while held: ours",
    formula="""found where current, momentary controls at rest > 80 % of the rating
   or where current, any control held             > 100 % of the rating""",
    bad="""
loom "A heater that takes all that its fuse has"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 7.5 A blade at tray
switch HEAT 10 A key at tray { off: ; on: 1 2 }
load PAD heater at tray { pad 85 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to HEAT.1 red 1.5 mm2 0.1 m
wire 3 HEAT.2 to PAD.1 grey 1.5 mm2 0.2 m
wire 4 PAD.2 to FRAME black 1.5 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state heating { HEAT on }
""",
    good="""
loom "The same heater behind a fuse with some room"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch HEAT 10 A key at tray { off: ; on: 1 2 }
load PAD heater at tray { pad 85 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to HEAT.1 red 1.5 mm2 0.1 m
wire 3 HEAT.2 to PAD.1 grey 1.5 mm2 0.2 m
wire 4 PAD.2 to FRAME black 1.5 mm2 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state heating { HEAT on }
""",
    cautions="Never fit a larger fuse without looking at every wire behind it: the rule oversized-fuse does.",
    find=find,
)
