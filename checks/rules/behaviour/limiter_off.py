"""A limiter that is not across the winding it should limit."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from ....lang.model.parts import Regulator, Source
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts.values()
    windings = [
        [f"{part.name}.{terminal}" for terminal in terminals]
        for part in parts
        if isinstance(part, Source)
        for terminals in (*(winding.terminals for winding in part.windings), part.phases)
    ]
    joined = study.copper.switched
    for part in parts:
        if not isinstance(part, Regulator) or not part.shunts:
            continue
        ends = [f"{part.name}.{terminal}" for terminal in part.shunts]
        if not any(study.copper.wires_at(end) for end in ends):
            continue  # unused-part says so
        pairs = (pair for nodes in windings for pair in permutations(nodes, 2))
        if any(joined.same(ends[0], one) and joined.same(ends[1], other) for one, other in pairs):
            continue
        loose = tuple(end for end in ends if not any(joined.same(end, node) for nodes in windings for node in nodes))
        yield RULE.found(
            "not-connected" if loose else "not-across",
            part.span,
            facts={"limiter": part.name, "ends": tuple(ends), "loose": loose},
            about=(part.name,),
            fix="across",
        )


RULE = Rule(
    name="limiter-off",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a limiter (`shunts`) whose two terminals are not across one winding in any switch position",
    why="""Without its limiter the voltage of a winding rises with the engine speed. The lamps of a small motorcycle
    then burn out within a ride, and as each one fails the voltage at the others rises further.""",
    source="ours: which terminals wires, fuses and contacts connect to a winding",
    says={
        "not-connected": "{limiter} does not limit any winding: {loose} {loose:is|are} not connected to one",
        "not-across": "{limiter} does not limit any winding: {ends} are not the two ends of one",
    },
    fixes={"across": "connect {ends} to the two ends of the winding that feeds the lamps"},
    find=find,
)
