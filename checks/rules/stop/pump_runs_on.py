"""A pump that goes on when the engine has stopped."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Element
from ...behaviour import Question
from ...behaviour.counterexample import found
from ...behaviour.keys import engine
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    tilt = study.circuit.controls.get("tilt")
    output = "an output that is on while the engine turns and `holds` a few seconds"
    dangers: list[tuple[Question, str]] = [(engine("off"), output if tilt else f"{output}; fit a tilt switch")]
    if tilt is not None:
        dangers.append(
            (behaviour.control("tilt", "fallen"), f"a point that {' and '.join(tilt.switches)} cuts off when fallen")
        )
    for branch in behaviour.consumers:
        with study.judging(branch.part):
            if not isinstance(branch.item, Element) or branch.item.what != "pump":
                continue
            for while_, point in dangers:
                # In what lasts: what an output holds after the last pulse ends by itself.
                shown = behaviour.may(behaviour.connected(branch.key), while_, lasting=True)
                if shown is None:
                    continue
                yield found(
                    RULE.name,
                    RULE.level,
                    f"{branch.key} runs on",
                    branch.span,
                    about=(branch.part,),
                    shown=shown,
                    path=behaviour.loop(shown, branch),
                    source=RULE.source,
                    remedy=f"feed {branch.key} from {point}",
                )
                break


RULE = Rule(
    name="pump-runs-on",
    level=Level.WARNING,
    family="stop",
    stage=Stage.FUNCTION,
    catches="a pump live with the engine off beyond what its output holds, or with the machine fallen",
    why="""After a fall a fuel pump that runs on feeds the fire. It should stop some seconds after the last spark by
    itself, whatever the key says. Work on fuel lines only with the battery off and no flame near.""",
    source="common practice, no source",
    find=find,
)
