"""A connector that is not of a type that the shop uses."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Connector
from ....lang.model.statements import HouseConnector
from ....lang.quantities.quantity import shown
from ...findings.finding import Figure, Finding, Level
from ...fixes.house_connectors import is_of
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    families = study.harness.house.connectors
    if not families:
        return
    types = tuple(dict.fromkeys(_words(each) for each in families))
    for part in study.harness.parts.values():
        if not isinstance(part, Connector) or part.kept or any(is_of(part, each) for each in families):
            continue
        fitting = next((_words(each) for each in families if _can_replace(each, part)), "")
        yield RULE.found(
            "other-type",
            part.span,
            facts={"connector": part.name, "type": _words(part), "types": types, "fitting": fitting},
            fix="fit" if fitting else "declare",
            about=(part.name,),
            figures=(Figure("way's rating", part.amps, "A"),) if part.amps else (),
            source=f"this shop's `house connector` line, {families[0].span.file}:{families[0].span.line}",
        )


def _can_replace(family: HouseConnector, part: Connector) -> bool:
    """Whether a type can take a connector's place: not with fewer ways, a lower rating or without its seal."""
    return (
        (family.ways is None or family.ways >= part.ways)
        and (family.amps is None or part.amps is None or family.amps >= part.amps)
        and family.sealed >= part.sealed
    )


def _words(what: Connector | HouseConnector) -> str:
    """A type as a `house connector` line states it."""
    words = [f"{what.ways} ways"] if what.ways is not None else []
    words += [f"{shown(what.amps)} A"] if what.amps is not None else []
    return " ".join((*words, "sealed" if what.sealed else "open"))


RULE = Rule(
    name="house-connector",
    level=Level.WARNING,
    family="workmanship",
    catches="a connector that is not of a type that the shop uses",
    why="""Each family of connectors needs its own contacts and its own crimping pliers; a crimp made with the wrong
    ones looks good and corrodes or pulls out later. A shop states the types that it has tools and spares for; any
    other is a slip in the text, or a purchase that is still to be made. A connector that is kept from an old harness
    is not checked.""",
    source="the shop's own `house connector` lines; without such a line nothing is checked",
    formula="found where ways, rating of a way, and sealed or open, as far as a type states them, fit no type",
    says={"other-type": "{connector} ({type}) is not a type that this shop uses: {types}"},
    fixes={
        "fit": "fit a connector of {fitting} at {connector}, or write a `house connector` line for this type",
        "declare": "write a `house connector` line for this type: no type that this shop uses has its ways, its rating "
        "and its seal",
    },
    cautions="Pull at every crimp by hand before the loom is closed.",
    find=find,
)
