"""What the elements of the old harness did, and what does it now."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.model.parts import Load
from ..logic.predicates import JoinedInSeries

if TYPE_CHECKING:
    from ...lang.model.parts import Element
    from .comparison import Comparison
    from .side import Side

SHARED_ROLES = frozenset({"tell-tale"})
"""Roles that many elements have, so that no other one can stand in."""


def can_be_live(side: Side, key: str) -> bool:
    """Whether an element is live in some combination. Raises ``TooWideError``."""
    question = JoinedInSeries(key)
    scope = side.logic.scope(question)
    return bool(question.table(scope) & scope.counted & scope.plausible)


def lost(comparison: Comparison) -> Iterator[tuple[Load, Element]]:
    """The elements that could be live in the old harness, and what they did is done by none in the new one.

    Kept parts are left out: what they get is compared terminal by terminal. Raises ``TooWideError``.
    """
    old, new = comparison.old, comparison.new
    for part in old.harness.parts.values():
        if not isinstance(part, Load):
            continue
        now = new.harness.parts.get(comparison.match.new_of.get(part.name, ""))
        if now is not None and now.kept:
            continue
        for element in part.elements:
            if can_be_live(old, f"{part.name}.{element.name}") and not _is_done(comparison, part, element):
                yield part, element


def _is_done(comparison: Comparison, part: Load, element: Element) -> bool:
    roles = frozenset(element.roles) - SHARED_ROLES
    return any(can_be_live(comparison.new, key) for key in _in_place(comparison, part, element, roles))


def _in_place(comparison: Comparison, part: Load, element: Element, roles: frozenset[str]) -> Iterator[str]:
    """The elements of the new harness that may do what an old one did: of the part in its place, by name, by role, or
    because it has but one; of any part, by role.
    """
    harness = comparison.new.harness
    here = harness.parts.get(comparison.match.new_of.get(part.name, ""))
    if isinstance(here, Load):
        for each in here.elements:
            same = each.name == element.name and not (roles and each.roles and not roles & set(each.roles))
            if same or roles & set(each.roles) or len(here.elements) == 1:
                yield f"{here.name}.{each.name}"
    for other in harness.parts.values():
        if isinstance(other, Load) and other is not here:
            yield from (f"{other.name}.{each.name}" for each in other.elements if roles & set(each.roles))
