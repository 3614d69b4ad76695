"""A latch that cannot be set, or cannot be cleared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ....lang.circuit.ids import Role, inside
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
    name = inside(unit.name, latch.name, Role.LATCH)
    if too_wide(latch.set_when, latch.cleared_when):
        yield RULE.found(
            "too-wide",
            unit.shown_at(latch.span),
            facts={"latch": name, "most": MOST},
            level=Level.NOTE,
            about=(unit.name,),
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
        # With it the latches that wait for it: one repair settles them all, where each can be set by itself.
        dead, keys = dead_without(study.circuit, unit, outputs_off(unit, _with_it(unit, latch)))
    depends = engine_depends(study.copper, unit, outputs_that_ask(unit, latch.name))
    yield RULE.found(
        "never-set" if not sets else "cleared-at-once" if not lasting else "never-cleared",
        unit.shown_at(latch.span),
        facts={"latch": name, "dead": counted(dead)},
        level=Level.ERROR if depends or dead else Level.WARNING,
        about=(unit.name,),
        explains=(*dead, *keys),
    )


def _with_it(unit: Unit, latch: Latch) -> frozenset[str]:
    """The latches that can never be set because this one cannot, itself among them."""
    others = replace(unit, latches=tuple(each for each in unit.latches if each.name != latch.name))
    return frozenset({latch.name}) | (never_set(unit) - never_set(others))


RULE = Rule(
    name="latch-stuck",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a latch whose conditions can never set it, or never clear it",
    why="""A latch that needs one button both pressed and released is never set, and one that its own button clears is
    cleared in the same moment. Turn lamps that never flash or an engine that never fires then look like a wiring
    fault, and every wire measures good.""",
    source="Loomwright's analysis: every case of the inputs and latches that it depends on",
    cautions="What a latch holds on may start an engine or a pump: try it in neutral, with nobody in front of the "
    "motorcycle.",
    says={
        "too-wide": "latch {latch} depends on more than {most} inputs and latches: whether it can be set and cleared "
        "was not judged",
        "never-set": "latch {latch} can never be set: its `set` condition contradicts itself[; {dead} cannot work]",
        "cleared-at-once": "latch {latch} never stays set: its `cleared` condition is true whenever its `set` "
        "condition is[; {dead} cannot work]",
        "never-cleared": "latch {latch} can never be cleared: its `cleared` condition contradicts itself",
    },
    fixes={
        "too-wide": "divide {latch} into two latches",
        "never-set": "correct the `set` condition of {latch}",
        "cleared-at-once": "correct the `cleared` condition of {latch}: use an input or a position that does not set "
        "it",
        "never-cleared": "correct the `cleared` condition of {latch}",
    },
    find=find,
)
