"""Connectors, fuse holders, relays and splices that are not sealed at a wet place."""

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
        yield RULE.found(
            "fuse" if isinstance(part, Fuse) else "part",
            part.span,
            facts={"part": part.name, "kind": part.kind, "place": part.place},
            fix="move",
            about=(part.name,),
            proposals=(Proposal(_sealed(part), (AddWords(part.name, "sealed"),)),),
        )


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
    why="""Water in an unsealed plug corrodes the fed pin through within a season and leaks current between the ways.
    A fuse holder corrodes too and heats up, as do a relay's contacts and socket; a bare splice draws water into the
    strands of its wires, which turn green as far as the next plug. Tape does not keep water out; heat-shrink with
    adhesive does.""",
    source="common practice, no source",
    cautions="Water in a live plug corrodes it within weeks and can conduct between its ways: disconnect the "
    "battery before you open one that is wet.",
    says={
        "part": "{kind} {part} is not sealed, and water reaches {place}",
        "fuse": "the holder of fuse {part} is not sealed, and water reaches {place}",
    },
    fixes={"move": "or move it to a dry place"},
    find=find,
)
