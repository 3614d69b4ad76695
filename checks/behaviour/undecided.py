"""What is not decided: more combinations than are searched, or something that nobody knows to work."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..logic.analysis import Combination, SwitchingLogic, TooWideError
    from ..logic.state_space import StateSpace
    from ..logic.terms import Doubt
    from ..logic.truth_tables import Table


class UndecidedError(Exception):
    """An answer depends on something of which nobody knows whether it works through other loads; the text says why."""


def too_wide(wide: TooWideError) -> str:
    """How many combinations an answer depends on, to the next power of two, and of how many switches and conditions."""
    power = (wide.size - 1).bit_length()
    return f"there are some 2^{power} combinations of {len(wide.names)} switches and conditions, more than are searched"


def shown_for_sure(
    logic: SwitchingLogic, scope: StateSpace, table: Table, anywhere: Table | None = None
) -> Combination | None:
    """The combination of a table nearest to rest, among those that depend on nothing undecided.

    Raises ``UndecidedError`` where there are others only.
    """
    # The may of a field is its path, unless that is free.
    undecided = [doubt for doubt in undecided_of(logic, scope) if doubt.kind != "field" or doubt.free]
    sure = table & scope.rest(doubt.name for doubt in undecided)
    if table and not sure:
        raise UndecidedError(undecided[0].why)
    return logic.show(scope, sure, anywhere=anywhere)


def undecided_of(logic: SwitchingLogic, scope: StateSpace) -> list[Doubt]:
    """What a scope holds of which nobody knows whether it works through other loads."""
    return [doubt for name, doubt in logic.network.doubts.items() if doubt.why and name in scope]
