"""What a unit's own conditions allow: which latches can ever be set, and which outputs that leaves off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import product

from ...lang.model.conditions import All, AnyOf, Condition, Not, Test
from ...lang.model.parts import Latch, Unit, UnitOutput

MOST = 14
"""This many inputs and latches one latch may ask for before it is not judged (ours: 16,384 cases)."""

Case = Mapping[tuple[str, str], bool]
"""Whether each thing that a condition asks for is so, by its name and position."""


def tests_in(condition: Condition | None) -> Iterator[tuple[str, str]]:
    """What a condition asks for: each control or input with the position asked of it."""
    match condition:
        case Test():
            yield condition.control, condition.position
        case Not():
            yield from tests_in(condition.term)
        case All() | AnyOf():
            for term in condition.terms:
                yield from tests_in(term)


def holds(condition: Condition, case: Case) -> bool:
    match condition:
        case Test():
            return case[condition.control, condition.position]
        case Not():
            return not holds(condition.term, case)
        case All():
            return all(holds(term, case) for term in condition.terms)
        case AnyOf():
            return any(holds(term, case) for term in condition.terms)


def too_wide(*conditions: Condition | None) -> bool:
    """Whether conditions ask for too much to go through every case."""
    return len({name for condition in conditions for name, _ in tests_in(condition)}) > MOST


def cases(*conditions: Condition | None, false: Iterable[str] = ()) -> Iterator[Case]:
    """Every case of what conditions ask for; the latches in ``false`` are never set."""
    never = frozenset(false)
    asked = tuple(dict.fromkeys(test for condition in conditions for test in tests_in(condition)))
    free = [test for test in asked if test[0] not in never]
    for values in product((False, True), repeat=len(free)):
        yield {**dict.fromkeys(asked, False), **dict(zip(free, values, strict=True))}


def never_set(unit: Unit) -> frozenset[str]:
    """The latches that no case of their inputs ever sets, those that wait for such a latch among them.

    What is cleared while it is set stays cleared (``logic.scope`` and ``dc.settling`` take it so). A latch that is
    too wide to go through counts as one that can be set.
    """
    never: set[str] = set()
    while True:
        further = {latch.name for latch in unit.latches if latch.name not in never and _stays_cleared(latch, never)}
        if not further:
            return frozenset(never)
        never |= further


def _stays_cleared(latch: Latch, never: set[str]) -> bool:
    if too_wide(latch.set_when, latch.cleared_when):
        return False
    return not any(
        holds(latch.set_when, case) and not holds(latch.cleared_when, case)
        for case in cases(latch.set_when, latch.cleared_when, false=never)
    )


def outputs_off(unit: Unit, never: Iterable[str]) -> tuple[UnitOutput, ...]:
    """The outputs that no case turns on while the latches in ``never`` are never set."""
    barred = tuple(never)
    return tuple(
        output
        for output in unit.outputs
        if output.when is not None
        and not too_wide(output.when)
        and not any(holds(output.when, case) for case in cases(output.when, false=barred))
    )
