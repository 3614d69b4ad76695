"""The situation that a fault is solved in, together with all others that leave the same: what conducts as relays and
outputs are by then, and which machines give.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ..dc.conducting import conducting_of, situation_of
from .faulted_circuit import FaultedCircuit

if TYPE_CHECKING:
    from ...lang.circuit.branch import Supply
    from ..dc.memory import Memory
    from ..dc.situation import Situation
    from ..operation.operation import OperatingPoint
    from .failure_modes import Damage
    from .faulted_circuit import SoundWays


class Situations:
    """The situations that the faults of one solved state lead to."""

    def __init__(self, point: OperatingPoint, ways: SoundWays) -> None:
        self.point, self._ways = point, ways
        self.network = point.flow.network

    def situation(self, damage: Damage, memory: Memory) -> Situation:
        """What conducts, the damage apart, machines at their regulated volts: those are a case's own."""
        faulted_circuit = FaultedCircuit(self._ways, self.point.flow.situation, damage)
        given: dict[str, bool] = {}

        def gives(supply: Supply, conducting: frozenset[str]) -> bool:
            if supply.name not in given:
                given[supply.name] = faulted_circuit.gives(supply, conducting)
            return given[supply.name]

        conducting = self._conducting(memory)
        machines = [supply for supply in self.point.circuit.supplies if supply.kind == "machine"]
        rested = memory == self.point.memory
        asked = tuple(gives(supply, conducting) for supply in machines)
        if rested and asked in self._rested:
            return self._rested[asked]
        found = situation_of(
            self.network,
            self.point.positions,
            memory,
            self.network.regulated,
            pinned=self.point.pinned,
            gives=gives,
            conducting=conducting,
        )
        if rested:
            self._rested[asked] = found
        return found

    @cached_property
    def _rested(self) -> dict[tuple[bool, ...], Situation]:
        """The situations in which nothing that remembers has moved, by which machines still give."""
        return {}

    def _conducting(self, memory: Memory) -> frozenset[str]:
        """What may be open and conducts: as in the sound state, but for what relays and outputs have moved since."""
        conducting, contacts = self._contacts
        before = self.point.memory
        moved = {key for name in memory.pulled ^ before.pulled for key in contacts.get(name, ())}
        moved.update(key for name in memory.on ^ before.on for key in contacts.get(name, ()))
        return conducting ^ moved if moved else conducting

    @cached_property
    def _contacts(self) -> tuple[frozenset[str], dict[str, tuple[str, ...]]]:
        """What conducts in the sound state, and the keys of what each relay and output moves."""
        point, guards = self.point, self.network.topology.guards
        contacts = {relay: (*pulled, *released) for relay, pulled, released in guards.relays}
        contacts.update({name: (key,) for name, key in guards.outputs})
        return conducting_of(self.network, point.positions, point.memory, point.pinned), contacts
