"""Relays, outputs, latches and machines, settled by the volts that are really there.

Relays start as they were, pull in and drop out at their own volts; a unit works while it gets enough; a machine with a
field charges once the field got its first current. Where that does not settle the parts that keep changing are named.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.model.parts import Relay, Unit
from ..tables.device_constants import laws as figures
from .conducting import situation_of
from .control_units import set_latches, unit_changes
from .devices import UnsolvableError
from .excitation import start_volts
from .flow import Flow, flow_of
from .memory import AT_REST, Memory
from .nodal_equations import NodalEquations
from .regulation import retune
from .solved import Solved

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from ...lang.circuit.branch import Branch, Supply


MOST_ROUNDS = 60

FEWER = 4
"""Where all that wants to change changes at once and that does not settle, a quarter of it does, in the order of the
text; then a quarter of that, until one changes at a time. Of few things that is one at once, and of hundreds of relays
that drop out as the volts sag it takes some fifteen rounds instead of hundreds (ours).
"""


MOST_TUNINGS = 300
"""Rounds in which machines are tuned while nothing else moves: a weak field lifts their volts little by little."""


class UnsettledError(UnsolvableError):
    """The conditions in ``parts`` keep changing: a relay that drops as soon as what it feeds pulls the volts down.

    ``moments``: what remembers and what flows in each of the conditions that follow one another without end.
    """

    def __init__(self, parts: tuple[str, ...], moments: tuple[tuple[Memory, Flow], ...] = ()) -> None:
        super().__init__(parts[0], f"{', '.join(parts)} keeps switching on and off: no settled state")
        self.parts = parts
        self.moments = moments


def settle(
    network: NodalEquations,
    positions: Mapping[str, str],
    memory: Memory = AT_REST,
    start: Flow | None = None,
    opened: frozenset[str] = frozenset(),
    pinned: frozenset[str] = frozenset(),
) -> tuple[Flow, Memory]:
    """What flows with the controls in ``positions`` once everything that follows them has settled.

    ``memory`` is how things were before; ``opened`` are unreliable joints that are open; controls that the engine
    moves count in their position where they are ``pinned``. Raises ``UnsettledError`` and
    ``UnsolvableError``.
    """
    circuit = network.circuit
    latched = set_latches(circuit, positions)
    if latched:
        told = frozenset(name for name in latched if positions[name] == "set")
        memory = replace(memory, latched=memory.latched - latched | told)
    setpoints = {name: volts for name, volts in network.regulated.items() if name}
    seen: dict[Memory, int] = {}
    order: list[tuple[Memory, Flow]] = []
    flow = start
    share = 1  # by which what changes at once is divided
    singly = False
    for _ in range(MOST_ROUNDS):
        flow = _tuned(network, positions, memory, setpoints, flow, opened, pinned)
        changes = changes_of(network, flow, positions, memory, latched)
        if not changes:
            return flow, memory
        if memory in seen:
            if singly:
                cycle = order[seen[memory] :]
                moving = {n for m, _ in cycle for kind in _KINDS for n in getattr(m, kind) ^ getattr(memory, kind)}
                raise UnsettledError(tuple(sorted(moving)), tuple(cycle))
            share, singly, seen, order = share * FEWER, True, {}, []
        seen[memory] = len(order)
        order.append((memory, flow))
        turning = changes[: max(1, len(changes) // share)]
        singly = singly and len(turning) == 1
        for kind, name in turning:
            memory = memory.turned(kind, name)
    before, there = order[-1]
    moving = {name for _, name in changes_of(network, there, positions, before, latched)}
    raise UnsettledError(tuple(sorted(moving)), tuple(order))


def _tuned(
    network: NodalEquations,
    positions: Mapping[str, str],
    memory: Memory,
    setpoints: dict[str, float],
    start: Flow | None,
    opened: frozenset[str],
    pinned: frozenset[str],
) -> Flow:
    """What flows once the regulators of the machines that run feel what they want; ``setpoints`` move with them.

    Raises ``UnsolvableError``.
    """
    flow, before = start, dict(setpoints)
    for _ in range(MOST_TUNINGS):
        before = dict(setpoints)
        flow = flow_of(network, situation_of(network, positions, memory, setpoints, opened, pinned), flow)
        if not retune(network, flow, setpoints):
            return flow
    name = next(name for name, volts in setpoints.items() if volts != before[name])
    raise UnsolvableError(name, f"its regulator reaches no steady voltage in {MOST_TUNINGS} rounds")


_KINDS = ("pulled", "on", "latched", "excited")


def changes_of(
    network: NodalEquations, flow: Solved, positions: Mapping[str, str], memory: Memory, fixed: frozenset[str]
) -> list[tuple[str, str]]:
    """The conditions, as (kind, name), that differ from what the volts say, in the order of the text.

    ``fixed``: latches that the controls set.
    """
    return list(_each_change(network, flow, positions, memory, fixed))


def _each_change(
    network: NodalEquations, flow: Solved, positions: Mapping[str, str], memory: Memory, fixed: frozenset[str]
) -> Iterator[tuple[str, str]]:
    circuit = network.circuit
    nominal = circuit.harness.volts
    for supply in circuit.supplies:
        if network.machines.fields.get(supply.name):
            excited = supply.name in memory.excited
            turning = positions.get("engine", "off") != "off"
            if (turning and field_fed(network, flow, supply)) != excited:
                yield "excited", supply.name
    for part in circuit.harness.parts.values():
        if part.name in circuit.removed:
            continue
        if isinstance(part, Relay) and part.coil:
            coil = circuit.coil_of(part.name)
            across = abs(flow.at(coil.a) - flow.at(coil.b)) if coil is not None else 0.0  # burnt out: it holds nothing
            pulled = part.name in memory.pulled
            if across < drops_out(part, nominal) if pulled else coil is not None and across >= pulls_in(part, nominal):
                yield "pulled", part.name
        elif isinstance(part, Unit):
            yield from unit_changes(network, flow, part, positions, memory, fixed)


def pulls_in(relay: Relay, nominal: float) -> float:
    """V across its coil from which a relay pulls in, in a system of ``nominal`` V."""
    return relay.pulls if relay.pulls is not None else figures().relay_pull_share * _made_for(relay, nominal)


def drops_out(relay: Relay, nominal: float) -> float:
    """V across its coil below which a relay that is in drops out."""
    return relay.holds if relay.holds is not None else figures().relay_drop_share * _made_for(relay, nominal)


def _made_for(relay: Relay, nominal: float) -> float:
    """V that its coil is made for."""
    return (relay.coil.rated_volts if relay.coil else None) or nominal


def field_fed(network: NodalEquations, flow: Solved, supply: Supply, gone: Collection[str] = ()) -> bool:
    """Whether a field gets the share of its full current that starts the machine, and without which it stops giving.
    One whose winding is open, among the branches ``gone``, gets none, whatever its terminals have.
    """
    circuit = network.circuit
    for key in network.machines.fields[supply.name]:
        branch = circuit.by_key.get(key)
        if branch is not None and key not in gone and gets_start(network, flow, supply, branch):
            return True
    return False


def gets_start(network: NodalEquations, flow: Solved, supply: Supply, field: Branch) -> bool:
    """Whether one field of a machine has the volts across it that start the machine."""
    return abs(flow.at(field.a) - flow.at(field.b)) >= start_volts(network.regulated[supply.name])
