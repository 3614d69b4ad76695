"""A stop, a dead claim or an interlock that was neither proved nor refuted."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.proof import Proof
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts
    for kill in study.properties.kills:
        if kill.proof.ended == "open":
            yield RULE.found(
                "stop",
                parts[kill.control.switch].span,
                facts={"control": str(kill.control), "part": kill.part, "why": kill.proof.why},
                about=(kill.part, kill.control.switch),
                fix=_fix("stop", kill.proof),
            )
    for claimed in study.properties.claims:
        claim = claimed.claim
        if claimed.proof.ended == "open" and claim is not None:
            thing = claim.part if claim.element is None else f"{claim.part}.{claim.element}"
            yield RULE.found(
                "expectation",
                claim.span,
                facts={"load": thing, "how": claim.how, "why": claimed.proof.why},
                about=(claim.part,),
                fix=_fix("expectation", claimed.proof),
            )
    for lock in study.properties.interlocks:
        if lock.proof.ended == "open":
            yield RULE.found(
                "interlock",
                parts[lock.starter].span,
                facts={"starter": lock.starter, "why": lock.proof.why},
                about=(lock.starter,),
            )


def _fix(case: str, proof: Proof) -> str:
    """The case of what to do: where a trial would burn the wires, not to try it."""
    return "short" if proof.by == "short" else case


RULE = Rule(
    name="undecided-path",
    level=Level.WARNING,
    family="coverage",
    catches="a stop, a load expected live or dead, or an interlock that was neither proved nor refuted",
    why="""Where too many combinations depend on each other through loads, or a rating is missing, a stop can be neither
    proved nor refuted. What was not proved is reported, so that no doubt goes unsaid: try it on the motorcycle.""",
    source="Loomwright's limit: too many switches depend on each other through loads to solve all cases (at "
    "most 2^22 combinations and 4,096 cases a question, fewer cases the more combinations there are)",
    cautions="Try it on the stand, in neutral, with the engine idling, and be ready to stop the engine otherwise: "
    "at the key or with the fuel tap. Measure first that nothing gets hot.",
    says={
        "stop": "{control} was not proved to stop {part}: {why}",
        "expectation": "{load} was not proved {how} as expected: {why}",
        "interlock": "{starter} was not proved to stay dead in gear: {why}",
    },
    fixes={
        "stop": "try it on the motorcycle, in every position of the switches that share its wires; or run separate "
        "wires to it",
        "expectation": "measure {load} there, or run separate wires to it",
        "interlock": "try it on the motorcycle with the rear wheel off the ground; or run separate wires to the relay "
        "of {starter}",
        "short": "do not try it: no fuse ends this short; correct what `dead-short` finds there first",
    },
    find=find,
)
