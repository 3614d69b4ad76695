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
        yield RULE.found(
            "reversed",
            supply.span,
            facts={
                "battery": supply.name,
                "terminal": wrong,
                "ground": body,
                "polarity": grounded,
                "other": other,
            },
            about=(supply.name, body),
            path=(wrong, body),
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
    catches="a battery the wrong way round: the pole on the ground is not the one that `system` names",
    why="""The diodes of the alternator are a short circuit for a battery that is connected the wrong way round, and
    every control unit and LED is fed backwards. At best the main fuse blows; without one the charging lead burns.
    Filament lamps work as before, and a starter with a wound field turns as before, so that it is noticed late; a
    starter with permanent magnets turns backwards.""",
    source="Loomwright's analysis: the ground that `system` states is compared with what copper, fuses and "
    "ammeters connect",
    cautions="""Disconnect both leads of the battery before anything else. Test what was fed backwards (rectifier,
    control units, LEDs) on a bench before you use it again.""",
    says={
        "reversed": "{battery} is the wrong way round: {terminal} is connected to {ground}, and the system has a "
        "{polarity} ground",
    },
    fixes={"reversed": "or write `system … V {other} ground`, where the motorcycle has a {other} ground"},
    find=find,
)
