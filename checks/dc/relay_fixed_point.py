"""Relays, outputs, latches and machines, settled by the volts that are really there.

Relays start as they were, pull in and drop out at their own volts; a unit works while it gets enough; a machine with a
field charges once the field got its first current. Where that does not settle the parts that keep changing are named.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from ...lang.circuit.ids import End, Role, field_of, inside, source_of, unit_supply
from ...lang.model.conditions import All, AnyOf, Not, Test
from ...lang.model.parts import Relay, Unit, stop_directions
from ...lang.records import dataclass
from ..tables.device_constants import laws as figures
from ..tables.device_constants import shares
from .devices import UnsolvableError
from .flow import Flow, flow_of
from .nodal_equations import NodalEquations
from .situation import Running, Situation

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from ...lang.circuit.branch import Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.conditions import Condition
    from ...lang.model.parts import Output, Part, UnitInput

MOST_ROUNDS = 60
MOST_TUNINGS = 300
"""Rounds in which machines are tuned while nothing else moves: a weak field lifts their volts little by little."""

SENSE_TOLERANCE = 1e-3
HIGHEST_SHARE = 1.3
"""Of its regulated volts, what a machine gives at most when its regulator senses too little (ours)."""


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
        memory = replace(memory, latched=frozenset(n for n in latched if positions[n] == "set"))
    setpoints = {name: volts for name, volts in network.regulated.items() if name}
    seen: dict[Memory, int] = {}
    order: list[tuple[Memory, Flow]] = []
    flow = start
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
            singly, seen, order = True, {}, []
        seen[memory] = len(order)
        order.append((memory, flow))
        for kind, name in changes[:1] if singly else changes:
            memory = memory.turned(kind, name)
    raise UnsettledError(tuple(sorted({name for _, name in changes})), tuple(order))


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


class Solved(Protocol):
    """A solved situation as what follows from it needs it: volts at nodes, and what is joined to what."""

    @property
    def situation(self) -> Situation:
        """What conducts."""

    @property
    def law_amps(self) -> Mapping[str, float]:
        """A through each law, by branch key or source name."""

    def at(self, node: str) -> float:
        """V of a terminal against the system\'s ground."""

    @property
    def parted(self) -> Solved:
        """The same with the contacts open that the engine opens and closes."""

    def reaches(self, start: str, ends: tuple[str, ...]) -> bool:
        """Whether a terminal is connected to one of some others."""

    def fed(self, node: str) -> bool:
        """Whether a terminal is connected to a feed pole."""


def situation_of(
    network: NodalEquations,
    positions: Mapping[str, str],
    memory: Memory,
    setpoints: Mapping[str, float],
    opened: frozenset[str] = frozenset(),
    pinned: frozenset[str] = frozenset(),
    gives: Callable[[Supply, frozenset[str]], bool] | None = None,
) -> Situation:
    """What conducts with controls and conditions as given, and these unreliable joints open; what the engine moves
    is in its position where it is ``pinned``.

    ``gives`` answers for a damaged harness as ``Network.gives`` does for the sound one.
    """
    circuit = network.circuit
    engine = positions.get("engine", "off")
    turning = engine != "off"
    conducting = _conducting(network, positions, memory, pinned)
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


def is_stopped(solved: Solved, part: Part, lead: str, back: str) -> bool:
    """Whether an ignition part's stop lead is joined to its own return in the directions that it takes."""
    return all(
        solved.reaches(back, (lead,)) if backwards else solved.reaches(lead, (back,))
        for backwards in stop_directions(part)
    )


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


def _conducting(
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


def retune(network: NodalEquations, flow: Solved, setpoints: dict[str, float]) -> bool:
    """Move the volts of machines whose regulator senses elsewhere; whether any moved."""
    moved = False
    for supply, top, bottom in network.machines.senses:
        machine = next((m for m in flow.situation.machines if m.supply == supply), None)
        if machine is None:
            continue
        wanted = network.regulated[supply]
        miss = wanted - (flow.at(top) - flow.at(bottom) if senses(network, flow, supply, top, bottom) else 0.0)
        least, most = 0.5 * wanted, max(1.0, HIGHEST_SHARE * field_share(network, flow, supply)) * wanted
        better = min(max(setpoints[supply] + miss, least), most)
        if better > setpoints[supply] and -flow.law_amps[source_of(supply)] >= machine.amps:
            continue  # it runs at full output already
        if abs(better - setpoints[supply]) > SENSE_TOLERANCE:
            setpoints[supply] = better
            moved = True
    return moved


def senses(network: NodalEquations, flow: Solved, supply: str, top: str, bottom: str) -> bool:
    """Whether both sense terminals of a machine's regulator are connected to something that supplies: it senses nothing
    otherwise, and the alternator or dynamo runs at full output.
    """
    sources = [s for s in network.circuit.supplies if s.kind == "battery" or s.name == supply]
    fed = any(flow.reaches(plus, (top,)) for s in sources for plus in s.plus)
    return fed and flow.reaches(bottom, tuple(s.minus for s in sources))


def field_share(network: NodalEquations, flow: Solved, supply: str) -> float:
    """The share of its regulated volts that the best fed field of a machine gets: only a full field drives it up."""
    keys = network.machines.fields[supply] or (field_of(supply),)
    branches = [network.circuit.by_key[key] for key in keys if key in network.circuit.by_key]
    volts = (abs(flow.at(b.a) - flow.at(b.b)) for b in branches)
    return min(1.0, max(volts, default=0.0) / network.regulated[supply])


def changes_of(
    network: NodalEquations, flow: Solved, positions: Mapping[str, str], memory: Memory, fixed: frozenset[str]
) -> list[tuple[str, str]]:
    """The conditions, as (kind, name), that differ from what the volts say, in the order of the text.

    ``fixed``: latches that the controls set.
    """
    circuit = network.circuit
    nominal = circuit.harness.volts
    found: list[tuple[str, str]] = []
    for supply in circuit.supplies:
        if network.machines.fields.get(supply.name):
            excited = supply.name in memory.excited
            turning = positions.get("engine", "off") != "off"
            if (turning and _field_fed(network, flow, supply)) != excited:
                found.append(("excited", supply.name))
    for part in circuit.harness.parts.values():
        if part.name in circuit.removed:
            continue
        if isinstance(part, Relay) and part.coil:
            coil = circuit.coil_of(part.name)
            if coil is None:
                continue
            across = abs(flow.at(coil.a) - flow.at(coil.b))
            pulled = part.name in memory.pulled
            if across >= pulls_in(part, nominal) if not pulled else across < drops_out(part, nominal):
                found.append(("pulled", part.name))
        elif isinstance(part, Unit):
            found.extend(_unit_changes(network, flow, part, positions, memory, fixed))
    return found


def pulls_in(relay: Relay, nominal: float) -> float:
    """V across its coil from which a relay pulls in, in a system of ``nominal`` V."""
    return relay.pulls if relay.pulls is not None else figures().relay_pull_share * _made_for(relay, nominal)


def drops_out(relay: Relay, nominal: float) -> float:
    """V across its coil below which a relay that is in drops out."""
    return relay.holds if relay.holds is not None else figures().relay_drop_share * _made_for(relay, nominal)


def _made_for(relay: Relay, nominal: float) -> float:
    """V that its coil is made for."""
    return (relay.coil.rated_volts if relay.coil else None) or nominal


def _field_fed(network: NodalEquations, flow: Solved, supply: Supply) -> bool:
    """Whether a field gets the share of its full current that starts the machine, and without which it stops giving."""
    circuit = network.circuit
    for key in network.machines.fields[supply.name]:
        branch = circuit.by_key.get(key)
        if branch is not None:
            across = abs(flow.at(branch.a) - flow.at(branch.b))
            if across >= figures().field_start_share * network.regulated[supply.name]:
                return True
    return False


# --- units -----------------------------------------------------------------------------------------------------------
def set_latches(circuit: Circuit, positions: Mapping[str, str]) -> frozenset[str]:
    """The latches that the controls set."""
    return frozenset(
        name
        for part in circuit.harness.parts.values()
        if isinstance(part, Unit)
        for latch in part.latches
        if positions.get(name := inside(part.name, latch.name, Role.LATCH))
    )


def _unit_changes(
    network: NodalEquations,
    flow: Solved,
    unit: Unit,
    positions: Mapping[str, str],
    memory: Memory,
    fixed: frozenset[str],
) -> list[tuple[str, str]]:
    """Outputs and latches of a unit that differ from what its supply and inputs say."""
    circuit = network.circuit
    needed = shares()["unit supply"].works * circuit.harness.volts
    powered = {}
    for supply in unit.supplies:
        branch = circuit.by_key.get(unit_supply(unit, supply))
        powered[supply.name] = branch is not None and flow.at(branch.a) - flow.at(branch.b) >= needed
    awake = powered.get(unit.supplies[0].name, False) if unit.supplies else False
    inputs = {given.name: _readings(network, flow, unit, given, positions) if awake else NEVER for given in unit.inputs}

    def may(term: Condition, wanted: bool = True, *, at_once: bool = False) -> bool:
        """Whether a condition is as ``wanted`` at any moment of a turn of the engine; ``at_once``: while all that the
        engine moves is active.
        """
        match term:
            case Test(control):
                if control in inputs:
                    return wanted in inputs[control] and (wanted or not at_once or True not in inputs[control])
                return (inside(unit.name, control, Role.LATCH) in memory.latched) is wanted
            case Not(inner):
                return may(inner, not wanted, at_once=at_once)
            case All(terms):
                return (all if wanted else any)(may(t, wanted, at_once=at_once) for t in terms)
            case AnyOf(terms):
                return (any if wanted else all)(may(t, wanted, at_once=at_once) for t in terms)

    stopped = False
    if unit.stop_lead:
        lead, back = (End(unit.name, terminal) for terminal in unit.stop_lead)
        stopped = is_stopped(flow, unit, lead, back)
    found: list[tuple[str, str]] = []
    for latch in unit.latches:
        name = inside(unit.name, latch.name, Role.LATCH)
        latched = name in memory.latched
        # A toggled latch stands as it did: how often its button was pressed no state tells but one that names it.
        set_now = not latch.toggles and may(latch.set_when)
        stays = may(latch.cleared_when, False, at_once=not set_now)  # one pulse clears it, unless one sets it again
        wanted = awake and stays and (latched or set_now)
        if wanted != latched and name not in fixed:
            found.append(("latched", name))
    for output in unit.outputs:
        name = inside(unit.name, output.name, Role.OUTPUT)
        fed = awake and powered.get(output.supply, awake) and not stopped
        asked = output.when is None or may(output.when)  # on for its duty, whichever the engine asks for
        wanted = fed and (asked or name in memory.lasting & memory.on)
        if wanted != (name in memory.on):
            found.append(("on", name))
    return found


def signal_comes(network: NodalEquations, flow: Solved, node: str) -> bool:
    """Whether an input is joined to a sensor that gives its signal; so it is where the text shows none."""
    senders = network.topology.senders.get(node, ())
    return not senders or any(all(flow.reaches(at, (to,)) for at, to in ways) for ways in senders)


NEVER, EITHER, ACTIVE = frozenset({False}), frozenset({False, True}), frozenset({True})


def _readings(
    network: NodalEquations, flow: Solved, unit: Unit, given: UnitInput, positions: Mapping[str, str]
) -> frozenset[bool]:
    """Whether an input is active: both where that changes with every turn of the engine.

    It takes no current, so what it is joined to decides and not its volts.
    """
    closed = _active(network, flow, unit, given, positions)
    pulsing = flow.situation.pulsing
    if not closed or not pulsing:
        return ACTIVE if closed else NEVER  # what is open cannot join what is not joined with all of it closed
    if given.mode == "signal":
        return EITHER if inside(unit.name, given.name, Role.SIGNAL) in pulsing else ACTIVE
    return ACTIVE if _active(network, flow.parted, unit, given, positions) else EITHER


def _active(network: NodalEquations, flow: Solved, unit: Unit, given: UnitInput, positions: Mapping[str, str]) -> bool:
    """Whether an input is active with what conducts now.

    A signal comes while the engine turns, as long as what gives it is joined to the input and nobody says otherwise.
    """
    node = End(unit.name, given.terminal)
    if given.mode == "signal":
        name = inside(unit.name, given.name, Role.SIGNAL)
        comes = name in flow.situation.pulsing or positions.get(name) == "active"
        return comes and positions.get("engine", "off") != "off" and signal_comes(network, flow, node)
    if given.mode == "grounded":
        backs = (given.back,) if given.back else tuple(s.minus for s in unit.supplies)
        grounds = tuple(End(unit.name, back) for back in backs)
        return flow.reaches(node, grounds)
    return flow.fed(node)
