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
            yield RULE.found(
                "idle",
                waiver.span,
                facts={"rule": waiver.rule, "names": waiver.names, "state": waiver.state or ""},
                about=waiver.names,
                proposals=(Proposal("remove the waiver", (DropLine(waiver.span.file, waiver.span.line),)),),
            )


RULE = Rule(
    name="idle-waiver",
    level=Level.NOTE,
    family="coverage",
    needs_all=True,
    catches="a waiver that covers no finding",
    why="""A waiver that covers no finding hides the next fault of the same kind. (One that names an unknown part, wire
    or rule is an error in the file, and no rule is run until it is corrected.)""",
    source="the file itself: what each waiver covers",
    says={"idle": "the waiver of {rule} for {names}[ in {state}] covers no finding"},
    find=find,
)
