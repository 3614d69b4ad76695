"""A stop lamp that is on though no brake is pressed."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for one in study.misfed:
        if one.duty != "on without a brake" or one.other is not None or one.shown is None:
            continue
        lamp = one.lamp
        path = study.behaviour.loop(one.shown, lamp)
        yield found(
            RULE.name,
            RULE.level,
            f"stop lamp {lamp.key} is on without a brake",
            lamp.span,
            about=(lamp.part,),
            shown=one.shown,
            path=path,
            source=RULE.source,
            remedy=f"disconnect what feeds {lamp.a} past the brake switches, found along the path above",
        )


RULE = Rule(
    name="stop-always-on",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a stop lamp that is on without a brake",
    why="""The rider behind learns from the stop lamp alone that this motorcycle slows down. One that is always on says
    nothing, heats its lens and empties the battery. A switch stuck on is found at the first look; a wire that leads
    past the switches passes every test of the brakes.""",
    source="UN R53 6.4 and 49 CFR 571.108: a stop lamp is on while a brake is applied (from memory); local law decides",
    formula="""found where a stop lamp is joined to both poles of a source in a plausible combination, with the brakes
       and all that springs back at rest; where no switch senses a brake, only where no switch but the key matters""",
    cautions="Take the battery's grounded lead off before a wire is moved.",
    find=find,
)
