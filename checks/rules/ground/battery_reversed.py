"""A battery that is connected the wrong way round."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import swap
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    copper, circuit = study.copper, study.circuit
    grounded = study.harness.grounded
    for supply in circuit.supplies:
        if supply.kind != "battery":
            continue
        plus, minus = supply.plus[0], supply.minus
        right, wrong = (minus, plus) if circuit.return_sign == "-" else (plus, minus)
        body = copper.body_at(wrong)
        if not body or copper.body_at(right):
            continue
        other = "positive" if grounded == "negative" else "negative"
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{supply.name} is the wrong way round: {wrong} is connected to {body}, and the system has a "
            f"{grounded} ground",
            span=supply.span,
            about=(supply.name, body),
            path=(wrong, body),
            source=RULE.source,
            remedy=f"or write `system … V {other} ground`, where the motorcycle itself has that",
            proposals=(
                swap(plus, minus)._replace(
                    says=f"swap the wires at {plus} and {minus}: {right} belongs on {body}, {wrong} on the feed"
                ),
            ),
        )


RULE = Rule(
    name="battery-reversed",
    level=Level.ERROR,
    family="ground",
    stage=Stage.SUPPLY,
    root_cause=True,
    catches="a battery with the pole on a ground that the system does not ground, and its other pole on none",
    why="""A battery connected the wrong way round sends its current through the diodes of the alternator, which are a
    short for it, and through every control unit and LED backwards. The main fuse blows at best; without one
    the charging lead burns. Filament lamps and the starter work as before, so that it is noticed late.""",
    source="ours: the ground that `system` states is compared with what copper, fuses and meters connect",
    cautions="""Take both leads off the battery before anything else. What was connected backwards, rectifier, units and
    LEDs, is tested on a bench before it is trusted again.""",
    find=find,
)
