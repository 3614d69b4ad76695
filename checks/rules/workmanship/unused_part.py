"""A part that stands in the text and not in the harness."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch_types import BranchType
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    reached = {
        end
        for branch in study.circuit.branches
        if branch.branch_type in (BranchType.WIRE, BranchType.MOUNT)
        for end in (branch.a.part, branch.b.part)
    }
    for part in study.harness.parts.values():
        if part.name not in reached:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"no conductor reaches {part.name}",
                span=part.span,
                about=(part.name,),
                source=RULE.source,
                remedy=f"wire {part.name}, or take it out of the text",
            )


RULE = Rule(
    name="unused-part",
    level=Level.NOTE,
    family="workmanship",
    catches="a part that no wire and no mounting reaches",
    why="""A part that nothing reaches is either forgotten work or a leftover of an older plan, and whoever buys parts
    by this text buys one too many.""",
    source="ours",
    find=find,
)
