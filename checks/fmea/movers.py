"""Relays, units and machines of one solved state: which of them move when a fault has changed the volts, or what is
connected to what.

A relay, a supply and a field go by the volts at their ends, and are looked at all at once. A unit's inputs go by what
they are connected to: after most faults that is as in the sound state for all units but those near by, and only these
are asked.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End, Role, coil_of, inside, unit_supply
from ...lang.model.parts import Relay, Unit, stop_directions
from ..dc.control_units import held_latches, returns_of, unit_changes, winding_at
from ..dc.excitation import start_volts
from ..dc.relay_fixed_point import drops_out, field_fed, pulls_in
from ..tables.device_constants import shares

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.memory import Memory
    from ..operation.operation import OperatingPoint
    from .failure_modes import Damage
    from .faulted_circuit import FaultedCircuit, SoundWays

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]
    Flags = NDArray[np.bool_]


class Movers:
    """What moves in one state, and what it is moved by."""

    def __init__(self, point: OperatingPoint, ways: SoundWays) -> None:
        self.point, self._ways = point, ways
        self.network, self.circuit = point.flow.network, point.circuit
        self._fixed = held_latches(self.network, point.flow, point.positions, point.memory)

    # --- by volts ----------------------------------------------------------------------------------------------------
    @cached_property
    def _relays(self) -> tuple[tuple[str, ...], Places, Places, Floats, Floats]:
        """The relays with a coil, by name; the ends of their coils, and the V at which they drop out and pull in."""
        import numpy as np

        index, nominal = self.network.index, self.circuit.harness.volts
        found = []
        for part in self.circuit.harness.parts.values():
            coil = self.circuit.coil_of(part.name) if isinstance(part, Relay) else None
            if isinstance(part, Relay) and coil is not None and part.name not in self.circuit.removed:
                found.append((part, index[coil.a], index[coil.b]))
        return (
            tuple(part.name for part, _, _ in found),
            np.array([a for _, a, _ in found], dtype=np.intp),
            np.array([b for _, _, b in found], dtype=np.intp),
            np.array([drops_out(part, nominal) for part, _, _ in found]),
            np.array([pulls_in(part, nominal) for part, _, _ in found]),
        )

    @cached_property
    def _supplies(self) -> tuple[tuple[str, ...], Places, Places, Flags]:
        """The supplies of units: whose each is, its ends, and whether it is enough in the sound state."""
        import numpy as np

        index, by_key = self.network.index, self.circuit.by_key
        found = []
        for part in self._units.values():
            for own in part.supplies:
                branch = by_key.get(unit_supply(part, own))
                if branch is not None:
                    enough = self.point.across(branch.key) >= self._needed
                    found.append((part.name, index[branch.a], index[branch.b], enough))
        return (
            tuple(name for name, _, _, _ in found),
            np.array([a for _, a, _, _ in found], dtype=np.intp),
            np.array([b for _, _, b, _ in found], dtype=np.intp),
            np.array([enough for _, _, _, enough in found], dtype=bool),
        )

    @cached_property
    def _needed(self) -> float:
        """V from which a unit works."""
        return shares()["unit supply"].works * self.circuit.harness.volts

    @cached_property
    def _fields(self) -> tuple[tuple[bool, float, tuple[tuple[int, int], ...]], ...]:
        """Of every machine with fields: whether it is excited in the sound state, the V that start it, and the ends of
        the fields.
        """
        index, by_key, found = self.network.index, self.circuit.by_key, []
        for supply in self.circuit.supplies if self.point.engine != "off" else ():
            keys = self.network.machines.fields.get(supply.name, ())
            ends = tuple((index[by_key[key].a], index[by_key[key].b]) for key in keys if key in by_key)
            if ends:
                starts = start_volts(self.network.regulated[supply.name])
                found.append((supply.name in self.point.memory.excited, starts, ends))
        return tuple(found)

    def moved(self, volts: Floats) -> Flags:
        """The rows of volts at which a relay, a unit's supply or an excitation differs from this state."""
        import numpy as np

        names, a, b, drops, pulls = self._relays
        across = np.abs(volts[:, a] - volts[:, b])
        pulled = np.array([name in self.point.memory.pulled for name in names], dtype=bool)
        found: Flags = np.any(np.where(pulled, across < drops, across >= pulls), axis=1)
        _, a, b, enough = self._supplies
        found |= np.any((volts[:, a] - volts[:, b] >= self._needed) != enough, axis=1)
        for excited, starts, ends in self._fields:
            fed = np.any([np.abs(volts[:, a] - volts[:, b]) >= starts for a, b in ends], axis=0)
            found |= fed != excited
        return found

    @cached_property
    def inner(self) -> frozenset[str]:
        """What moves something by its current, by key: coils, fields, the supplies of units and the windings of their
        sensors. One that is open inside does so no more, whatever its terminals have.
        """
        found: set[str] = {unit_supply(part, own) for part in self._units.values() for own in part.supplies}
        found.update(coil_of(name) for name in self._relays[0])
        found.update(key for keys in self.network.machines.fields.values() for key in keys)
        found.update(winding_at(ways) for each in self.network.topology.senders.values() for ways in each)
        return frozenset(found)

    # --- each ---------------------------------------------------------------------------------------------------------
    def changes(self, solved: FaultedCircuit, memory: Memory, damage: Damage) -> list[tuple[str, str]]:
        """As ``changes_of``, for a damaged harness of which what remembers stands as in ``memory``."""
        import numpy as np

        network, positions = self.network, self.point.positions
        found: list[tuple[int, str, str]] = []
        turning = positions.get("engine", "off") != "off"
        for supply in self.circuit.supplies:
            if network.machines.fields.get(supply.name):
                excited = supply.name in memory.excited
                if (turning and field_fed(network, solved, supply, damage.keys)) != excited:
                    found.append((-1, "excited", supply.name))
        names, a, b, drops, pulls = self._relays
        across = np.abs(solved.volts[a] - solved.volts[b])
        across[[coil_of(name) in damage.keys for name in names]] = 0.0  # burnt out: whatever its terminals have
        pulled = np.array([name in memory.pulled for name in names], dtype=bool)
        differs = np.flatnonzero(np.where(pulled, across < drops, across >= pulls)).tolist()
        found += [(self._order[names[place]], "pulled", names[place]) for place in differs]
        for name in self._asked(solved, memory, damage):
            changes = unit_changes(network, solved, self._units[name], positions, memory, self._fixed, damage.keys)
            found += [(self._order[name], kind, what) for kind, what in changes]
        return [(kind, what) for _, kind, what in sorted(found, key=lambda each: each[0])]

    @cached_property
    def _order(self) -> dict[str, int]:
        """The parts in the order of the text."""
        return {name: i for i, name in enumerate(self.circuit.harness.parts)}

    @cached_property
    def _units(self) -> dict[str, Unit]:
        parts = self.circuit.harness.parts.values()
        return {part.name: part for part in parts if isinstance(part, Unit) and part.name not in self.circuit.removed}

    def _asked(self, solved: FaultedCircuit, memory: Memory, damage: Damage) -> Collection[str]:
        """The units that may differ from what ``memory`` says: at rest in the sound state, they are unless a supply, an
        input or what they remember differs from there.
        """
        import numpy as np

        sound, now, before = self.point.flow.situation, solved.situation, self.point.memory
        running = [{m.supply for m in each.machines} for each in (sound, now)]
        if running[0] != running[1] or sound.pulsing != now.pulsing:
            return self._units
        names, a, b, enough = self._supplies
        differs = (solved.volts[a] - solved.volts[b] >= self._needed) != enough
        found = {names[place] for place in np.flatnonzero(differs).tolist()}
        turned = (memory.on ^ before.on) | (memory.latched ^ before.latched) | (memory.lasting ^ before.lasting)
        found.update(self._remembers[name] for name in turned if name in self._remembers)
        for key in sound.conducting ^ now.conducting:
            found.update(self._hears.get(key, ()))
        for key in damage.keys:
            found.update(self._told_by.get(key, ()))
        if damage.grounded:
            found.update(self._near.get(self.network.circuit.nets.of.get(damage.grounded, -1), ()))
            found.update(self._near[None])
        return found

    @cached_property
    def _near(self) -> dict[int | None, set[str]]:
        """The units that ask of something that may come to a net, by the net, or that are fed by way of it: what is
        shorted to ground there may tell them something. By ``None`` those that may come to ground otherwise than by
        what they ask for: for them any short may.
        """
        topology, of = self.network.topology, self.network.circuit.nets.of
        ground = of.get(self.network.circuit.ground)
        found: dict[int | None, set[str]] = {None: set()}
        for unit in self._units.values():
            for start, ends in self._asks(unit):
                met, goal = topology.met(start, ends), {of.get(node) for node in ends}
                for net in met:
                    found.setdefault(net, set()).add(unit.name)
                if ground in met and ground not in goal:
                    found[None].add(unit.name)
            for node in _fed_inputs(unit):
                for net in self._ways.feeding(node, self.point.flow.situation).nets:
                    found.setdefault(net, set()).add(unit.name)
        return found

    @cached_property
    def _remembers(self) -> dict[str, str]:
        """Whose each output and latch is."""
        found: dict[str, str] = {}
        for unit in self._units.values():
            found.update({inside(unit.name, each.name, Role.OUTPUT): unit.name for each in unit.outputs})
            found.update({inside(unit.name, each.name, Role.LATCH): unit.name for each in unit.latches})
        return found

    def _asks(self, unit: Unit) -> Iterator[tuple[str, tuple[str, ...]]]:
        """What a unit asks of what joins: whether current can come from a terminal to others."""
        for given in unit.inputs:
            node = End(unit.name, given.terminal)
            if given.mode == "grounded":
                yield node, returns_of(unit, given)
            elif given.mode == "signal":
                yield from ((at, (to,)) for ways in self.network.topology.senders.get(node, ()) for at, to in ways)
        if unit.stop_lead:
            lead, back = (End(unit.name, terminal) for terminal in unit.stop_lead)
            yield from ((back, (lead,)) if backwards else (lead, (back,)) for backwards in stop_directions(unit))

    @cached_property
    def _hears(self) -> dict[str, set[str]]:
        """The units that each contact and output may connect something to, or part it from them, by its key."""
        found: dict[str, set[str]] = {}
        for unit in self._units.values():
            for start, ends in self._asks(unit):
                for key in self.network.topology.deciding(start, ends):
                    found.setdefault(key, set()).add(unit.name)
            for node in _fed_inputs(unit):
                for key in self._ways.deciding(node):
                    found.setdefault(key, set()).add(unit.name)
        return found

    @cached_property
    def _told_by(self) -> dict[str, set[str]]:
        """The units that each branch connects something to in the sound state, by its key: on the way that an input
        has, or on what keeps one from being fed; those that each supply feeds, and that each sensor gives a signal to.
        """
        situation, found = self.point.flow.situation, dict[str, set[str]]()
        conducting = situation.conducting, situation.conducting - situation.pulsing
        parted = replace(situation, conducting=conducting[1], pulsing=frozenset())
        for unit in self._units.values():
            keys: set[str] = {unit_supply(unit, own) for own in unit.supplies}
            for given in unit.inputs:
                senders = self.network.topology.senders.get(End(unit.name, given.terminal), ())
                keys.update(winding_at(ways) for ways in senders)
            for start, ends in self._asks(unit):
                for each in conducting:
                    keys.update(self._ways.way(start, ends, each) or ())
            for node in _fed_inputs(unit):
                for here in (situation, parted):
                    feeding = self._ways.feeding(node, here)
                    keys.update(feeding.way or feeding.walls)
            for key in keys:
                found.setdefault(key, set()).add(unit.name)
        return found


def _fed_inputs(unit: Unit) -> list[End]:
    """The terminals of the inputs that go by what feeds them."""
    return [End(unit.name, given.terminal) for given in unit.inputs if given.mode not in ("grounded", "signal")]
