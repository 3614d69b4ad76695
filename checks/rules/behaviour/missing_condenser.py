"""Contact-breaker points without a condenser across them."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ...behaviour.points import Points, points_of_coils
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    joined = study.copper.bare
    condensers = [branch for branch in study.circuit.branches if branch.branch_type is BranchType.CAPACITOR]
    for points in points_of_coils(study):
        a, b = points.ends
        if any({joined.of(each.a), joined.of(each.b)} == {joined.of(a), joined.of(b)} for each in condensers):
            continue
        yield _told(points, _misplaced(study, points, condensers))


def _misplaced(study: Study, points: Points, condensers: list[Branch]) -> tuple[str, str] | None:
    """A condenser that is connected to the coil of these points and not to both their contacts, and where it is."""
    joined = study.copper.bare
    ends = [node for coil in points.coils for node in (coil.a, coil.b)]
    rails = {joined.of(supply.minus) for supply in study.circuit.supplies}
    rails |= {joined.of(node) for supply in study.circuit.supplies for node in supply.plus}
    for each in condensers:
        for node in ends:
            if joined.of(node) not in rails and joined.of(node) in (joined.of(each.a), joined.of(each.b)):
                return each.part, node
    return None


def _told(points: Points, misplaced: tuple[str, str] | None) -> Finding:
    a, b = points.ends
    coils = tuple(dict.fromkeys(coil.part for coil in points.coils))
    message = f"{points.switch} breaks the current of {', '.join(coils)} and has no condenser across it"
    remedy = "fit a condenser of 0.2 to 0.3 uF, 400 V or more"
    if misplaced is not None:
        condenser, node = misplaced
        message += f": {condenser} is connected to {node}"
        remedy = f"move {condenser}"
    return Finding(
        rule=RULE.name,
        level=RULE.level,
        message=message,
        span=points.span,
        about=(points.switch, *coils, *([misplaced[0]] if misplaced else [])),
        source=RULE.source,
        remedy=f"{remedy}: one lead on {a}, the other on {b}; one inside the distributor or coil is written down as a "
        "`capacitor`",
    )


RULE = Rule(
    name="missing-condenser",
    level=Level.WARNING,
    family="behaviour",
    catches="points that break the current of an ignition coil, with no condenser from one contact to the other",
    why="""When points open, the coil's current wants to go on and jumps the gap. The condenser takes it for that
    moment; without one, or with one on the feed side of the coil, the points burn within hours and the spark
    is too weak to start a cold engine.""",
    source="common practice, no source; 0.2 to 0.3 uF from memory",
    cautions="Points and coil give several hundred volts on the low side: touch nothing while the engine turns.",
    find=find,
)
