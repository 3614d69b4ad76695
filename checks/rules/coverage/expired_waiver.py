"""A waiver past its date."""

from __future__ import annotations

from collections.abc import Iterator

from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for waiver in study.harness.waivers:
        if waiver.until is not None and waiver.until < study.today:
            yield RULE.found(
                "expired",
                waiver.span,
                facts={"rule": waiver.rule, "names": waiver.names, "date": waiver.until.isoformat()},
                about=waiver.names,
            )


RULE = Rule(
    name="expired-waiver",
    level=Level.WARNING,
    family="coverage",
    catches="a waiver past its last day",
    why="""A waiver with a date is meant to be looked at again on that day. Past it, what the waiver covered counts
    again, and this finding says why.""",
    source="the file itself: the day after `until`",
    says={"expired": "the waiver of {rule} for {names} expired on {date}: what it covers counts again"},
    fixes={
        "expired": "correct what {rule} finds there and remove the waiver, or write a later date with a reason that "
        "holds today",
    },
    find=find,
)
