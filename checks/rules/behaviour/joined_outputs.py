"""Two outputs of one unit on one wire."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Unit, UnitOutput
from ...behaviour.dependents import engine_depends
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    joined = study.copper.bare
    for part in study.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        together: dict[str, dict[str, UnitOutput]] = {}
        for output in part.outputs:
            together.setdefault(joined.of(f"{part.name}.{output.terminal}"), {}).setdefault(output.terminal, output)
        for outputs in together.values():
            if len(outputs) < 2:
                continue
            first, *others = outputs.values()
            engine = engine_depends(study, part, outputs.values())
            nodes = [f"{part.name}.{output.terminal}" for output in outputs.values()]
            yield Finding(
                rule=RULE.name,
                level=Level.ERROR if engine else Level.WARNING,
                message=f"outputs {', '.join(o.name for o in outputs.values())} of {part.name} are connected to each "
                f"other: {' and '.join(nodes)}",
                span=part.shown_at(first.span),
                about=(part.name,),
                source=RULE.source,
                remedy=f"give {' and '.join(nodes[1:])} {'its' if len(others) == 1 else 'their'} own wire and load; "
                "where two outputs must feed one load, put a diode in each",
            )


RULE = Rule(
    name="joined-outputs",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="two outputs of one unit that wires connect to each other",
    why="""An output that is on feeds whatever is connected to the other: both loads come on together, one output
    carries the current of both and trips, and some units are destroyed when voltage comes in at an output.""",
    source="common practice, no source",
    find=find,
)
