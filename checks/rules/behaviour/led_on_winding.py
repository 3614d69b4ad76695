"""An LED on a winding that gives alternating current."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch_types import BranchType, Direction
from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    leds = [branch for branch in circuit.branches if branch.branch_type is BranchType.LED]
    if not leds or not any(supply.kind == "winding" for supply in circuit.supplies):
        return
    # Past a rectifier or a diode of its own no reverse voltage reaches it: those are left out.
    one_way = [branch.key for branch in circuit.branches if branch.branch_type.joined is Direction.FORWARD]
    behaviour = study.behaviour.without(one_way)
    for branch in leds:
        with study.judging(branch.part):
            shown = behaviour.may(behaviour.connected(branch.key, frozenset({"winding"})))
            if shown is None:
                continue
            yield found(
                RULE.name,
                RULE.level,
                f"{branch.key} (LED) is on a winding that gives alternating current, with no diode before it",
                branch.span,
                about=(branch.part,),
                shown=shown,
                path=behaviour.loop(shown, branch),
                source=RULE.source,
                remedy="feed it from behind a rectifier, or fit a filament lamp",
            )


RULE = Rule(
    name="led-on-winding",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="an LED that contacts connect to both ends of an alternating winding, with no rectifier or diode between",
    why="""An LED conducts one half of each wave and has the other half against it, and a winding with few lamps on it
    gives several times its voltage. It flickers at tick-over, shines with half its light, and fails when that
    reverse voltage passes what it withstands.""",
    source="ours: every combination of the controls is gone through",
    cautions="A winding without its lamps can give several times its voltage: measure with every lamp connected.",
    find=find,
)
