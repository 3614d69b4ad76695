"""An LED on a winding that gives alternating current."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch_types import BranchType, Direction
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    leds = [branch for branch in circuit.branches if branch.branch_type is BranchType.LED]
    if not leds or not any(supply.kind == "winding" for supply in circuit.supplies):
        return
    # Past a rectifier or a separate diode no reverse voltage reaches it: those are left out.
    one_way = [branch.key for branch in circuit.branches if branch.branch_type.joined is Direction.FORWARD]
    behaviour = study.behaviour.without(one_way)
    for branch in leds:
        with study.judging(branch.part):
            shown = behaviour.may(behaviour.connected(branch.key, frozenset({"winding"})))
            if shown is None:
                continue
            yield RULE.found(
                "no-diode",
                branch.span,
                facts={"led": branch.key},
                about=(branch.part,),
                shown=shown,
                path=behaviour.loop(shown, branch),
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
    says={"no-diode": "{led} (LED) has no rectifier or diode between it and an alternating winding"},
    fixes={
        "no-diode": "feed {led} with direct current from a rectifier with a regulator, never from the winding through "
        "a bare diode, and fit a limiter across the winding where the lamps left on it draw little; or fit a filament "
        "lamp in its place, so that the lamps on the winding add up to its power"
    },
    find=find,
)
