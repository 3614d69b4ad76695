"""A dynamo that the battery can drive as a motor."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Source
from ...behaviour import AtPole
from ...behaviour.properties import shown_for_sure
from ...findings.finding import Finding, Level
from ...logic import BATTERY
from ...logic.counterexample import about_path, found
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    logic = study.logic
    protection = study.protection
    for supply in logic.circuit.supplies:
        with study.judging(supply.name):
            part = study.harness.parts.get(supply.name)
            if not isinstance(part, Source) or part.what != "dynamo":
                continue
            pole = protection.feed_pole(supply)
            fed = AtPole(pole, True, BATTERY)
            scope = logic.scope(fed)
            shown = shown_for_sure(logic, scope, fed.table(scope) & scope.counted)
            if shown is None:
                continue
            path = logic.feed(shown, pole, True, BATTERY)
            written = "as in `cut-out 6.4 V: D B`, the dynamo first"
            if logic.circuit.return_sign == "+":
                written = "as in `cut-out 6.4 V: B D`, with a positive ground the battery's side first"
            yield found(
                RULE.name,
                RULE.level,
                f"nothing keeps the battery from driving {supply.name} as a motor: there is no cut-out between them",
                part.shown_at(supply.span),
                about=(supply.name, *about_path(logic, path)),
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
