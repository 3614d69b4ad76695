"""An ignition that gets too little while the starter turns."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Law
from ...lang.model import Load, Unit
from ...lang.quantities import shown
from ..dc.standing import standing
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.laws import law_source, laws


def find(examination: Examination) -> Iterator[Finding]:
    for branch in examination.circuit.branches:
        part = examination.harness.parts.get(branch.part)
        sparks = branch.law is Law.IGNITION or (
            branch.law in (Law.SUPPLY, Law.ELECTRONICS) and isinstance(part, Load | Unit) and part.is_ignition
        )
        if not sparks:
            continue
        for point in examination.operation.points.values():
            if point.engine != "cranking" or not point.joins.joined(branch.key, series=True):
                continue
            stand = standing(point, branch.key)
            if stand is None or stand.of != "nominal volts":
                continue
            nominal = branch.made_for(examination.harness.volts)
            needed = max(stand.works, laws().cranking_share if branch.law is not Law.IGNITION else 0.0)
            if stand.share >= needed:
                continue
            battery = max((point.across(s.name) for s in point.joins.sources if s.kind == "battery"), default=0.0)
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{branch.key} gets {shown(stand.share * nominal)} V while the starter turns and needs "
                f"{shown(needed * nominal)} V to fire",
                span=branch.span,
                about=(branch.part,),
                state=point.state,
                path=tuple(b.key for b, _ in point.joins.losses(branch.key)),
                figures=(
                    Figure("across the ignition", stand.share * nominal, "V"),
                    Figure("needed", needed * nominal, "V"),
                    Figure("battery while cranking", battery, "V"),
                ),
                source=str(law_source("cranking_share")),
                remedy="a battery of less resistance, thicker starter cables, or a shorter way to the ignition",
            )
            break


RULE = Rule(
    name="cranking-brownout",
    level=Level.WARNING,
    family="stop",
    catches="an ignition below 0.67 of nominal volts in a cranking state",
    why="""The starter takes a hundred amps and pulls the battery down by two or three volts, and what else is lost on
    the way to the ignition comes on top. The engine then turns well and never fires; it starts when pushed. A rider who
    does not know of this changes plugs and coils for a season.""",
    source="0.67 of nominal volts: ours",
    formula="found where volts across the ignition < 0.67 of nominal volts (or less than it `needs`), engine cranking",
    cautions="Crank in neutral, with the bike on its stand and nobody in front of it.",
    find=find,
)
