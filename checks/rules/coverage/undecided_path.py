"""A stop, a dead claim or an interlock that was neither proved nor refuted."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

UNTRIED = "do not try it: no fuse ends this short; correct what `dead-short` finds there first"
"""Where a trial would burn the wires."""


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts
    for kill in study.properties.kills:
        if kill.proof.ended == "open":
            yield found(
                RULE.name,
                Level.WARNING,
                f"whether {kill.control} stops {kill.part} was not proved: {kill.proof.why}",
                parts[kill.control.switch].span,
                about=(kill.part, kill.control.switch),
                source=RULE.source,
                remedy=UNTRIED
                if kill.proof.by == "short"
                else "try it on the motorcycle, in every position of what shares its wires; or give it wires of "
                "its own",
            )
    for claimed in study.properties.claims:
        if claimed.proof.ended == "open" and claimed.claim is not None:
            claim = claimed.claim
            thing = claim.part if claim.element is None else f"{claim.part}.{claim.element}"
            yield found(
                RULE.name,
                Level.WARNING,
                f"whether {thing} is {claim.how} as expected was not proved: {claimed.proof.why}",
                claim.span,
                about=(claim.part,),
                source=RULE.source,
                remedy=UNTRIED
                if claimed.proof.by == "short"
                else f"measure {thing} there, or give it wires of its own",
            )
    for lock in study.properties.interlocks:
        if lock.proof.ended == "open":
            yield found(
                RULE.name,
                Level.WARNING,
                f"whether {lock.starter} stays dead in gear was not proved: {lock.proof.why}",
                parts[lock.starter].span,
                about=(lock.starter,),
                source=RULE.source,
                remedy="try it on the motorcycle, on its stand; or give its relay wires of its own",
            )


RULE = Rule(
    name="undecided-path",
    level=Level.WARNING,
    family="coverage",
    catches="a stop, `dead` or interlock neither proved nor refuted",
    why="""Where too many combinations depend on each other through loads, or a rating is missing, a stop can be neither
    proved nor refuted. What was not proved is listed, so that no silence is taken for a proof: try it on the
    motorcycle.""",
    source="Loomwright's limit: 2^22 combinations a question (device_constants.toml), and of these 4,096 solved cases, "
    "fewer the more combinations there are: 8 at 2^22",
    find=find,
)
