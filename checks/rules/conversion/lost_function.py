"""Something that the old harness did, and nothing does in the new one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ....lang.diagnostics.diagnostic import Note
from ...conversion.functions import lost
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    comparison = study.comparison
    conversion = study.harness.conversion
    if comparison is None or conversion.span is None:
        return
    with study.judging():
        for part, element in lost(comparison):
            name = comparison.match.new_of.get(part.name, "")
            now = study.harness.parts.get(name)
            found = RULE.found(
                "replaced" if now is not None else "gone",
                now.span if now is not None else conversion.span,
                facts={
                    "element": f"{part.name}.{element.name}",
                    "roles": element.roles or (element.what,),
                    "part": part.name,
                    "new": name,
                },
                about=(part.name, *((name,) if name and name != part.name else ())),
                notes=(Note(f"{part.name} in the old harness", part.span),),
                group=part.name,
            )
            yield replace(found, waived=comparison.match.declared("loses", part.name, name))


RULE = Rule(
    name="lost-function",
    level=Level.WARNING,
    family="conversion",
    catches="a lamp, horn or other load of the old harness whose work no part of the new one does",
    why="""A rebuild leaves things out on purpose, and by mistake. A plate lamp or a tell-tale that nobody remembers is
    missed at the inspection, or at night. What is left out on purpose is declared, with its reason.""",
    source="Loomwright's analysis: every load of the old harness that could be live",
    says={
        "gone": "{element} ({roles}) could be live in the old harness, and no part of this one does its work",
        "replaced": "{element} ({roles}) could be live in the old harness, and {new} never does its work",
    },
    fixes={
        "gone": 'fit a part that does its work; if the loss is meant, declare it: loses {part} because "..."',
        "replaced": 'connect {new} so that it does; if the loss is meant, declare it: loses {part} because "..."',
    },
    find=find,
)
