"""A resistor that turns more watts into heat than it is rated for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Resistor
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import exceeds
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.workmanship import resistor_for

if TYPE_CHECKING:
    from ...operation.peaks import Peak


def find(study: Study) -> Iterator[Finding]:
    for branch in study.circuit.branches:
        part = study.harness.parts.get(branch.part)
        if branch.branch_type is not BranchType.RESISTOR or not isinstance(part, Resistor):
            continue
        if not part.watts or not part.ohms:
            continue  # `not-judged` lists it
        loading = study.operation.loading(branch.key)
        for case, peak in (("continuous", loading.continuous), ("short-time", loading.held)):
            heat = peak.amps**2 * part.ohms
            if exceeds(heat, part.watts, ROUNDING):
                yield _finding(part, peak, heat, case)
                break


ROUNDING = 1e-6
"""What a solution may be off: a resistor that carries just what it is rated for is no fault."""


def _finding(part: Resistor, peak: Peak, heat: float, case: str) -> Finding:
    assert part.watts is not None  # noqa: S101 -- it was judged by them
    return RULE.found(
        case,
        part.span,
        facts={
            "part": part.name,
            "heat": Quantity(heat, "W"),
            "rating": Quantity(part.watts, "W"),
            "needed": Quantity(resistor_for(heat), "W"),
        },
        level=Level.ERROR if case == "continuous" else Level.WARNING,
        about=(part.name,),
        state=peak.state,
        combination=peak.combination,
        figures=(
            Figure("current", peak.amps, "A"),
            Figure("heat", heat, "W"),
            Figure("rating", part.watts, "W"),
        ),
        fix="watts",
    )


RULE = Rule(
    name="overheated-resistor",
    level=Level.ERROR,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a resistor that dissipates more power than it is rated for",
    why="""A resistor for LED turn lamps, a field or a ballast turns the power that it draws into heat. Above its rating
    it discolours, burns its neighbours in the loom and then burns out; 25 W are as hot as a soldering iron even within
    the rating, where the part is not mounted on metal. The resistance alone does not show it: 10 ohm on 12.5 V is
    15.6 W.""",
    source="the rating in the harness's own text",
    formula="""found where I^2 R > rated W, I the root of the mean square in the named states and the worst combination:
error with momentary controls at rest, warning where only while one is held, or the engine cranks""",
    cautions="A load resistor within its rating still reaches 100 degC and more: on metal, clear of wires and plastic.",
    says={
        "continuous": "{part} dissipates {heat}, rated {rating}",
        "short-time": "{part} dissipates {heat} while a control is held, rated {rating}",
    },
    fixes={
        "watts": "fit one of {needed} or more in place of {part}, on metal; or one of higher resistance, if what it "
        "works on allows that"
    },
    find=find,
)
