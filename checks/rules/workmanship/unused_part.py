"""A part that is in the file and not connected."""

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
            yield RULE.found("unconnected", part.span, facts={"part": part.name}, about=(part.name,))


RULE = Rule(
    name="unused-part",
    level=Level.NOTE,
    family="workmanship",
    catches="a part that no wire and no mounting reaches",
    why="""A part without a wire is unfinished work, or left over from an earlier plan; a parts list made from the
    file then has one part too many.""",
    source="the file itself: no wire and no `mount` line names it",
    says={"unconnected": "{part} is not connected: it has no wire and no mount"},
    fixes={"unconnected": "wire {part}, or remove it from the file"},
    find=find,
)
