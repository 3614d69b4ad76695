"""Two outputs of one unit that are connected to each other."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
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
            together.setdefault(joined.of(End(part.name, output.terminal)), {}).setdefault(output.terminal, output)
        for outputs in together.values():
            if len(outputs) < 2:
                continue
            first = next(iter(outputs.values()))
            engine = engine_depends(study.copper, part, outputs.values())
            terminals = tuple(End(part.name, output.terminal) for output in outputs.values())
            yield RULE.found(
                "joined",
                part.shown_at(first.span),
                facts={
                    "unit": part.name,
                    "outputs": tuple(output.name for output in outputs.values()),
                    "terminals": terminals,
                    "others": terminals[1:],
                },
                level=Level.ERROR if engine else Level.WARNING,
                about=(part.name,),
            )


RULE = Rule(
    name="joined-outputs",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="two outputs of one unit that wires connect to each other",
    why="""An output that is on feeds whatever is connected to the other: both loads come on together, one output
    carries the current of both and trips, and some units are destroyed when voltage is applied to an output.""",
    source="common practice, no source",
    says={"joined": "outputs {outputs} of {unit} are connected to each other, at {terminals}"},
    fixes={
        "joined": "connect {others} to {others:its|their} own load by a separate wire; where two outputs must feed one "
        "load, fit a diode in series with each"
    },
    find=find,
)
