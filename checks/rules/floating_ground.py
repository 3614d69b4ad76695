"""A load that is fed and has no way back."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Branch
from ...lang.model import Element, Source
from ..behaviour import SERIES_LAWS, AnyOf, AtPole, JoinedInSeries, ThroughLoads, works_through_loads
from ..conduction import ANY, DIRECT, Conduction
from ..conduction.evidence import found
from ..conduction.scope import Scope
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    for branch in conduction.consumers:
        if branch.law in SERIES_LAWS or not conduction.wired(branch):
            continue
        joined = JoinedInSeries(branch.key, ANY)
        fed = AnyOf((AtPole(branch.a, feed=True), AtPole(branch.b, feed=True)))
        scope = conduction.scope(joined, fed)
        if conduction.joined_either_way(scope, branch) & scope.counted or joined.table(scope) & scope.counted:
            continue
        shown = conduction.show(scope, fed.table(scope) & scope.counted)
        if shown is None:
            continue
        other = ThroughLoads(branch.key)
        wide = conduction.scope(other)
        if _lit_between(conduction, wide, branch):
            continue  # a tell-tale between two circuits, lit through the loads of the other one, is made so
        back = "; what comes back does so through other loads" if other.table(wide) & wide.counted else ""
        hot = branch.a if (AtPole(branch.a, feed=True).table(scope) >> shown.index) & 1 else branch.b
        yield found(
            RULE.name,
            Level.ERROR,
            f"{branch.key} is fed and has no way back to the source{back}",
            branch.span,
            about=(branch.part,),
            shown=shown,
            path=conduction.feed(shown, hot),
            source=RULE.source,
            remedy=_remedy(examination, branch, branch.b if hot == branch.a else branch.a),
        )


def _lit_between(conduction: Conduction, scope: Scope, branch: Branch) -> bool:
    """Whether a tell-tale works on what comes through other loads in some combination that a rider meets with."""
    if not isinstance(branch.item, Element) or "tell-tale" not in branch.item.roles:
        return False
    asked = ThroughLoads(branch.key, DIRECT).table(scope) & scope.counted & scope.plausible
    return works_through_loads(conduction, scope, branch, asked)


def _remedy(examination: Examination, branch: Branch, end: str) -> str:
    """What to join the end to: a charge lamp leads on to its machine, and grounded it would stop the charging."""
    tells = isinstance(branch.item, Element) and "tell-tale" in branch.item.roles
    parts = examination.harness.parts.values()
    if tells and any(isinstance(p, Source) and p.field_winding for p in parts):
        return (
            f"a way on from {end}: a charge lamp's leads to the D+ or the field of its machine, through the regulator "
            "where there is one, and never to ground; that of another lamp to ground"
        )
    return f"a return from {end} to ground"


RULE = Rule(
    name="floating-ground",
    level=Level.ERROR,
    family="ground",
    catches="a load fed in some combination and returned in none in which it is fed",
    why="""Current needs a way back. A load without one is dead at best; at worst it finds a way through its
    neighbours and two lamps glow dimly in a row, or a lamp comes on with a brake. Works in series with a field,
    a resistor or a sensor are known and no fault; a return through other loads is named and not excused.""",
    source="ours: every combination of the controls is gone through",
    find=find,
)
