"""A pump that goes on when the engine has stopped."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Element
from ..behaviour import AllOf, In, Joined, Question
from ..conduction.evidence import found
from ..conduction.keys import engine
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    controls = examination.circuit.controls
    # With the engine off no pick-up gives a signal, and what an output holds after the last one ends by itself.
    silent = tuple(In(name, (c.rest,)) for name, c in controls.items() if c.free and not c.switches)
    dangers: list[tuple[Question, str]] = [(AllOf((engine("off"), *silent)), "with the engine off")]
    if "tilt" in controls:
        dangers.append((In("tilt", ("fallen",)), "with the machine fallen over"))
    for branch in conduction.consumers:
        if not isinstance(branch.item, Element) or branch.item.what != "pump":
            continue
        for while_, when in dangers:
            live = Joined(branch.key)
            scope = conduction.scope(live, while_)
            shown = conduction.show(scope, live.table(scope) & while_.table(scope) & scope.counted & scope.lasting)
            if shown is None:
                continue
            yield found(
                RULE.name,
                RULE.level,
                f"{branch.key} runs on" + ("" if shown.shown else f" {when}"),
                branch.span,
                about=(branch.part,),
                shown=shown,
                path=conduction.loop(shown, branch),
                source=RULE.source,
                remedy=f"feed {branch.key} from an output that is on while the engine turns and `holds` a few "
                "seconds; fit a tilt "
                "switch",
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
