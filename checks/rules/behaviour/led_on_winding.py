"""An LED on a winding that gives alternating current."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.on_windings import driven_both_ways
from ...rule import Rule
from ...study import Study

WITHSTANDS: Final = 5.0
"""V backwards that LEDs commonly withstand (common practice, no source)."""


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    leds = [branch for branch in circuit.branches if branch.branch_type is BranchType.LED]
    if not leds or not any(supply.kind == "winding" for supply in circuit.supplies):
        return
    # Past a rectifier or a separate diode no reverse voltage reaches it: those are left out.
    one_way = [branch.key for branch in circuit.branches if branch.branch_type.joined is Direction.FORWARD]
    behaviour = study.behaviour.without(one_way)
    told = set()
    for branch in leds:
        with study.judging(branch.part):
            shown = behaviour.may(behaviour.connected(branch.key, frozenset({"winding"})))
            if shown is None:
                continue
            told.add(branch.key)
            yield RULE.found(
                "no-diode",
                branch.span,
                facts={"led": branch.key},
                about=(branch.part,),
                shown=shown,
                path=behaviour.loop(shown, branch),
            )
    yield from _backwards(study, [branch for branch in leds if branch.key not in told])


def _backwards(study: Study, leds: Iterable[Branch]) -> Iterator[Finding]:
    """Those that a winding drives backwards in a solved state, by whatever way: through a lamp, or past a diode."""
    for branch in leds:
        points = [point for point in study.operation.loaded_points if point.flow.peaks(branch)[1] > WITHSTANDS]
        each = ((point.flow.peaks(branch)[1], point) for point in points if driven_both_ways(point, branch))
        volts, worst = max(each, key=lambda pair: pair[0], default=(0.0, None))
        if worst is not None:
            yield RULE.found(
                "backwards",
                branch.span,
                facts={
                    "led": branch.key,
                    "voltage": Quantity(volts, "V"),
                    "limit": Quantity(WITHSTANDS, "V"),
                    "with": tuple(f"{name} {at}" for name, at in worst.differing),
                },
                about=(branch.part,),
                state=worst.state,
                figures=(Figure("backwards", volts, "V"), Figure("withstands", WITHSTANDS, "V")),
            )


RULE = Rule(
    name="led-on-winding",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="an LED that contacts connect to both ends of an alternating winding, with no rectifier or diode between",
    why="""An LED conducts during one half of each wave and blocks the other half, and a winding with few lamps on it
    reaches several times its rated voltage. The LED flickers at idle, is half as bright, and fails when the
    reverse voltage exceeds what it withstands. A diode alone keeps only the reverse voltage away: the peaks of the
    other half of the wave still destroy electronics, so that the feed needs a regulator too.""",
    source="Loomwright's analysis: every combination of the controls",
    cautions="A winding without its lamps can reach several times its rated voltage: measure with every lamp "
    "connected.",
    formula="found   where only contacts are between an LED and a winding, or where it gets more than 5 V backwards in "
    "a solved state",
    says={
        "no-diode": "{led} (LED) has no rectifier or diode between it and an alternating winding",
        "backwards": "{led} (LED) gets {voltage} backwards ({with...}) from an alternating winding: LEDs commonly "
        "withstand {limit}",
    },
    fixes={
        "backwards": "find the way from the winding to {led}, through a lamp or a shared return, and feed {led} with "
        "direct current alone",
        "no-diode": "feed {led} with direct current from a rectifier with a regulator, never from the winding through "
        "a bare diode, and fit a limiter across the winding where the lamps left on it draw little; or fit a filament "
        "lamp in its place, so that the lamps on the winding add up to its power",
    },
    find=find,
)
