"""A stop lead that battery volts can reach."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Load, Unit
from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for part in study.harness.parts.values():
        with study.judging(part.name):
            if not isinstance(part, (Load, Unit)) or part.stop_lead is None:
                continue
            lead = f"{part.name}.{part.stop_lead[0]}"
            shown = behaviour.may(behaviour.fed(lead))
            if shown is None:
                continue
            yield found(
                RULE.name,
                Level.ERROR,
                f"the stop lead {lead} is joined to a feed",
                part.span,
                about=(part.name,),
                shown=shown,
                path=behaviour.feed(shown, lead),
                source=RULE.source,
                remedy=f"disconnect from {lead} whatever feeds it, found along the path above; connect it to nothing "
                "but the "
                "contact that grounds it",
            )


RULE = Rule(
    name="fed-stop-lead",
    level=Level.ERROR,
    family="stop",
    stage=Stage.TOPOLOGY,
    catches="a stop lead joined to a feed pole in some combination",
    why="""The stop lead of a magneto box is the end of its own coil or the gate of its switch, made to be
    grounded. Battery volts on it destroy the box at once, and the engine with it stands until a new one is
    found.""",
    source="common practice, no source",
    find=find,
)
