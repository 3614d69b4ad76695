"""A stop lamp that is on though no brake is pressed."""

from __future__ import annotations

from collections.abc import Iterator

from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for one in study.misfed:
        if one.duty != "on without a brake" or one.other is not None or one.shown is None:
            continue
        lamp = one.lamp
        path = study.behaviour.loop(one.shown, lamp)
        yield RULE.found(
            "on",
            lamp.span,
            facts={"lamp": lamp.key, "terminal": study.protection.feed_end(lamp)},
            about=(lamp.part,),
            shown=one.shown,
            path=path,
        )


RULE = Rule(
    name="stop-always-on",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a stop lamp that is on without a brake",
    why="""Traffic behind sees by the stop lamp alone that this motorcycle slows down. One that is always on warns
    nobody, heats its lens and drains the battery. A switch that is stuck on is found at first sight; a wire that
    bypasses the switches passes every test of the brakes.""",
    source="UN R53 6.4 and 49 CFR 571.108: a stop lamp is on while a brake is applied (from memory); local law decides",
    formula="""found where a stop lamp is connected to both poles of a source in a plausible combination, with the
       brakes and all that springs back at rest; where no switch senses a brake, only where no switch but the key
       matters""",
    cautions="Take the battery's grounded lead off before a wire is moved.",
    says={"on": "stop lamp {lamp} is on without a brake"},
    fixes={"on": "disconnect the wire that bypasses the brake switches to {terminal}: it is on the path above"},
    find=find,
)
