"""Two outputs of one unit that are connected to each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.ids import End
from ....lang.circuit.paths import path as path_over
from ....lang.model.parts import Unit, UnitOutput
from ....lang.quantities.quantity import Quantity
from ...behaviour.dependents import engine_depends
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.spares import spare_rating


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
            wires = _between(study, terminals[0], terminals[1])
            rating = spare_rating("diode", max(output.amps or 0.0 for output in outputs.values()))
            yield RULE.found(
                "joined",
                part.shown_at(first.span),
                facts={
                    "unit": part.name,
                    "outputs": tuple(output.name for output in outputs.values()),
                    "terminals": terminals,
                    "others": terminals[1:],
                    "wires": wires,
                    "band": "its output" if first.grounded else "the load",
                    "diode": Quantity(rating, "A") if rating is not None else "",
                },
                fix="wire" if wires else "joined",
                level=Level.ERROR if engine else Level.WARNING,
                about=(part.name,),
            )


def _between(study: Study, one: End, other: End) -> tuple[str, ...]:
    """The wires on the way from one output to the other that end at neither: each output keeps its own."""
    way = path_over(study.circuit, [one], [other], lambda branch: branch.branch_type.conductor) or []
    wires = dict.fromkeys(step.owner for step in way if isinstance(step, Branch) and step.segment is not None)
    return tuple(wires)[1:-1]


DIODES: Final = (
    "where both must feed one load, fit a diode[ of {diode}] in series with each, its band (cathode) towards {band}"
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
    cautions="Disconnect the grounded lead of the battery before you work at the plug of a control unit.",
    says={"joined": "outputs {outputs} of {unit} are connected to each other, at {terminals}"},
    fixes={
        "wire": f"disconnect {{wires:wire}}, which {{wires:connects|connect}} the two; {DIODES}",
        "joined": f"connect {{others}} to {{others:its|their}} own load by a separate wire; {DIODES}",
    },
    find=find,
)
