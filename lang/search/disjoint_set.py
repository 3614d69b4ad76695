"""Disjoint sets: which things belong together, told pair by pair."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable

V = TypeVar("V", bound="Hashable")


class DisjointSet(Generic[V]):
    """Things that belong together, told pair by pair (Tarjan 1975). One of each group leads it."""

    def __init__(self, members: Iterable[V] = ()) -> None:
        self.leaders: dict[V, V] = {member: member for member in members}

    def leader(self, member: V) -> V:
        """Who leads a member's group; one that nobody named yet leads its own."""
        leaders = self.leaders
        above = leaders.get(member)
        if above is None:
            leaders[member] = member
            return member
        # Who leads is there itself, so that most are distinguished from the rest without comparing what they are
        # called.
        while above is not member:
            first = leaders[above]
            if first is above or first == above:
                return above
            leaders[member] = member = first
            above = leaders[member]
        return member

    def merge(self, a: V, b: V) -> None:
        """Two members belong together: who leads the first's group leads both."""
        self.leaders[self.leader(b)] = self.leader(a)
