"""Named states as relays and machines may have been left before: what stays then, and what is not followed."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Protocol

from ...lang.records import dataclass
from ..dc.devices import UnsolvableError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...lang.circuit.circuit import Circuit
    from ..dc.memory import Memory
    from ..logic import SwitchingLogic
    from .operating_point import OperatingPoint


class States(Protocol):
    """The named states of one harness, solved: what ``Operation`` is asked here."""

    @property
    def circuit(self) -> Circuit:
        """What is solved."""

    @property
    def logic(self) -> SwitchingLogic:
        """Exact logic over every combination of the same circuit."""

    @property
    def points(self) -> Mapping[str, OperatingPoint]:
        """The named states that have a solution, in the order of the text."""

    def state(self, name: str) -> OperatingPoint:
        """A named state, reached from rest. Raises ``UnsolvableError``."""

    def at(
        self, positions: Mapping[str, str], memory: Memory = ..., *, state: str = ..., pinned: frozenset[str] = ...
    ) -> OperatingPoint:
        """Any combination, with what remembers as given. Raises ``UnsolvableError``."""


@dataclass(frozen=True, slots=True)
class _Left:
    """A named state as relays and machines may have been left: what stays, from which memories nothing settles, and why
    some are left out.
    """

    points: tuple[OperatingPoint, ...]
    unsolved: tuple[tuple[Memory, UnsolvableError], ...]
    untold: str


@dataclass(frozen=True, slots=True)
class Unfollowed:
    """How relays and machines may have been left before a named state, of which no numbers are followed, and why; an
    empty ``history`` where too many ways are left out to name them.
    """

    history: str
    why: str

    def __str__(self) -> str:
        return f"{f'with {self.history}' if self.history else 'as it may have been left before'} ({self.why})"


class LeftBefore:
    """The named states of one harness as they may have been left before. Each is worked out when it is first asked
    for, and raises as ``state`` does.
    """

    def __init__(self, states: States) -> None:
        self._states = states
        self._found: dict[str, _Left] = {}

    def others(self, name: str) -> tuple[OperatingPoint, ...]:
        """A named state as it stays where relays and machines were left otherwise than at rest."""
        return self._left(name).points

    def unsolved(self, name: str) -> tuple[tuple[Memory, UnsolvableError], ...]:
        """The memories from which a named state does not settle, and why."""
        return self._left(name).unsolved

    def untold(self, name: str) -> str:
        """Why ``others`` leaves out some memories of a named state; empty where it does not."""
        return self._left(name).untold

    def unfollowed(self, name: str) -> tuple[Unfollowed, ...]:
        """The ways in which a named state may have been left before of which no numbers are followed."""
        from ..behaviour.histories import said

        first = self._states.state(name).memory
        found = [Unfollowed(said(first, memory), str(why)) for memory, why in self.unsolved(name)]
        shorted = (point for point in self.others(name) if point.shorted)
        found += [Unfollowed(said(first, point.memory), "it makes a dead short") for point in shorted]
        if untold := self.untold(name):
            found.append(Unfollowed("", untold))
        return tuple(found)

    @cached_property
    def ways(self) -> tuple[tuple[OperatingPoint, str], ...]:
        """Every named state that has a solution, as it is from rest and then as relays and machines may have been
        left before, with how these differ: empty from rest. What makes a dead short is left out of the others.
        """
        from ..behaviour.histories import said

        found = []
        for name, first in self._states.points.items():
            others = (other for other in self.others(name) if not other.shorted)
            found += [(first, ""), *((other, said(first.memory, other.memory)) for other in others)]
        return tuple(found)

    def _left(self, name: str) -> _Left:
        from ..behaviour import histories

        if name not in self._found:
            first = self._states.state(name)
            found: dict[Memory, OperatingPoint] = {}
            unsolved: list[tuple[Memory, UnsolvableError]] = []
            known = histories(self._states.logic, self._states.circuit.harness.states[name].settings)
            for memory in known.memories:
                try:
                    point = self._states.at(first.positions, memory, state=name, pinned=first.pinned)
                except UnsolvableError as error:
                    unsolved.append((memory, error))
                    continue
                if point.memory != first.memory:
                    found.setdefault(point.memory, point)
            self._found[name] = _Left(tuple(found.values()), tuple(unsolved), known.untold)
        return self._found[name]
