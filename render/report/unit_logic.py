"""What a control unit decides, in the words of its text: when each output works, what sets and clears each latch."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ...lang.model.conditions import All, AnyOf, Condition, Not, Test, asked_by
from ...lang.model.parts import Unit
from ...lang.quantities.quantity import shown
from ...lang.search.walks import hops
from ...lang.vocabulary.words import TOGGLED


def said(condition: Condition, *, inside: bool = False) -> str:
    """A condition as the language writes it, with brackets where it needs them (``inside`` another)."""
    match condition:
        case Test():
            return f"{condition.control} {condition.position}".strip()
        case Not():
            return f"not {said(condition.term, inside=True)}"
        case All() | AnyOf():
            joint = " and " if isinstance(condition, All) else " or "
            words = joint.join(said(term, inside=True) for term in condition.terms)
            return f"({words})" if inside else words


def logic(unit: Unit, terminals: Collection[str]) -> Iterator[tuple[str, str]]:
    """Each output at one of these terminals that depends on something, and each latch that they ask: name, and when."""
    latches = {latch.name: latch for latch in unit.latches}
    asked: list[str] = []
    for output in unit.outputs:
        if output.terminal in terminals and output.when is not None:
            late = f"{shown(output.after)} s after its condition, " if output.after else ""
            after = f", and {shown(output.holds)} s after" if output.holds else ""
            yield output.name, f"{late}when {said(output.when)}{after}"
            asked += asked_by(output.when)

    def asks(name: str) -> tuple[str, ...]:
        latch = latches.get(name)
        return () if latch is None else (*asked_by(latch.set_when), *asked_by(latch.cleared_when))

    for name in hops(asked, asks):
        if name in latches:
            latch = latches[name]
            how = TOGGLED if latch.toggles else "set"
            yield name, f"{how} when {said(latch.set_when)}, cleared when {said(latch.cleared_when)}"
