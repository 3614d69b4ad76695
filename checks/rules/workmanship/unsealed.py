"""Connectors, fuse holders, relays and splices that are not sealed where water comes."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import AddWords, Proposal
from ....lang.model.parts import Connector, Fuse, Relay, Splice
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    wet = {place.name for place in harness.places.values() if place.wet}
    for part in harness.parts.values():
        if part.place not in wet or not isinstance(part, Connector | Fuse | Relay | Splice) or part.sealed:
            continue
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{_what(part)} is not sealed, and water reaches {part.place}",
            span=part.span,
            about=(part.name,),
            source=RULE.source,
            remedy="or move it to a drier place",
            proposals=(Proposal(_sealed(part), (AddWords(part.name, "sealed"),)),),
        )


def _what(part: Connector | Fuse | Relay | Splice) -> str:
    return f"the holder of fuse {part.name}" if isinstance(part, Fuse) else f"{part.kind} {part.name}"


def _sealed(part: Connector | Fuse | Relay | Splice) -> str:
    match part:
        case Connector():
            return f"fit a sealed connector at {part.name}"
        case Fuse():
            return f"fit a sealed holder at {part.name}, and write `sealed` on its line"
        case Relay():
            return f"fit a sealed relay and socket at {part.name}, and write `sealed` on its line"
        case Splice():
            return f"seal {part.name} with adhesive-lined heat-shrink, and write `sealed` on its line"


RULE = Rule(
    name="unsealed",
    level=Level.WARNING,
    family="workmanship",
    catches="a connector, fuse holder, relay or splice that is not sealed, at a place that water reaches",
    why="""Water in an open plug with current on it eats the fed pin away within a season, and leaks current between
    the ways the whole time. A fuse holder does the same and then gets hot, a relay's contacts and socket corrode,
    and a bare splice draws water into the strands of every wire in it, green as far as the next plug. Tape keeps no
    water out; heat-shrink with adhesive does.""",
    source="common practice, no source",
    find=find,
)
