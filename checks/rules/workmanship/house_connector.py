"""A connector of a family that the house does not keep."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

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
    said = ", ".join(dict.fromkeys(_words(each) for each in families))
    for part in study.harness.parts.values():
        if not isinstance(part, Connector) or part.kept or any(is_of(part, each) for each in families):
            continue
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{part.name} ({_words(part)}) is of no family that the house keeps: {said}",
            span=part.span,
            about=(part.name,),
            figures=(Figure("way's rating", part.amps, "A"),) if part.amps else (),
            source=f"the house's own, {families[0].span.file}:{families[0].span.line}",
            remedy=_remedy(part, families),
        )


def _remedy(part: Connector, families: Iterable[HouseConnector]) -> str:
    """The first family that can take the connector's place; one with fewer ways, a lower rating or no seal cannot."""
    line = "write a `house connector` line for this type"
    fitting = next((each for each in families if _can_replace(each, part)), None)
    if fitting is None:
        return f"{line}: no family that the house keeps has its ways, its rating and its seal"
    return f"fit a connector of {_words(fitting)} at {part.name}, or {line}"


def _can_replace(family: HouseConnector, part: Connector) -> bool:
    return (
        (family.ways is None or family.ways >= part.ways)
        and (family.amps is None or part.amps is None or family.amps >= part.amps)
        and family.sealed >= part.sealed
    )


def _words(what: Connector | HouseConnector) -> str:
    words = [f"{what.ways} ways"] if what.ways is not None else []
    words += [f"{shown(what.amps)} A"] if what.amps is not None else []
    return " ".join((*words, "sealed" if what.sealed else "open"))


RULE = Rule(
    name="house-connector",
    level=Level.WARNING,
    family="workmanship",
    catches="a connector of a family that the house does not keep",
    why="""Each family of connectors needs its own contacts, its own pliers and its own practice, and a crimp made with
    the wrong ones looks good until it rains. A shop states the families that it has tools and spares for; another one
    in the harness is a slip, or a purchase that nobody has made yet. A connector that is kept from an old harness is
    not asked.""",
    source="the house's own `house connector` lines; where there are none nothing is said",
    formula="found where ways, rating of a way, and sealed or open, as far as a family states them, fit none of them",
    cautions="Pull at every crimp by hand before the loom is closed.",
    find=find,
)
