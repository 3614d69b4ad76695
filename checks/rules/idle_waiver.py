"""A waiver that covers nothing."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.messages import nearest
from ...lang.model import Harness, Waiver
from ...lang.proposals import DropLine, Proposal
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    if not examination.harness.waivers:
        return
    from ..runner import covers, rule_named

    for waiver in examination.harness.waivers:
        if rule_named(waiver.rule, examination.own_rules) is None:
            continue  # one of the user's own that are not run: the report says that
        if unknown := [name for name in waiver.names if name not in _things(examination.harness)]:
            near = nearest(unknown[0], _things(examination.harness))
            message = f"no part or wire is named {unknown[0]}, so this waiver does not cover it"
            remedy = f"write {near}, the nearest name" if near else "name parts and wires as the text does"
            yield _idle(waiver, Level.WARNING, message, remedy)
        elif waiver.until is not None and waiver.until < examination.today:
            continue  # said as expired already
        elif not any(covers(waiver, finding, examination.own_rules) for finding in examination.found):
            where = f" in {waiver.state}" if waiver.state else ""
            message = f"nothing that {waiver.rule} finds is about {', '.join(waiver.names)}{where}"
            yield _idle(waiver, Level.NOTE, message, "take the waiver out", drop=True)


def _things(harness: Harness) -> tuple[str, ...]:
    return (*harness.parts, *harness.wires, *(piece.name for piece in harness.pieces))


def _idle(waiver: Waiver, level: Level, message: str, remedy: str, *, drop: bool = False) -> Finding:
    return Finding(
        rule=RULE.name,
        level=level,
        message=message,
        span=waiver.span,
        about=waiver.names,
        source=RULE.source,
        remedy=remedy,
        proposals=(Proposal(remedy, (DropLine(waiver.span.file, waiver.span.line),)),) if drop else (),
    )


RULE = Rule(
    name="idle-waiver",
    level=Level.WARNING,
    family="honesty",
    catches="a waiver that matches nothing: note; one that names no known thing: warning",
    why="""A waiver that covers nothing any more waits to hide the next fault of the same kind. One with a mistyped
    name never covered what its writer thought.""",
    source="ours",
    find=find,
)
