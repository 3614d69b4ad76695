"""Two wires in one way of a sealed connector."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ....lang.model.parts import Connector
from ...findings.finding import Figure, Finding, Level
from ...fixes.new_parts import spliced
from ...rule import Rule
from ...study import Study

MOST = 1
"""Wires that one seal closes on."""


def find(study: Study) -> Iterator[Finding]:
    sealed = [p for p in study.harness.parts.values() if isinstance(p, Connector) and p.sealed]
    for part in sealed:
        for half in (End(part.name, f"{way}{gender}") for way in part.numbers for gender in "sp"):
            segments = study.circuit.pieces_at(half)
            if len(segments) <= MOST:
                continue
            wires = tuple(dict.fromkeys(segment.wire for segment in segments))
            fix = spliced(study, half)
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{len(segments)} wires end in sealed way {half}; its seal closes on one",
                span=segments[-1].span,
                about=(part.name, *wires),
                figures=(Figure("wires", len(segments), ""), Figure("in one seal", MOST, "")),
                source=RULE.source,
                remedy=""
                if fix
                else f"find out what wires {', '.join(wires)} carry together: joined at a splice behind {part.name}, "
                f"one wire enough for all of it belongs in {half}",
                proposals=(fix,) if fix else (),
            )


RULE = Rule(
    name="crowded-seal",
    level=Level.WARNING,
    family="workmanship",
    catches="more than one wire in a way of a sealed connector",
    why="""The rubber seal of a way closes on one round wire. Beside two it leaves a gap, water gets in and stays, and
    the sealed plug keeps it there: it corrodes faster than an open one.""",
    source="common practice, no source",
    formula="found where more than one wire ends at one half of a way of a connector that is `sealed`",
    cautions="Take the battery's grounded lead off before a plug is opened.",
    find=find,
)
