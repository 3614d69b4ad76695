"""A source joined to its own other pole."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Source
from ...behaviour.counterexample import about_path, found, names_of
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

MOST = 20
"""So many ways to short one source are shown (ours): whoever mends these has to run the check again anyway."""


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for origin in behaviour.sources():
        with study.judging(origin.supply.name):
            asked = behaviour.shorted(origin)
            space = behaviour.space(asked)
            left = shorted = space.where(asked) & space.occurring
            for _ in range(MOST):
                shown = left.shown(alike=shorted)
                if shown is None:
                    break
                way = behaviour.way(shown, origin.plus_node, origin.minus_node) or ()
                closed = space.every
                for branch in way:
                    closed &= space.conducting(branch)
                left -= closed
                path = names_of((origin.plus_node, *way, origin.minus_node))
                contacts = [branch.key for branch in way if branch.branch_type is BranchType.CONTACT]
                through = f" through {' and '.join(contacts)}" if contacts else ""
                yield found(
                    RULE.name,
                    Level.ERROR,
                    f"{origin.supply.name} is shorted{through}",
                    next((b.span for b in way if b.branch_type is BranchType.CONTACT), origin.supply.span),
                    about=(origin.supply.name, *about_path(behaviour, path)),
                    shown=shown,
                    path=path,
                    source=RULE.source,
                    remedy=_fed_field(study, origin.plus_node)
                    or f"disconnect {origin.supply.name} first; then find the wire along the path above that is on the "
                    "wrong "
                    "terminal, and move it",
                )


def _fed_field(study: Study, node: str) -> str:
    """What to write where a machine is taken to feed itself at the end of its field that a regulator feeds."""
    part = study.harness.parts.get(node.partition(".")[0])
    if not isinstance(part, Source) or part.field_winding is None:
        return ""
    plus, minus = part.field_winding.plus, part.field_winding.minus
    if f"{part.name}.{plus}" != node:
        return ""
    output = part.output
    if output is not None and output.minus == plus and study.harness.grounded == "positive":
        return (
            f"{node} stands on the - side of the output and on the + side of the field: with a positive ground the + "
            f"side faces the frame; where that is {plus}, write `output: {output.minus} {output.plus}`, else "
            f"`field: {minus} {plus}`"
        )
    faces = "+" if study.harness.grounded == "positive" else "-"
    return (
        f"{node} is taken as the + side of the field, since it stands first on its line; where it is the - side, write "
        f"`field: {minus} {plus}`: with a {study.harness.grounded} ground the {faces} side faces the frame"
    )


RULE = Rule(
    name="dead-short",
    level=Level.ERROR,
    family="fire",
    catches="the + of a source joined to its own - in a combination that can come about",
    why="""A short takes hundreds of amps. With a fuse in its way the fuse goes, and goes again; without one the
    wire glows inside the loom. Positions that nobody sets on purpose count: every switch is pressed sooner or
    later with every other.""",
    source="ours: every combination of the controls is gone through",
    formula="""found where, in a possible combination, current gets from the + of a source to its own - through
      wires, ways, fuses, contacts and diodes their own way, and through no consumer
one finding for each set of closed contacts""",
    cautions="Take the battery's grounded lead off before it is looked for on the machine.",
    find=find,
)
