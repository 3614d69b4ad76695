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
        if not study.is_asked_at(branch.span):
            continue
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
                facts={"load": branch.key, "terminal": study.protection.feed_end(branch), "outputs": outputs},
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
    catches="a load that never gets a feed in any switch position, where no other finding shows why",
    why="""A wire on the wrong terminal, or two contacts in series that are never closed together, leave a load without
    a feed. In the workshop that costs a minute; a headlamp that stays off in the dark ends the ride.""",
    source="Loomwright's analysis: every combination of the controls",
    cautions="Before you bridge anything to make it live, find out what keeps it dead: an interlock may be meant to.",
    says={"never-fed": "{load} never gets a feed in any switch position"},
    fixes={
        "output": "find out why {outputs:output} {outputs:is|are} never on: check the conditions and the feed of the "
        "unit",
        "contact": "follow the wire from {terminal} back to the contact that never closes, or to the end that is on "
        "the wrong terminal",
    },
    find=find,
)
