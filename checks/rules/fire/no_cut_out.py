"""A dynamo that the battery can drive as a motor."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Source
from ...behaviour import BATTERY
from ...behaviour.counterexample import about_path, found
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    protection = study.protection
    for supply in behaviour.circuit.supplies:
        with study.judging(supply.name):
            part = study.harness.parts.get(supply.name)
            if not isinstance(part, Source) or part.what != "dynamo":
                continue
            pole = protection.feed_pole(supply)
            shown = behaviour.may(behaviour.fed(pole, BATTERY))
            if shown is None:
                continue
            path = behaviour.feed(shown, pole, BATTERY)
            written = "as in `cut-out 6.4 V: D B`, the dynamo first"
            if behaviour.circuit.return_sign == "+":
                written = "as in `cut-out 6.4 V: B D`, with a positive ground the battery's side first"
            yield found(
                RULE.name,
                RULE.level,
                f"nothing keeps the battery from driving {supply.name} as a motor: there is no cut-out between them",
                part.shown_at(supply.span),
                about=(supply.name, *about_path(behaviour, path)),
                shown=shown,
                path=path,
                source=RULE.source,
                remedy=f"fit a regulator with a cut-out between {supply.name} and the battery, {written}; or a diode, "
                "the same "
                "way round",
            )


RULE = Rule(
    name="no-cut-out",
    level=Level.ERROR,
    family="fire",
    catches="a dynamo that the battery feeds past no cut-out and no diode",
    why="""A dynamo at rest is a motor of a fraction of an ohm. The cut-out parts it from the battery whenever it gives
    less than the battery has; without one, or with one that is bypassed, the battery sends tens of amps through its
    armature, through wires and brushes that were made for a few, until it is flat or something burns.""",
    source="common practice, no source",
    formula="found where, in a possible combination, the feed pole of a battery is joined to that of a dynamo",
    cautions="Disconnect the battery, minus first, before you work on what charges it.",
    find=find,
)
