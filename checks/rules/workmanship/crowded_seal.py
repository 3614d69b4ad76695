"""Two wires in one way of a sealed connector, or of a sealed housing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.ids import End
from ....lang.model.parts import Connector
from ...findings.finding import Figure, Finding, Level
from ...fixes.new_parts import spliced
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.model.harness import Harness

MOST = 1
"""Wires that fit one seal."""


def find(study: Study) -> Iterator[Finding]:
    for part, half in _sealed_ways(study.harness):
        segments = study.circuit.pieces_at(half)
        if len(segments) <= MOST:
            continue
        wires = tuple(dict.fromkeys(segment.wire for segment in segments))
        fix = spliced(study, half)
        yield RULE.found(
            "crowded",
            segments[-1].span,
            facts={"way": half, "part": part, "wires": wires, "count": len(segments)},
            fix=None if fix else "join",
            about=(part, *wires),
            figures=(Figure("wires", len(segments), ""), Figure("in one seal", MOST, "")),
            proposals=(fix,) if fix else (),
        )


def _sealed_ways(harness: Harness) -> Iterator[tuple[str, End]]:
    """The ways through a seal, each with its part: halves of sealed connectors, terminals in a sealed housing."""
    for part in harness.parts.values():
        if isinstance(part, Connector) and part.sealed:
            for way in part.numbers:
                yield from ((part.name, End(part.name, f"{way}{half}")) for half in "sp")
    for housing in harness.fitting.housings:
        if housing.sealed:
            yield from ((housing.part, End(housing.part, t)) for t in harness.parts[housing.part].terminals)


RULE = Rule(
    name="crowded-seal",
    level=Level.WARNING,
    family="workmanship",
    catches="more than one wire in a way of a sealed connector or housing",
    why="""The rubber seal of a way fits one round wire. Round two wires it leaves a gap; water gets in and cannot
    drain, and the contacts corrode faster than in an open plug.""",
    source="common practice, no source",
    formula="found where more than one wire ends at one half of a way of a connector that is `sealed`, or at a "
    "terminal of a part whose `housing` is",
    cautions="Take the battery's grounded lead off before a plug is opened.",
    says={"crowded": "{count} wires end in sealed way {way}, and its seal fits one"},
    fixes={
        "join": "find out what {wires:wire} {wires:carries|carry} together; join them in a splice sealed with "
        "adhesive-lined heat-shrink behind {part}, and run one wire thick enough for all of it to {way}",
    },
    find=find,
)
