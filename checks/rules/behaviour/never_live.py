"""A load that nothing can feed."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for branch in behaviour.consumers:
        with study.judging(branch.part):
            if branch.branch_type.in_series or not behaviour.wired(branch):
                continue
            ends = (behaviour.fed(terminal) for terminal in (branch.a, branch.b))
            found_in = behaviour.holds_in(behaviour.any_of(behaviour.live(branch.key), *ends), plausible=True)
            if found_in or not found_in.space.possible:
                continue
            if behaviour.reached_at_all(branch):
                continue
            outputs = _outputs(study, branch)
            yield RULE.found(
                "never-fed",
                branch.span,
                facts={"load": branch.key, "terminal": branch.a, "outputs": outputs},
                about=(branch.part,),
                fix="output" if outputs else "contact",
                subject=branch.key,
            )


def _outputs(study: Study, branch: Branch) -> tuple[str, ...]:
    """The outputs of units that a load is wired to: where it is never fed, these are never on."""
    circuit = study.circuit
    of = circuit.nets.of
    poles = {of[node] for s in circuit.supplies for node in (*s.plus, s.minus)}
    here = {of[branch.a], of[branch.b]} - poles
    return tuple(b.key for b in circuit.branches if b.branch_type is BranchType.OUTPUT and here & {of[b.a], of[b.b]})


RULE = Rule(
    name="never-live",
    level=Level.ERROR,
    family="behaviour",
    symptom=True,
    catches="a load that no combination feeds, and no other rule has said why",
    why="""A wire on the wrong terminal, or two contacts in a row that are never closed together, make a load that
    never works. Found on the stand this costs a minute; found in the dark it costs the ride.""",
    source="ours: every combination of the controls is gone through",
    says={"never-fed": "{load} is fed in no combination of the controls"},
    fixes={
        "output": "find out why {outputs} is never on: what it asks for, and what its unit is fed by",
        "contact": "follow the wire at {terminal} back: find the contact that never closes when it is needed",
    },
    find=find,
)
