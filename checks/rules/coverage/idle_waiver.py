"""A waiver that covers nothing."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import DropLine, Proposal
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...runner.run import RuleStudy


def find(study: RuleStudy, found: tuple[Finding, ...]) -> Iterator[Finding]:
    if not study.harness.waivers:
        return
    from ...runner.run import covers, rule_named

    for waiver in study.harness.waivers:
        if rule_named(waiver.rule, study.own_rules) is None:
            continue  # one of the user's own that are not run: the report says that
        if waiver.until is not None and waiver.until < study.today:
            continue  # said as expired already
        if not any(covers(waiver, finding, study.own_rules) for finding in found):
            where = f" in {waiver.state}" if waiver.state else ""
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"nothing that {waiver.rule} finds is about {', '.join(waiver.names)}{where}",
                span=waiver.span,
                about=waiver.names,
                source=RULE.source,
                proposals=(Proposal("take the waiver out", (DropLine(waiver.span.file, waiver.span.line),)),),
            )


RULE = Rule(
    name="idle-waiver",
    level=Level.NOTE,
    family="coverage",
    needs_all=True,
    catches="a waiver that matches nothing",
    why="""A waiver that covers nothing any more waits to hide the next fault of the same kind. (One that names no known
    part, wire or rule is a mistake in the text, and nothing is checked until it is mended.)""",
    source="ours",
    find=find,
)
