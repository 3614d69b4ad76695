"""A latch that cannot be set, or cannot be cleared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product

from ...lang.model import All, AnyOf, Condition, Latch, Not, Test, Unit
from ..dependents import engine_depends, outputs_that_ask
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule

MOST = 14
"""So many inputs and latches one latch may ask for before it is not judged (ours: 16,384 cases)."""


def find(examination: Examination) -> Iterator[Finding]:
    for part in examination.harness.parts.values():
        if isinstance(part, Unit):
            for latch in part.latches:
                yield from _of_latch(examination, part, latch)


def _of_latch(examination: Examination, unit: Unit, latch: Latch) -> Iterator[Finding]:
    name = f"{unit.name}.{latch.name}"
    asked = tuple(dict.fromkeys((*_tests(latch.set_when), *_tests(latch.cleared_when))))
    if len({control for control, _ in asked}) > MOST:
        yield _told(
            unit,
            latch,
            Level.NOTE,
            f"latch {name} asks for more than {MOST} things: whether it can be set and cleared was not judged",
            "divide it into two latches",
        )
        return
    cases = [dict(zip(asked, values, strict=True)) for values in product((False, True), repeat=len(asked))]
    sets = [case for case in cases if _holds(latch.set_when, case)]
    clears = [case for case in cases if _holds(latch.cleared_when, case)]
    lasting = [case for case in sets if not _holds(latch.cleared_when, case)]
    # A latch that toggles is cleared by the second press of what set it.
    if lasting and (clears or latch.toggles):
        return
    level = Level.ERROR if engine_depends(examination, unit, outputs_that_ask(unit, latch.name)) else Level.WARNING
    if not sets:
        why, remedy = "can never be set: its condition contradicts itself", f"correct what sets {name}"
    elif not lasting:
        why = "is cleared by whatever sets it"
        remedy = f"let something else clear {name} than what sets it"
    else:
        why, remedy = "can never be cleared: its condition contradicts itself", f"correct what clears {name}"
    yield _told(unit, latch, level, f"latch {name} {why}", remedy)


def _told(unit: Unit, latch: Latch, level: Level, message: str, remedy: str) -> Finding:
    return Finding(
        rule=RULE.name,
        level=level,
        message=message,
        span=unit.shown_at(latch.span),
        about=(unit.name,),
        source=RULE.source,
        remedy=remedy,
    )


def _tests(condition: Condition) -> Iterator[tuple[str, str]]:
    """What a condition asks for: each control or input with the position asked of it."""
    match condition:
        case Test():
            yield condition.control, condition.position
        case Not():
            yield from _tests(condition.term)
        case All() | AnyOf():
            for term in condition.terms:
                yield from _tests(term)


def _holds(condition: Condition, case: Mapping[tuple[str, str], bool]) -> bool:
    match condition:
        case Test():
            return case[condition.control, condition.position]
        case Not():
            return not _holds(condition.term, case)
        case All():
            return all(_holds(term, case) for term in condition.terms)
        case AnyOf():
            return any(_holds(term, case) for term in condition.terms)


RULE = Rule(
    name="latch-stuck",
    level=Level.ERROR,
    family="behaviour",
    catches="a latch whose conditions never let it be set, or never let it be cleared",
    why="""A latch that asks for a button and for its opposite is never set, and one that its own button clears is
    cleared in the same moment. What follows, lamps that never flash or an engine that never fires, looks like a
    wiring fault and is found nowhere in the wires.""",
    source="ours: every case of the inputs and latches that it asks for is gone through",
    find=find,
)
