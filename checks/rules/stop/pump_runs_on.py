"""A pump that keeps running when the engine has stopped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.model.parts import Element
from ...behaviour import Question
from ...behaviour.keys import engine
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    tilt = study.circuit.controls.get("tilt")
    dangers: list[tuple[Question, str]] = [(engine("off"), "output" if tilt else "output-and-tilt")]
    if tilt is not None:
        dangers.append((behaviour.control("tilt", "fallen"), "tilt"))
    for branch in behaviour.consumers:
        with study.judging(branch.part):
            if not isinstance(branch.item, Element) or branch.item.what != "pump":
                continue
            for while_, fix in dangers:
                # In what lasts: what an output holds after the last pulse ends by itself.
                shown = behaviour.may(behaviour.connected(branch.key), while_, lasting=True)
                if shown is None:
                    continue
                yield RULE.found(
                    "runs",
                    branch.span,
                    facts={"pump": branch.key, "switches": tuple(tilt.switches) if tilt else ()},
                    about=(branch.part,),
                    shown=shown,
                    path=behaviour.loop(shown, branch),
                    fix=fix,
                )
                break


OUTPUT: Final = "feed {pump} from an output that is on while the engine turns and `holds` a few seconds"


RULE = Rule(
    name="pump-runs-on",
    level=Level.WARNING,
    family="stop",
    stage=Stage.FUNCTION,
    catches="a pump that stays live with the engine off, longer than its output holds, or with the motorcycle fallen",
    why="""After a fall a fuel pump that keeps running feeds the fire. It should stop by itself a few seconds after the
    last spark, in every position of the ignition switch.""",
    source="common practice, no source",
    cautions="Work on fuel lines only with the battery disconnected, their pressure relieved and no flame near.",
    says={"runs": "{pump} keeps running"},
    fixes={
        "output": OUTPUT,
        "output-and-tilt": f"{OUTPUT}; fit a tilt switch",
        "tilt": "feed {pump} from a point that {switches} {switches:cuts|cut} off in a fall",
    },
    find=find,
)
