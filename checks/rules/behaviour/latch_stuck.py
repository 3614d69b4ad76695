"""A latch that cannot be set, or cannot be cleared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ....lang.model.parts import Latch, Unit
from ...behaviour.dependents import counted, dead_without, engine_depends, outputs_that_ask
from ...behaviour.latches import MOST, cases, holds, never_set, outputs_off, too_wide
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if isinstance(part, Unit):
            for latch in part.latches:
                yield from _of_latch(study, part, latch)


def _of_latch(study: Study, unit: Unit, latch: Latch) -> Iterator[Finding]:
    name = f"{unit.name}.{latch.name}"
    if too_wide(latch.set_when, latch.cleared_when):
        yield _told(
            unit,
            latch,
            Level.NOTE,
            f"latch {name} asks for more than {MOST} things: whether it can be set and cleared was not judged",
            "divide it into two latches",
        )
        return
    all_ = tuple(cases(latch.set_when, latch.cleared_when))
    sets = [case for case in all_ if holds(latch.set_when, case)]
    clears = [case for case in all_ if holds(latch.cleared_when, case)]
    lasting = [case for case in sets if not holds(latch.cleared_when, case)]
    # A latch that toggles is cleared by the second press of what set it.
    if lasting and (clears or latch.toggles):
        return
    dead: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    if not lasting:
        # With it the latches that wait for it: one mend settles them all, where each can be set by itself.
        dead, keys = dead_without(study, unit, outputs_off(unit, _with_it(unit, latch)))
    depends = engine_depends(study, unit, outputs_that_ask(unit, latch.name))
    if not sets:
        why, remedy = "can never be set: its condition contradicts itself", f"correct what sets {name}"
    elif not lasting:
        why = "is cleared by whatever sets it"
        remedy = f"let something else clear {name} than what sets it"
    else:
        why, remedy = "can never be cleared: its condition contradicts itself", f"correct what clears {name}"
    cannot = f"; {counted(dead)} cannot work" if dead else ""
    level = Level.ERROR if depends or dead else Level.WARNING
    yield replace(_told(unit, latch, level, f"latch {name} {why}{cannot}", remedy), explains=(*dead, *keys))


def _with_it(unit: Unit, latch: Latch) -> frozenset[str]:
    """The latches that can never be set because this one cannot, itself among them."""
    others = replace(unit, latches=tuple(each for each in unit.latches if each.name != latch.name))
    return frozenset({latch.name}) | (never_set(unit) - never_set(others))


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


RULE = Rule(
    name="latch-stuck",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a latch whose conditions never let it be set, or never let it be cleared",
    why="""A latch that asks for a button and for its opposite is never set, and one that its own button clears is
    cleared in the same moment. What follows, lamps that never flash or an engine that never fires, looks like a
    wiring fault and is found nowhere in the wires.""",
    source="ours: every case of the inputs and latches that it asks for is gone through",
    find=find,
)
