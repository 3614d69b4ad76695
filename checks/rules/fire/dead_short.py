"""A source connected to its own other pole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Source
from ...behaviour.counterexample import about_path, names_of
from ...findings.facts import Fact
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

MOST = 20
"""Shorts of one source that are shown at the most (ours): the check is run again once these are repaired."""


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
                supply = next(each for each in behaviour.circuit.supplies if each.key == origin.supply.key)
                contacts = [branch for branch in way if branch.branch_type is BranchType.CONTACT]
                fix, facts = _fed_field(study, origin.plus_node) or ("wrong-terminal", {})
                yield RULE.found(
                    "shorted",
                    next((contact.span for contact in contacts), supply.span),
                    facts={
                        "source": origin.supply.name,
                        "contacts": tuple(contact.key for contact in contacts),
                        **facts,
                    },
                    about=(origin.supply.name, *about_path(behaviour, path)),
                    shown=shown,
                    path=path,
                    fix=fix,
                )


def _fed_field(study: Study, node: End) -> tuple[str, Mapping[str, Fact]] | None:
    """The fix and its facts where by the text a machine feeds itself at the end of its field that a regulator feeds."""
    part = study.harness.parts.get(node.part)
    if not isinstance(part, Source) or part.field_winding is None:
        return None
    plus, minus = part.field_winding.plus, part.field_winding.minus
    if End(part.name, plus) != node:
        return None
    output = part.output
    facts = {"node": node, "plus": plus, "minus": minus, "polarity": study.harness.grounded}
    if output is not None and output.minus == plus and study.harness.grounded == "positive":
        return "output-or-field", {**facts, "output_plus": output.plus, "output_minus": output.minus}
    return "field", {**facts, "grounded": "+" if study.harness.grounded == "positive" else "-"}


RULE = Rule(
    name="dead-short",
    level=Level.ERROR,
    family="fire",
    stage=Stage.TOPOLOGY,
    catches="the + of a source connected to its own - with no load between, in a possible switch combination",
    why="""A dead short draws hundreds of amperes. A fuse in its path blows, and so does the next one; without a fuse
    the wire glows inside the loom. Unlikely switch positions count too: sooner or later every switch is operated
    together with every other.""",
    source="Loomwright's analysis: every combination of the controls",
    formula="""found where, in a possible combination, the + of a source is connected to its own - through wires,
      connectors, fuses, closed contacts and diodes in their forward direction, and through no load
one finding for each set of closed contacts""",
    cautions="Take the battery's grounded lead off before you look for the short on the motorcycle.",
    says={"shorted": "{source} is shorted[ through {contacts}]"},
    fixes={
        "wrong-terminal": "disconnect {source} first; then find the wire along the path above that is on the wrong "
        "terminal, and move it",
        "field": "find out which side of the field {node} is: it is taken as the + side because it is written first; "
        "if it is the - side, write `field: {minus} {plus}`: with a {polarity} ground the {grounded} side is the "
        "frame side",
        "output-or-field": "find out which side of the field is the frame side: {node} is written as the - side of "
        "the output and the + side of the field, and with a {polarity} ground the frame side is +; if that is {plus}, "
        "write `output: {output_minus} {output_plus}`, else `field: {minus} {plus}`",
    },
    find=find,
)
