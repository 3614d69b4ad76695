"""What conducts with the controls and what remembers as given, and which machines are sources."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from .memory import Memory
from .nodal_equations import NodalEquations
from .situation import Running, Situation

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from ...lang.circuit.branch import Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.parts import Output


def situation_of(
    network: NodalEquations,
    positions: Mapping[str, str],
    memory: Memory,
    setpoints: Mapping[str, float],
    opened: frozenset[str] = frozenset(),
    pinned: frozenset[str] = frozenset(),
    gives: Callable[[Supply, frozenset[str]], bool] | None = None,
    conducting: frozenset[str] | None = None,
) -> Situation:
    """What conducts with controls and conditions as given, and these unreliable joints open; what the engine moves
    is in its position where it is ``pinned``.

    ``gives`` answers for a damaged harness as ``Network.gives`` does for the sound one; ``conducting``: what may be
    open and conducts, where that is known.
    """
    circuit = network.circuit
    engine = positions.get("engine", "off")
    turning = engine != "off"
    if conducting is None:
        conducting = conducting_of(network, positions, memory, pinned)
    if opened:
        conducting -= opened
    gives = gives or network.machines.gives
    machines = []
    for supply in circuit.supplies:
        amps = _machine_amps(network, supply, engine, conducting)
        if amps is None or (network.machines.fields[supply.name] and supply.name not in memory.excited):
            continue
        if not gives(supply, conducting):
            continue
        machines.append(Running(supply.name, amps, setpoints[supply.name]))
    if machines and network.ripple:
        whole = sum(m.amps for m in machines)
        machines = [_with_ripple(m, network.ripple * m.amps / whole) for m in machines]
    pulsing = network.topology.guards.crank if turning else frozenset()
    if pinned and pulsing:
        pulsing -= pinned.union(key for key, guard, _ in network.topology.guards.positions if guard.control in pinned)
    return Situation(conducting, turning, _asleep(circuit, positions), tuple(machines), pulsing, engine=engine)


def _with_ripple(machine: Running, amps: float) -> Running:
    return replace(machine, amps=machine.amps + amps, ripple=amps)


def rest_positions(circuit: Circuit) -> dict[str, str]:
    """Every control at rest."""
    return {name: control.rest for name, control in circuit.controls.items()}


def by_position(network: NodalEquations, positions: Mapping[str, str], pinned: frozenset[str]) -> Iterator[str]:
    """The keys of the contacts that controls close in these positions."""
    turning = positions.get("engine", "off") != "off"
    for key, guard, free in network.topology.guards.positions:
        # A free one opens and closes as the engine turns: its duty says for how long.
        if (free and turning and guard.control not in pinned) or positions[guard.control] in guard.positions:
            yield key


def conducting_of(
    network: NodalEquations, positions: Mapping[str, str], memory: Memory, pinned: frozenset[str] = frozenset()
) -> frozenset[str]:
    """The keys of what may be open and conducts."""
    guards = network.topology.guards
    found = set(by_position(network, positions, pinned))
    found.update(guards.joints)
    for relay, pulled, released in guards.relays:
        found.update(pulled if relay in memory.pulled else released)
    for name, key in guards.outputs:
        if name in memory.on:
            found.add(key)
    return frozenset(found)


def _machine_amps(network: NodalEquations, supply: Supply, engine: str, conducting: frozenset[str]) -> float | None:
    """The most amps of a machine at this engine speed, its own field's among them; ``None``: no source.

    A machine's watts are what it gives to others.
    """
    if supply.kind != "machine" or engine == "off":
        return None
    measured = network.measured_amps(supply, engine, conducting)
    return amps_by_watts(network, supply, engine) if measured is None else measured


def amps_by_watts(network: NodalEquations, supply: Supply, engine: str) -> float | None:
    """The same of an engine that turns and a machine that was not measured."""
    output: Output | None = supply.output
    if output is None:
        return None
    if engine == "cranking":
        watts = output.cranking
    else:
        usual = output.watts if output.watts is not None else output.idle
        watts = output.idle if engine == "idling" and output.idle is not None else usual
        if watts is None:
            watts = UNLIMITED_WATTS
    if not watts:
        return None
    regulated = network.regulated[supply.name]
    return watts / regulated + network.machines.field_siemens[supply.name] * regulated


UNLIMITED_WATTS = 1e4
"""A machine whose watts are not written is taken as strong enough (ours), and said to be unknown."""


def _asleep(circuit: Circuit, positions: Mapping[str, str]) -> bool:
    """Whether units sleep: the engine off and the ignition off; without a key, every switch at rest."""
    if positions.get("engine", "off") != "off":
        return False
    keys = [c for c in circuit.controls.values() if c.key]
    if keys:
        return all(positions[key.name] in ("off", "lock", "park") for key in keys)
    return all(positions[c.name] == c.rest for c in circuit.controls.values() if not c.sensed)
