"""A way of a sealed connector that holds no wire and is not said to be empty."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ....lang.model.parts import Connector
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    wet = {place.name for place in harness.places.values() if place.wet}
    for part in harness.parts.values():
        if not isinstance(part, Connector) or not part.sealed:
            continue
        wired = {way for way in part.terminals if any(study.circuit.pieces_at(End(part.name, way + h)) for h in "sp")}
        empty = tuple(way for way in part.terminals if way not in wired and way not in part.spare)
        if wired and empty:
            is_wet = part.place in wet
            yield RULE.found(
                "wet" if is_wet else "dry",
                part.span,
                facts={
                    "connector": part.name,
                    "ways": empty,
                    "place": part.place or "",
                },
                level=Level.WARNING if is_wet else Level.NOTE,
                about=(part.name,),
            )


_CLOSE = (
    "find out whether a wire belongs at {ways:way}; where none does, fit a blanking plug in each half of {connector}, "
    "and write `spare:` with it in the block"
)

RULE = Rule(
    name="open-way",
    level=Level.WARNING,
    family="workmanship",
    catches="a sealed connector with ways that hold no wire and are not said to be spare",
    why="""The seal of an empty way closes on nothing: water comes in through it and stays between the contacts of all
    the others. A blanking plug in each half closes it; a way that is empty by mistake is found before the plug is.""",
    source="common practice, no source",
    cautions="Take the battery's grounded lead off before a plug is opened.",
    says={
        "dry": "sealed connector {connector} has no wire in {ways:way}",
        "wet": "sealed connector {connector} has no wire in {ways:way}, and water reaches {place}",
    },
    fixes=dict.fromkeys(("dry", "wet"), _CLOSE),
    find=find,
)
