"""What the file expects of the harness, and the harness does not do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.quantities.quantity import Quantity
from ...behaviour.by_numbers import solved
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.assertions import verdicts
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch, Supply
    from ....lang.model.statements import Claim, Expectation
    from ...behaviour.proof import Proof
    from ...operation.operation import OperatingPoint


def find(study: Study) -> Iterator[Finding]:
    refuted = set()
    for claimed in study.properties.claims:
        if claimed.proof.ended != "refuted":
            continue
        refuted.add(id(claimed.claim))
        if claimed.claim is None:
            yield RULE.found("impossible", claimed.expectation.span, facts={})
            continue
        if claimed.claim.how == "dead" and claimed.proof.by == "loads":
            yield _through_loads(study, claimed.claim, claimed.expectation, claimed.proof)
            continue
        yield RULE.found(
            "not-live" if claimed.claim.how == "live" else "live",
            claimed.claim.span,
            facts=_names(claimed.claim, claimed.expectation),
            about=(claimed.claim.part,),
            shown=claimed.proof.shown,
            path=claimed.proof.path,
            subject=_subject(study, claimed.claim),
        )
    yield from _by_numbers(study, refuted)


def _through_loads(study: Study, claim: Claim, expectation: Expectation, proof: Proof) -> Finding:
    """What is expected dead and lives on other loads: a charge lamp since nothing charges, which says no more than
    that; else what is fed backwards, or like others.
    """
    case, facts, subject = "through", _names(claim, expectation), ""
    branch = study.circuit.by_key.get(proof.of)
    operation = study.operation.without(expectation.without) if expectation.without else study.operation
    point = solved(operation, study.behaviour.logic, proof.shown) if proof.shown is not None else None
    if branch is not None and point is not None:
        idle = _idle_machine(point, branch)
        if idle is not None:
            case, subject = "no-charge", next(iter(idle.field_keys))
            facts["machine"] = idle.part
        elif _is_fed_backwards(study, point, branch):
            case = "backwards"
    return RULE.found(
        "through" if case == "backwards" else case,
        claim.span,
        facts=facts,
        about=(claim.part,),
        shown=proof.shown,
        path=proof.path,
        subject=subject,
        fix=case,
    )


def _idle_machine(point: OperatingPoint, lamp: Branch) -> Supply | None:
    """The machine that turns and does not charge, where the current of a lamp flows to one of its + terminals (- with
    the other pole on ground), as that of a charge lamp does then.
    """
    negative = point.circuit.return_sign == "-"
    if point.engine == "off":
        return None
    end = lamp.b if (point.amps(lamp.key) > 0.0) is negative else lamp.a
    near = point.connectivity.nodes((end,), forward=negative)
    for supply in point.circuit.supplies:
        poles = supply.plus if negative else (supply.minus,)
        if supply.field_keys and supply.name not in point.memory.excited and not near.isdisjoint(poles):
            return supply
    return None


def _is_fed_backwards(study: Study, point: OperatingPoint, load: Branch) -> bool:
    """Whether current flows into a load where it should leave it."""
    enters = load.a if point.amps(load.key) > 0.0 else load.b
    return (enters == study.protection.feed_end(load)) is (study.circuit.return_sign != "-")


def _by_numbers(study: Study, refuted: set[int]) -> Iterator[Finding]:
    """Claims of volts, amps and watts, what gets too little to be live, and what gets too much to be dead."""
    for claimed in verdicts(study.operation, study.harness.expectations, study.is_asked_at):
        claim, expectation = claimed.claim, claimed.expectation
        if id(claim) in refuted:
            continue  # reported already, with the combination that breaks it
        unknown = claimed.how == "unknown"
        figures = (Figure("found", claimed.found, claimed.unit), Figure(claim.how, claimed.wanted, claimed.unit))
        found, wanted = _readable(claimed.found, claimed.wanted, claimed.unit)
        yield RULE.found(
            claimed.how,
            claim.span,
            facts={
                **_names(claim, expectation),
                "part": claim.part,
                "how": claim.how,
                "found": found,
                "wanted": wanted,
                "of": _OF.get(claimed.of, ""),
                "why": claimed.why,
                "history": claimed.history,
            },
            level=Level.WARNING if unknown else Level.ERROR,
            about=(claim.part,),
            fix="unrated" if claimed.unrated else _FIX.get(claimed.how, "numbers"),
            subject="" if unknown else _subject(study, claim),
            state=expectation.state or "",
            figures=figures if claimed.how == "unmet" else (),
        )


_FIX: Final = {"unknown": "unknown", "unstopped": "unstopped", "choked": "choked"}

_OF: Final = {"nominal volts": "the nominal voltage", "rated amps": "the rated current"}
"""What a share of the tables is of, in words."""


def _names(claim: Claim, expectation: Expectation) -> dict[str, Fact]:
    """What a claim is about, in which state and without which parts."""
    thing = claim.part if claim.element is None else f"{claim.part}.{claim.element}"
    return {"load": thing, "state": expectation.state or "", "gone": tuple(expectation.without)}


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


def _readable(found: float, wanted: float, unit: str) -> tuple[Quantity, Quantity]:
    """Small currents, voltages and powers in thousandths."""
    if 0.0 < abs(wanted) < 0.1:
        return Quantity(found * 1e3, f"m{unit}"), Quantity(wanted * 1e3, f"m{unit}")
    return Quantity(found, unit), Quantity(wanted, unit)


RULE = Rule(
    name="unmet-expectation",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    symptom=True,
    catches="an `expect` that does not hold, with the combination that breaks it",
    why="""Expectations are the owner's own words for what the motorcycle must do, and stay in the file for the next
    change. What is expected live must be live in each plausible combination of everything that is not mentioned, what
    is expected dead must be dead in each possible one.""",
    source="the file itself",
    says={
        "impossible": "this expectation is never tested: no combination of switch positions meets its condition",
        "not-live": "{load} is expected live[ in {state}][ without {gone}] and is not",
        "no-charge": "{load} is expected dead[ in {state}][ without {gone}] and is on[ ({when})], since {machine} "
        "does not charge",
        "live": "{load} is expected dead[ in {state}][ without {gone}] and is live",
        "through": "{load} is expected dead[ in {state}][ without {gone}] and gets too much through other loads",
        "unmet": "{load} is expected {how} {wanted} in {state}[ without {gone}][ ({history})] and has {found}",
        "starved": "{load} is expected live in {state}[ without {gone}][ ({history})] and gets {found} of {of}, at "
        "least {wanted} is needed",
        "alive": "{load} is expected dead in {state}[ without {gone}][ ({history})] and gets {found} of {of}, under "
        "{wanted} is dead",
        "unstopped": "{load} is expected dead in {state}[ without {gone}][ ({history})], and its kill wire leaves "
        "{found} of its voltage: under {wanted} it is stopped",
        "choked": "{load} is expected live in {state}[ without {gone}][ ({history})], and what is connected to its "
        "kill wire leaves {found} of its voltage: above {wanted} it runs",
        "unknown": "{load} was not compared with this expectation in {state}[ without {gone}][ ({history})]: {why}",
    },
    fixes={
        "impossible": "write `or` where it is meant: one control cannot be in two positions at once",
        "not-live": "find the open contact or the missing wire in the feed or the return of {load}, or correct the "
        "expectation",
        "live": "find the wire or contact that feeds {load}, or correct the expectation",
        "through": "find what feeds {load} through other loads, or correct the expectation",
        "backwards": "find the load that feeds {load} backwards, or correct the expectation",
        "no-charge": "find out why {machine} does not charge, and cure that first: {load} is on for no other reason",
        "numbers": "measure where the voltage drops or what draws the current, or correct the expectation",
        "unstopped": "find the bad joint or the resistance in the kill wire of {load} and in its return",
        "choked": "disconnect from the kill wire of {load} everything but its stop contacts",
        "unrated": "add the missing rating of {part}",
        "unknown": "expect of {part} a value that can be calculated, or delete the expectation",
    },
    find=find,
)
