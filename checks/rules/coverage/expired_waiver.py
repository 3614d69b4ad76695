"""A waiver past its date."""

from __future__ import annotations

from collections.abc import Iterator

from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for waiver in study.harness.waivers:
        if waiver.until is not None and waiver.until < study.today:
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"the waiver of {waiver.rule} for {', '.join(waiver.names)} ended on "
                f"{waiver.until.isoformat()}; what it covers counts again",
                span=waiver.span,
                about=waiver.names,
                source=RULE.source,
                remedy=f"mend what {waiver.rule} finds there and take the waiver out, or write a later date with a "
                "reason that "
                "holds today",
            )


RULE = Rule(
    name="expired-waiver",
    level=Level.WARNING,
    family="coverage",
    catches="a waiver past its date, its last day",
    why="""A date on a waiver is a promise to look again. When it has gone by, what the waiver covered counts again,
    and this finding says why it is back.""",
    source="ours",
    find=find,
)
