"""A pump that goes on when the engine has stopped."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Element
from ...behaviour import In, Joined, Question
from ...behaviour.properties import shown_for_sure
from ...findings.finding import Finding, Level
from ...logic.counterexample import found
from ...logic.keys import engine
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    logic = study.logic
    tilt = study.circuit.controls.get("tilt")
    output = "an output that is on while the engine turns and `holds` a few seconds"
    dangers: list[tuple[Question, str]] = [(engine("off"), output if tilt else f"{output}; fit a tilt switch")]
    if tilt is not None:
        dangers.append((In("tilt", ("fallen",)), f"a point that {' and '.join(tilt.switches)} cuts off when fallen"))
    for branch in logic.consumers:
        with study.judging(branch.part):
            if not isinstance(branch.item, Element) or branch.item.what != "pump":
                continue
            for while_, point in dangers:
                live = Joined(branch.key)  # in what lasts: what an output holds after the last pulse ends by itself
                scope = logic.scope(live, while_)
                shown = shown_for_sure(
                    logic, scope, live.table(scope) & while_.table(scope) & scope.counted & scope.lasting
                )
                if shown is None:
                    continue
                yield found(
                    RULE.name,
                    RULE.level,
                    f"{branch.key} runs on",
                    branch.span,
                    about=(branch.part,),
                    shown=shown,
                    path=logic.loop(shown, branch),
                    source=RULE.source,
                    remedy=f"feed {branch.key} from {point}",
                )
                break


RULE = Rule(
    name="pump-runs-on",
    level=Level.WARNING,
    family="stop",
    catches="a pump live with the engine off beyond what its output holds, or with the machine fallen",
    why="""After a fall a fuel pump that runs on feeds the fire. It should stop some seconds after the last spark by
    itself, whatever the key says. Work on fuel lines only with the battery off and no flame near.""",
    source="common practice, no source",
    find=find,
)
