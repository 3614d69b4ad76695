"""An ignition whose voltage is too low while the starter turns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, Load, Unit
from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.drops import thicker_for_drop
from ...operation.load_status import battery_volts
from ...rule import Rule
from ...study import Study
from ...tables.batteries import battery_figure, load_test_volts
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
        points = (
            each
            for each in study.operation.left_before.ways
            if each[0].engine == "cranking" and each[0].connectivity.joined(branch.key, series=True)
        )
        found = [low for point, history in points if (low := _too_low(study, branch, point, history)) is not None]
        if found:  # what is so with a warm battery is reported before what only a cold one does
            yield max(found, key=lambda each: each.level)


def _needed(branch: Branch, system: float) -> float:
    """The V that an ignition fires from: its own where they are written."""
    needs = branch.item.needs if isinstance(branch.item, Element) else None
    return laws().cranking_share * branch.made_for(system) if needs is None else needs


def _too_low(study: Study, branch: Branch, point: OperatingPoint, history: str) -> Finding | None:
    """Too low on a warm battery is a warning; too low on a cold one alone is a note."""
    hard, needed = study.hard_start, _needed(branch, study.harness.volts)
    warm = abs(point.across(branch.key))
    if warm - hard.most_lost(point) >= needed:
        return None
    cold, first = (_gets(at, branch) for at in (hard.on_cold(point), hard.at_first(point)))
    gets, case = (warm, "warm") if warm < needed else (cold, "cold")
    if gets is None or gets >= needed:
        return None
    posts, losses = battery_volts(point), point.connectivity.losses(branch.key)
    battery = next((s.name for s in point.connectivity.sources if s.kind == "battery"), "")
    tested = load_test_volts(study.harness.volts)
    thicker = thicker_for_drop(study, losses, posts - needed, warm) if case == "warm" and posts >= tested else ()
    fix = "posts" if posts < tested else "needs" if posts < needed else "drop" if thicker else "warm"
    harder = (("across the ignition, battery at -18 degC", cold), ("across the ignition at the first moment", first))
    return RULE.found(
        case,
        branch.span,
        facts={
            "ignition": branch.key,
            "volts": Quantity(gets, "V"),
            "needed": Quantity(needed, "V"),
            "history": history,
            "battery": battery,
            "posts": Quantity(posts, "V"),
            "load_test": Quantity(tested, "V"),
        },
        level=Level.NOTE if case == "cold" else Level.WARNING,
        about=(branch.part,),
        state=point.state,
        path=tuple(b.key for b, _ in losses),
        proposals=thicker,
        fix=case if case == "cold" else fix,
        figures=(
            Figure("across the ignition", warm, "V"),
            Figure("needed", needed, "V"),
            Figure("battery while cranking", posts, "V"),
            *(Figure(label, volts, "V") for label, volts in harder if volts is not None),
        ),
        source=f"{law_source('cranking_share')}; cold: {battery_figure('cold_resistance').cited}; "
        f"first moment, the starter drawing twice its current: {battery_figure('starter_inrush').cited}",
    )


def _gets(point: OperatingPoint | None, branch: Branch) -> float | None:
    return None if point is None else abs(point.across(branch.key))


RULE = Rule(
    name="cranking-brownout",
    level=Level.WARNING,
    family="stop",
    stage=Stage.CONSEQUENCE,
    catches="an ignition below 0.67 of the nominal voltage in a cranking state; on a cold battery only: a note",
    why="""The starter draws a hundred amperes and pulls the battery down by two or three volts, and the drop along the
    feed of the ignition adds to that. The engine then turns well and never fires; it starts when pushed. Riders who do
    not know this change plugs and coils for a season. At -18 degC a battery has about twice its internal
    resistance.""",
    source="0.67 of the nominal voltage: Loomwright's limit; twice the resistance at -18 degC: from the limit of "
    "SAE J537",
    formula="found where the voltage across the ignition < 0.67 of nominal, or less than its `needs` where that is "
    "written, "
    "engine cranking; as a note where that holds only with the battery's resistance doubled",
    cautions="Crank in neutral, with the motorcycle on its stand and nobody in front of it.",
    says={
        "warm": "{ignition} has {volts} across it while the starter turns[ with {history}], and needs {needed} to fire",
        "cold": "{ignition} has {volts} across it while the starter turns on a cold battery[ with {history}], and "
        "needs {needed} to fire",
    },
    fixes={
        "posts": "charge {battery} and load it at half its cold-cranking current for 15 s at 20 degC; replace it where "
        "it falls below {load_test} (less in the cold): it has only {posts} at its posts while cranking, and thicker "
        "wires cannot raise that",
        "needs": "fit an ignition that fires from less than {posts}, which is what {battery} has at its posts while "
        "cranking, or correct `needs` of {ignition}",
        "drop": "measure the drop across its joints and contacts while cranking, and repair first what drops over "
        "0.1 V",
        "warm": "measure the voltage drop along the feed of {ignition} while cranking, and feed it by a relay near "
        "{battery} where contacts drop more than its wires",
        "cold": "charge the battery and test it under load before winter; clean and tighten its terminals and grounds",
    },
    find=find,
)
