"""A load that nothing can feed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.diagnostics.messages import plainly_listed
from ...behaviour import SERIES_LAWS, AnyOf, AtPole, JoinedInSeries, reached_at_all
from ...findings.finding import Finding, Level
from ...logic import ANY
from ...logic.counterexample import found
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    logic = study.logic
    for branch in logic.consumers:
        with study.judging(branch.part):
            if branch.branch_type in SERIES_LAWS or not logic.wired(branch):
                continue
            fed = AnyOf((JoinedInSeries(branch.key, ANY), AtPole(branch.a, feed=True), AtPole(branch.b, feed=True)))
            scope = logic.scope(fed)
            if fed.table(scope) & scope.counted & scope.plausible or not scope.counted:
                continue
            if reached_at_all(logic, branch):
                continue
            told = found(
                RULE.name,
                Level.ERROR,
                f"{branch.key} is fed in no combination of the controls",
                branch.span,
                about=(branch.part,),
                source=RULE.source,
                remedy=_remedy(study, branch),
            )
            yield replace(told, subject=branch.key)


def _remedy(study: Study, branch: Branch) -> str:
    """What to look at first: the outputs of units that the load is wired to, which are never on then, or a contact."""
    circuit = study.circuit
    of = circuit.nets.of
    poles = {of[node] for s in circuit.supplies for node in (*s.plus, s.minus)}
    here = {of[branch.a], of[branch.b]} - poles
    outputs = [b.key for b in circuit.branches if b.branch_type is BranchType.OUTPUT and here & {of[b.a], of[b.b]}]
    if outputs:
        return f"find out why {plainly_listed(outputs)} is never on: what it asks for, and what its unit is fed by"
    return f"follow the wire at {branch.a} back: find the contact that never closes when it is needed"


RULE = Rule(
    name="never-live",
    level=Level.ERROR,
    family="behaviour",
    catches="a load that no combination feeds, and no other rule has said why",
    why="""A wire on the wrong terminal, or two contacts in a row that are never closed together, make a load that
    never works. Found on the stand this costs a minute; found in the dark it costs the ride.""",
    source="ours: every combination of the controls is gone through",
    find=find,
)
