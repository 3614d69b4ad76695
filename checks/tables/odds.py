"""How often each kind of thing fails, against the others: which suspect to think of first.

Figures are read from ``odds.toml``; they are ours. Fault finding hardly depends on how exact they are (Kalagnanam and
Henrion 1990), but much on there being some.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from .sourced import rows

if TYPE_CHECKING:
    from collections.abc import Collection

    from ...lang.circuit.branch import Branch


@cache
def _odds() -> dict[str, float]:
    return {row["kind"]: float(row["odds"]) for row in rows("odds", "odds")}


def of_kind(kind: str) -> float:
    """The odds of a kind, as the table names it. Raises ``KeyError`` for one that it does not have."""
    return _odds()[kind]


def odds(branch: Branch, grounds: Collection[str]) -> float:
    """How often a branch fails, against others. ``grounds``: the terminals that nothing parts from ground."""
    if not branch.reliable:
        return of_kind("unreliable joint")
    grounded = branch.a in grounds and branch.b in grounds
    if branch.branch_type is BranchType.MOUNT or (grounded and branch.branch_type is BranchType.WAY):
        return of_kind("ground joint")
    if grounded and branch.branch_type is BranchType.WIRE:
        return of_kind("ground wire")
    if branch.branch_type is BranchType.LAMP:  # its filament, or the holder's contact: nobody sees which from outside
        return of_kind("lamp") + of_kind("bulb holder")
    return of_kind(branch.branch_type.odds_row)
