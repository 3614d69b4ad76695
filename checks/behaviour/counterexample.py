"""How an answer of the logic is shown in a finding: the combination in words, its level, its way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..findings.finding import Level
from ..logic.analysis import names_of, owners_of

__all__ = ["about_path", "circumstances", "lowered", "names_of", "owners_of"]

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..logic.analysis import Combination
    from ..logic.terms import Condition
    from .behaviour import Behaviour


def lowered(level: Level, shown: Combination | None) -> Level:
    """One level lower where only combinations show it that a rider hardly meets."""
    if shown is not None and shown.implausible and level > Level.NOTE:
        return Level(level - 1)
    return level


def circumstances(shown: Combination) -> tuple[str, ...]:
    """``KEY on``, ``KILL stop``, ``B press``, ``K pulled before``: what must be so; empty where it always is."""
    return (
        *(f"{control} {position}" for control, position in shown.shown),
        *(_remembered(shown.scope.network.conditions[n]) for n in shown.held if _could_be_otherwise(shown, n)),
        *(f"{joint} open" for joint in shown.open_joints),
    )


def _remembered(condition: Condition) -> str:
    how = {"pulled": "pulled before", "excited": "already charging", "set": "set before", "on": "on before"}
    return f"{condition.thing} {how[condition.kind]}"


def _could_be_otherwise(shown: Combination, bit: str) -> bool:
    """Whether the controls alone leave a condition open."""
    scope = shown.scope
    here = scope.some(1 << shown.index, scope.bits)
    return bool(here & scope.counted & scope.at(bit, "no"))


def about_path(behaviour: Behaviour, path: Iterable[str]) -> tuple[str, ...]:
    """The wires and parts of a path that a waiver could name."""
    return tuple(owners_of(behaviour.circuit, path))
