"""The common of a unit, connected to ground outside it."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.circuit.paths import path as path_over
from ....lang.model.parts import Unit
from ...behaviour.counterexample import names_of
from ...behaviour.dependents import needs_to_ride
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

OUTSIDE = (BranchType.WIRE, BranchType.WAY, BranchType.MOUNT)
"""What joins terminals outside a unit and cannot open."""


def find(study: Study) -> Iterator[Finding]:
    circuit, bodies = study.circuit, study.copper.bodies
    for part in study.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        for common in part.commons:
            way = path_over(circuit, [End(part.name, common)], bodies, lambda b: b.branch_type in OUTSIDE)
            if way is None:
                continue
            path = names_of(way)
            yield RULE.found(
                "grounded",
                part.span,
                facts={"unit": part.name, "terminal": End(part.name, common), "ground": path[-1]},
                level=Level.ERROR if needs_to_ride(part) else Level.WARNING,
                about=(part.name, path[-1]),
                path=path,
            )


RULE = Rule(
    name="common-grounded",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a unit's `common`, the return of its sensors, connected to ground by wires or a mount",
    why="""The common of a control unit is a thin return for its sensors alone, so that no other current shifts what
    they measure. Connected to frame or engine it becomes a second ground lead of the unit: when another ground lead
    comes loose, current of other loads, even of the starter, returns through the unit and can destroy it.""",
    source="common practice, no source",
    cautions="Disconnect the grounded lead of the battery before you work at the plug of a control unit, and do not "
    "ground an output to try it.",
    says={
        "grounded": "{terminal} (common) is connected to {ground}: ground current of other loads can return through "
        "{unit}"
    },
    fixes={"grounded": "disconnect {terminal} from {ground}, and return only the sensors and switches of {unit} to it"},
    find=find,
)
