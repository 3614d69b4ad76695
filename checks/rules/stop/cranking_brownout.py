"""An ignition that gets too little while the starter turns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, Load, Unit
from ....lang.quantities.quantity import Quantity, apart
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.load_status import battery_volts
from ...rule import Rule
from ...study import Study
from ...tables.batteries import battery_figure
from ...tables.device_constants import law_source, laws

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...operation.operation import OperatingPoint


def find(study: Study) -> Iterator[Finding]:
    for branch in study.circuit.branches:
        part = study.harness.parts.get(branch.part)
        sparks = branch.branch_type is BranchType.IGNITION or (
            branch.branch_type in (BranchType.SUPPLY, BranchType.ELECTRONICS)
            and isinstance(part, Load | Unit)
            and part.is_ignition
        )
        if not sparks:
            continue
        for point in study.operation.points.values():
            if point.engine != "cranking" or not point.connectivity.joined(branch.key, series=True):
                continue
            found = _told(study, branch, point)
            if found is not None:
                yield found
                break


def _needed(branch: Branch, system: float) -> float:
    """The V that an ignition fires from: its own where they are written."""
    needs = branch.item.needs if isinstance(branch.item, Element) else None
    return laws().cranking_share * branch.made_for(system) if needs is None else needs


def _told(study: Study, branch: Branch, point: OperatingPoint) -> Finding | None:
    """Too little on a warm battery is a warning; too little on a cold one alone is a note."""
    hard, needed = study.hard_start, _needed(branch, study.harness.volts)
    warm = abs(point.across(branch.key))
    if warm - hard.most_lost(point) >= needed:
        return None
    cold, first = (_gets(at, branch) for at in (hard.on_cold(point), hard.at_first(point)))
    gets, when = (warm, "") if warm < needed else (cold, " on a cold battery")
    if gets is None or gets >= needed:
        return None
    texts = apart(Quantity(gets, "V"), Quantity(needed, "V"))
    harder = (("across the ignition, battery at -18 degC", cold), ("across the ignition at the first moment", first))
    return Finding(
        rule=RULE.name,
        level=Level.NOTE if when else Level.WARNING,
        message=f"{branch.key} gets {texts[0]} while the starter turns{when} and needs {texts[1]} to fire",
        span=branch.span,
        about=(branch.part,),
        state=point.state,
        path=tuple(b.key for b, _ in point.connectivity.losses(branch.key)),
        figures=(
            Figure("across the ignition", warm, "V"),
            Figure("needed", needed, "V"),
            Figure("battery while cranking", battery_volts(point), "V"),
            *(Figure(label, volts, "V") for label, volts in harder if volts is not None),
        ),
        source=f"{law_source('cranking_share')}; cold: {battery_figure('cold_resistance').cited}; "
        f"first moment: {battery_figure('starter_inrush').cited}",
        remedy="charge the battery and test it under load before winter; clean and tighten its terminals and grounds"
        if when
        else "fit a battery of less resistance or thicker starter cables, or shorten the feed to "
        f"{branch.key}: measure first where the voltage is lost",
    )


def _gets(point: OperatingPoint | None, branch: Branch) -> float | None:
    return None if point is None else abs(point.across(branch.key))


RULE = Rule(
    name="cranking-brownout",
    level=Level.WARNING,
    family="stop",
    stage=Stage.CONSEQUENCE,
    catches="an ignition below 0.67 of nominal volts in a cranking state; on a cold battery alone: a note",
    why="""The starter takes a hundred amps and pulls the battery down by two or three volts, and what else is lost on
    the way to the ignition comes on top. The engine then turns well and never fires; it starts when pushed. A rider who
    does not know of this changes plugs and coils for a season. At -18 degC a battery's
    resistance is about doubled.""",
    source="0.67 of nominal volts: ours; twice the resistance at -18 degC: from the limit of SAE J537",
    formula="found where volts across the ignition < 0.67 of nominal volts, or than it `needs` where that is written, "
    "engine cranking; as a note where that holds with the battery's resistance doubled only",
    cautions="Crank in neutral, with the bike on its stand and nobody in front of it.",
    find=find,
)
