"""What a harness remembers between two moments: relays, outputs, latches, machines."""

from __future__ import annotations

from dataclasses import replace

from ...lang.records import dataclass


@dataclass(frozen=True, slots=True)
class Memory:
    """How what remembers stands: relays ``pulled``, outputs ``on`` and latches ``latched`` (``CTRL.horn``), machines
    ``excited``. ``lasting``: the outputs that are still on for as long as they hold, though nothing asks for them now.
    """

    pulled: frozenset[str] = frozenset()
    on: frozenset[str] = frozenset()
    latched: frozenset[str] = frozenset()
    excited: frozenset[str] = frozenset()
    lasting: frozenset[str] = frozenset()

    def turned(self, kind: str, name: str) -> Memory:
        """The same with one condition the other way round; ``kind`` is a field of this class."""
        return replace(self, **{kind: getattr(self, kind) ^ {name}})


AT_REST = Memory()
