"""A regulator that does not feel the battery's volts."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import Proposal, SwapWords
from ....lang.model.parts import Regulator
from ....lang.quantities.quantity import shown
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import law_source, laws


def find(study: Study) -> Iterator[Finding]:
    limit = laws().sense_error_volts
    batteries = [s for s in study.circuit.supplies if s.kind == "battery"]
    if not batteries:
        return
    for part in study.harness.parts.values():
        if not isinstance(part, Regulator) or part.sense is None:
            continue
        top, bottom = (f"{part.name}.{terminal}" for terminal in part.sense)
        known = study.operation.network.index
        if top not in known or bottom not in known:
            continue
        worst = None
        for point in study.operation.points.values():
            if point.engine != "running" or point.momentary or not point.flow.situation.machines:
                continue
            felt = point.volts(top) - point.volts(bottom)
            battery = point.across(batteries[0].name)
            if abs(felt - battery) > limit and (worst is None or abs(felt - battery) > abs(worst[0] - worst[1])):
                worst = (felt, battery, point)
        if worst is None:
            continue
        felt, battery, point = worst
        turned = abs(felt + battery) <= limit
        first, second = part.sense
        wrong = (
            f"{part.name} senses {shown(felt)} V while {batteries[0].name} has {shown(battery)} V: "
            "it regulates to the wrong voltage"
        )
        if turned:
            wrong = f"the sense terminals of {part.name} are the wrong way round: {top} is taken as the + side"
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=wrong,
            span=part.span,
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("at the sense terminals", felt, "V"),
                Figure("battery", battery, "V"),
                Figure("allowed difference", limit, "V"),
            ),
            source=str(law_source("sense_error_volts")),
            remedy="look at the ground first: where it is the positive pole, the frame's side is +"
            if turned
            else f"connect {top} and {bottom} to the battery by wires that carry nothing else",
            proposals=(
                Proposal(
                    f"write `sense: {second} {first}`, the + side first",
                    (SwapWords(part.name, "sense", first, second),),
                ),
            )
            if turned
            else (),
        )


RULE = Rule(
    name="sense-error",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="volts at a regulator's sense terminals that differ from the battery's by over 0.3 V in a riding state",
    why="""A regulator holds steady what it feels. Where it feels the far end of a wire that feeds lamps as well, it
    feels too little and drives the battery up by as much: at 15 V a battery boils dry and lamps die young. Half a volt
    in an old key is enough. A sense lead that hangs free is worse: the machine then gives all it can.""",
    source="0.3 V: ours",
    formula="found where |volts between the sense terminals - volts of the battery| > 0.3 V, engine running",
    cautions="An overcharged battery gives off explosive gas and acid; stop the engine if it swells or smells.",
    find=find,
)
