"""A wire on the return side that has to carry more than it may."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.quantities.quantity import Quantity
from ...conductors.loading import NO_SIZE, chattering, no_size, overloads, thick_enough
from ...findings.finding import Finding, Level, Stage
from ...fixes.sizes import thicker
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    protection = study.protection
    for overload in overloads(study):
        if protection.side(overload.branch) != "return":
            continue
        segment, peak = overload.segment, overload.peak
        proposals = thick_enough(study, overload)
        yield RULE.found(
            "short-time" if overload.held else "continuous",
            segment.span,
            facts={
                "wire": segment.wire,
                "size": segment.size.text if segment.size else "",
                "current": Quantity(peak.amps, "A"),
                "limit": Quantity(overload.limit, "A"),
                "chattering": chattering(study),
            },
            level=Level.ERROR if overload.certain else Level.WARNING,
            fix="second" if proposals else no_size(study),
            about=(segment.wire,),
            state=peak.state,
            combination=peak.combination,
            figures=overload.figures(protection.profile.cranking_seconds),
            source=overload.source(study),
            proposals=proposals,
        )


RULE = Rule(
    name="thin-return",
    level=Level.ERROR,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="the same on the return side, where no fuse is sized for the wire",
    why="""The way back carries the sum of everything that shares it, and no fuse is chosen for it. A thin strap from
    the engine, a common ground wire of all lamps or a forgotten second path to the battery gets the current of
    several fuses, and when the thick one beside it comes loose, all of it, the starter's too.""",
    source="33 CFR 183.425 table 5 for continuous current; k S / sqrt(30 s) with IEC 60364-5-54's k for what "
    "flows while a "
    "control is held or the engine cranks",
    formula="""found where current, momentary controls at rest > ampacity
   or where current, any control held, or cranking > the greater of ampacity and k S / sqrt(30 s)
in the named states and in the combination in which most hangs on the wire""",
    cautions="No fuse looks after a return wire: feel it for warmth after the first ride, and its joints.",
    says={
        "continuous": "return wire {wire} ({size}) carries {current}, rated {limit} continuous",
        "short-time": "return wire {wire} ({size}) carries {current}, rated {limit} short-time",
    },
    fixes={"second": "or fit a second one beside it: no fuse protects a return wire", **NO_SIZE},
    find=find,
    fix=thicker,
)
