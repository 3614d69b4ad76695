"""Analyses of one text after another, each kept by the whole of what it was worked out from.

After most edits a harness conducts as it did: a comment, a colour or a label changes nothing that flows, a length
nothing of what joins what. An analysis is handed a bare harness (``lang.model.bare``) and so can read nothing else;
where an equal one was there before, its analysis is used again. Nobody has to know what an edit touched.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Generic, TypeVar

from ..lang.circuit.build import build_circuit
from ..lang.model.bare import Once, alike, for_logic, for_numbers

if TYPE_CHECKING:
    from collections.abc import Callable

    from ..lang.circuit.circuit import Circuit
    from ..lang.model.harness import Harness
    from .logic import SwitchingLogic
    from .operation.operation import Operation

Analysis = TypeVar("Analysis")

MOST_KEPT: Final = 4
"""Harnesses whose analyses are kept (ours): the one at hand, the one before an undo, and those that these convert."""

MOST_THINGS: Final = 4000
"""Wires and parts that these have together at the most (ours), but for the latest one: the analyses of 5,000 wires take
0.2 GB.
"""

MOST_USES: Final = 400
"""Times that an analysis is used until it is worked out again (ours), since it grows by what is asked of it."""


class _Latest(Generic[Analysis]):
    """The latest analyses of one kind, the last used last: each with all that it was worked out from."""

    def __init__(self) -> None:
        self._entries: list[_Entry[Analysis]] = []

    def of(self, harness: Harness, work_out: Callable[[], Analysis], beneath: object = None) -> Analysis:
        """The analysis of a harness and of the very object ``beneath`` it: the one there, else a new one."""
        entry = next((e for e in self._entries if e.beneath is beneath and alike(e.harness, harness)), None)
        if entry is not None:
            self._entries.remove(entry)
        if entry is None or entry.uses == MOST_USES:
            self._make_room(_things(harness))  # before there is one more
            entry = _Entry(harness, beneath, work_out())
        entry.uses += 1
        self._entries.append(entry)
        return entry.analysis

    def _make_room(self, things: int) -> None:
        held = [_things(each.harness) for each in self._entries]
        while held and (len(held) >= MOST_KEPT or sum(held) + things > MOST_THINGS):
            del held[0], self._entries[0]


def _things(harness: Harness) -> int:
    return len(harness.wires) + len(harness.parts)


class _Entry(Generic[Analysis]):
    __slots__ = ("analysis", "beneath", "harness", "uses")

    def __init__(self, harness: Harness, beneath: object, analysis: Analysis) -> None:
        self.harness, self.beneath, self.analysis = harness, beneath, analysis
        self.uses = 0


class Kept:
    """The latest analyses of harnesses. For one thread at a time."""

    def __init__(self) -> None:
        self._bare: _Latest[tuple[Harness, Harness]] = _Latest()
        self._once = Once()
        self._circuits: _Latest[Circuit] = _Latest()
        self._logics: _Latest[SwitchingLogic] = _Latest()
        self._operations: _Latest[Operation] = _Latest()

    def circuit(self, harness: Harness) -> Circuit:
        """The circuit of this very harness, with its places."""
        return self._circuits.of(harness, lambda: build_circuit(harness), harness)

    def logic(self, harness: Harness) -> SwitchingLogic:
        """Exact logic over every combination of a harness."""
        from .logic import SwitchingLogic

        bare, _ = self._without_places(harness)
        return self._logics.of(bare, lambda: SwitchingLogic(build_circuit(bare)))

    def operation(self, harness: Harness, logic: SwitchingLogic) -> Operation:
        """The numbers of a harness, of which ``logic`` was given out."""
        from .operation.operation import Operation

        _, bare = self._without_places(harness)
        return self._operations.of(bare, lambda: Operation(build_circuit(bare), logic), logic)

    def _without_places(self, harness: Harness) -> tuple[Harness, Harness]:
        """What the logic and what the numbers of a harness are worked out from."""

        def both() -> tuple[Harness, Harness]:
            self._once.begin()
            numbers = for_numbers(harness, self._once)
            return for_logic(numbers, self._once), numbers

        return self._bare.of(harness, both, harness)
