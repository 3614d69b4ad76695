"""What the file expects of the harness, and the harness does not do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ....lang.quantities.quantity import apart, shown
from ...behaviour.counterexample import found
from ...behaviour.properties import Claimed
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.assertions import told
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.model.statements import Claim


def find(study: Study) -> Iterator[Finding]:
    refuted = set()
    for claimed in study.properties.claims:
        if claimed.proof.ended != "refuted":
            continue
        refuted.add(id(claimed.claim))
        if claimed.claim is None:
            yield found(
                RULE.name,
                Level.ERROR,
                "no combination of the controls ever meets the condition of this expectation",
                claimed.expectation.span,
                about=(),
                source=RULE.source,
                remedy="write `or` where it is meant: one control cannot be in two positions at once",
            )
            continue
        told_of = found(
            RULE.name,
            Level.ERROR,
            _message(claimed),
            claimed.claim.span,
            about=(claimed.claim.part,),
            shown=claimed.proof.shown,
            path=claimed.proof.path,
            source=RULE.source,
            remedy="follow the path, or find the feed that is missing; or write what is really meant",
        )
        yield replace(told_of, subject=_subject(study, claimed.claim))
    yield from _by_numbers(study, refuted)


def _by_numbers(study: Study, refuted: set[int]) -> Iterator[Finding]:
    """Claims of volts, amps and watts, what gets too little to be live, and what gets too much to be dead."""
    for claimed in told(study.operation):
        claim, expectation = claimed.claim, claimed.expectation
        if id(claim) in refuted:
            continue  # told already, with the combination that breaks it
        thing = claim.part if claim.element is None else f"{claim.part}.{claim.element}"
        gone = f" without {', '.join(expectation.without)}" if expectation.without else ""
        where = f"in {expectation.state}{gone}" + (f" with {claimed.history}" if claimed.history else "")
        figures: tuple[Figure, ...] = ()
        gets, limit = apart(claimed.found, claimed.wanted)
        if claimed.how == "unknown":
            message = f"whether {thing} is as expected {where} cannot be told: {claimed.why}"
        elif claimed.how == "starved":
            message = f"{thing} is expected live {where} and gets {gets} {claimed.unit}, where it works from {limit} %"
        elif claimed.how == "alive":
            message = (
                f"{thing} is expected dead {where} and gets {gets} {claimed.unit}, where it is dead below {limit} %"
            )
        else:
            found, wanted, unit = _readable(claimed.found, claimed.wanted, claimed.unit)
            message = (
                f"{thing} is expected {claim.how} {shown(wanted, 6)} {unit} {where} and has "
                f"{apart(found, wanted)[0]} {unit}"
            )
            figures = (
                Figure("found", claimed.found, claimed.unit),
                Figure(claim.how, claimed.wanted, claimed.unit),
            )
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING if claimed.how == "unknown" else Level.ERROR,
            message=message,
            span=claim.span,
            about=(claim.part,),
            subject="" if claimed.how == "unknown" else _subject(study, claim),
            state=expectation.state or "",
            figures=figures,
            source=RULE.source,
            remedy=f"write down the missing rating of {claim.part}"
            if claimed.how == "unknown"
            else "measure where the voltage is lost or what draws the current; or write what is really meant",
        )


def _subject(study: Study, claim: Claim) -> str:
    """What a claim says must work: a consumer by key, or the part as a whole. That a thing is live which is expected
    dead never follows from what cannot work: no subject.
    """
    if claim.how not in ("live", "at least"):
        return ""
    if claim.element is None:
        return claim.part
    branch = study.circuit.element_branch(claim.part, claim.element)
    return branch.key if branch is not None else ""


def _readable(found: float, wanted: float, unit: str) -> tuple[float, float, str]:
    """Small amps, volts and watts in thousandths."""
    if 0.0 < abs(wanted) < 0.1:
        return found * 1e3, wanted * 1e3, f"m{unit}"
    return found, wanted, unit


def _message(claimed: Claimed) -> str:
    claim = claimed.claim
    if claim is None:
        return ""
    thing = claim.part if claim.element is None else f"{claim.part}.{claim.element}"
    expectation = claimed.expectation
    where = f" in {expectation.state}" if expectation.state else ""
    gone = f" without {', '.join(expectation.without)}" if expectation.without else ""
    if claim.how == "live":
        return f"{thing} is expected live{where}{gone} and is not"
    if claimed.proof.by == "loads":
        return f"{thing} is expected dead{where}{gone} and gets too much for that through other loads"
    return f"{thing} is expected dead{where}{gone} and is live"


RULE = Rule(
    name="unmet-expectation",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    symptom=True,
    catches="an `expect` that does not hold, with the combination that breaks it",
    why="""Expectations are the rider's own words for what the machine must do, and stay in the file for the next
    change. A live one must hold in each plausible combination of everything that it does not mention, a dead
    one in each possible one.""",
    source="the file itself",
    find=find,
)
