"""The common of a unit, connected to ground outside it."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Unit
from ...behaviour.counterexample import names_of
from ...behaviour.dependents import needs_to_ride
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        for common in part.commons:
            way = _to_ground(study, f"{part.name}.{common}")
            if way is None:
                continue
            path = names_of(way)
            yield Finding(
                rule=RULE.name,
                level=Level.ERROR if needs_to_ride(part) else Level.WARNING,
                message=f"{part.name}.{common} (common) is connected to {path[-1]}: the ground current of the "
                f"motorcycle can return through {part.name}",
                span=part.span,
                about=(part.name, path[-1]),
                path=path,
                source=RULE.source,
                remedy=f"return the sensors and switches of {part.name} to {part.name}.{common} alone, insulated from "
                f"{path[-1]}",
            )


def _to_ground(study: Study, start: str) -> list[str | Branch] | None:
    """The shortest way by copper outside the unit from a terminal to a body of ground."""
    bodies = set(study.copper.bodies)
    came: dict[str, tuple[Branch, str] | None] = {start: None}
    queue = deque([start])
    while queue:
        node = queue.popleft()
        if node in bodies:
            way: list[str | Branch] = [node]
            while (step := came[node]) is not None:
                way.insert(0, step[0])
                node = step[1]
            return [node, *way]
        for branch in study.circuit.at.get(node, ()):
            other = branch.b if branch.a == node else branch.a
            if branch.branch_type in (BranchType.WIRE, BranchType.WAY, BranchType.MOUNT) and other not in came:
                came[other] = (branch, node)
                queue.append(other)
    return None


RULE = Rule(
    name="common-grounded",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a unit's `common`, the return of its sensors, connected to a ground by wires or a mount",
    why="""The common of a control unit is a thin return of its own for sensors, so that no other current shifts what
    they measure. Connected to frame or engine it becomes a second ground lead: when the main one works loose
    the starter's current looks for its way through the unit.""",
    source="common practice, no source",
    find=find,
)
