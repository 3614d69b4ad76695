"""What follows a fault in one state until all is at rest again: relays that drop out, units that switch off, machines
that stop giving, regulators that sense another voltage.

All faults of a state go together. Those that leave the same things conducting share one small matrix (``multiport``),
or in a large harness the blocks that it falls into (``tangents``); each goes on to the next as relays and outputs
change, until nothing does. What finds no rest that way, or whose numbers are not good enough, is solved plainly.
"""

from __future__ import annotations

import importlib.util
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End, owner_of
from ...lang.model.parts import Load, Regulator, Unit
from ...lang.records import dataclass
from ...lang.search.walks import closure
from ..dc.conducting import conducting_of, situation_of
from ..dc.devices import UnsolvableError
from ..dc.flow import flow_of
from ..dc.memory import Memory
from ..dc.regulation import retune
from ..dc.relay_fixed_point import MOST_ROUNDS, UnsettledError
from ..dc.situation import Situation
from ..dc.solved import Solved, is_stopped
from .after import After, felt
from .beside_windings import beside_windings
from .departures import strike
from .failure_modes import Damage
from .faulted_circuit import FaultedCircuit, SoundWays
from .movers import Movers
from .multiport import Multiport
from .plain import struck
from .stators import lead_amps, swinging
from .tangents import Tangents

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch, Supply
    from ..dc.flow import Flow
    from ..dc.laws import Laws
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint, Operation

    Floats = NDArray[np.float64]

_HAS_SCIPY = importlib.util.find_spec("scipy") is not None

NO_CURRENT = 1e-6
"""A conductor that carries no more than this in A can open and nothing follows."""

MOST_NODES = 2000
MOST_LAWS = 200
"""Nodes and laws up to which faults are solved by full matrices (measured); beyond, in blocks, or without ``scipy``
plainly."""

MOST_NUMBERS = 4_000_000
"""Of the small matrices that are held at once: more faults than that go in turns."""

FEW_AT_ONCE = 4
"""Arrays as long as there are nodes that a fault of a large harness needs while it is solved."""

ABOVE = 1.001
"""Times its own volts at which a machine after a fault is solved plainly (ours)."""


class Propagation:
    """The faults of one solved state."""

    def __init__(self, operation: Operation, point: OperatingPoint) -> None:
        self.operation = operation
        self.point = point
        self.network = point.flow.network
        self.ways = SoundWays(point)
        self._ports: dict[Situation, Multiport | Tangents | None] = {}
        self._movers = Movers(point, self.ways)

    def idle(self, branch: Branch) -> bool:
        """Whether opening a branch changes nothing: it carries nothing, and nobody watches what it joins."""
        return abs(self.point.amps(branch.key)) <= NO_CURRENT and branch.key not in self.watched

    @cached_property
    def watched(self) -> frozenset[str]:
        """Branches that tell something by what they join, with or without current: to an input, a kill wire, a
        regulator, a rectifier.
        """
        found: set[str] = set()
        connectivity = self.point.connectivity
        circuit = self.point.circuit
        feeds = [pole for s in connectivity.sources for pole in s.plus]
        returns = [s.minus for s in connectivity.sources]
        for part in circuit.harness.parts.values():
            if part.name in circuit.removed:
                continue
            if isinstance(part, Unit):
                own = [End(part.name, s.minus) for s in part.supplies]
                for given in part.inputs:
                    node = End(part.name, given.terminal)
                    if given.mode == "grounded":
                        found.update(connectivity.between([node], [End(part.name, given.back)] if given.back else own))
                    elif given.mode == "fed":
                        plus = circuit.return_sign == "-"
                        found.update(
                            connectivity.between(feeds, [node]) if plus else connectivity.between([node], returns)
                        )
                    else:
                        for pairs in self.network.topology.senders.get(node, ()):
                            for at, to in pairs:
                                found.update(connectivity.between([at], [to]))
            elif isinstance(part, Regulator) and part.sense:
                top, bottom = (End(part.name, terminal) for terminal in part.sense)
                found.update(connectivity.between(feeds, [top]))
                found.update(connectivity.between([bottom], returns))
        for _, lead, back in self.stop_leads:
            found.update(connectivity.between([lead], [back]))
            found.update(connectivity.between([back], [lead]))
        for ends in self.network.machines.own_fields.values():
            for end, pole in ends:
                found.update(connectivity.between([end], [pole]))
        for supply in circuit.supplies:
            ways = [connectivity.between([phase], self.network.machines.stators) for phase in supply.phases]
            whole = self.network.is_measured(supply, self.point.flow.situation)
            if whole or sum(bool(way) for way in ways) == 2:  # of three phases of which none is measured one may go
                found.update(key for way in ways for key in way)
        return frozenset(found)

    # --- all together ------------------------------------------------------------------------------------------------
    def of(self, damages: Sequence[Damage], start: Memory | None = None) -> list[After]:
        """The state after each of these, one at a time; an ``After`` with a ``problem`` where it does not settle.

        ``start``: how what remembers is before it; as in the sound state if left out.
        """
        found = dict(self.each(damages, start))
        return [found[number] for number in range(len(damages))]

    def each(self, damages: Sequence[Damage], start: Memory | None = None) -> Iterator[tuple[int, After]]:
        """The same with the place of each damage, as each of them settles: whoever keeps no more of it than needed gets
        along with little memory.
        """
        start = self.point.memory if start is None else start
        if self.network.turns(self.point.engine):
            beside = self._beside_windings(damages, start)
            for number, damage in enumerate(damages):
                yield number, beside[number] if number in beside else self.plainly(damage, start)
            return
        if self._is_large and (not _HAS_SCIPY or any(damage.resisting for damage in damages)):
            yield from ((number, self._alone(damage, start)) for number, damage in enumerate(damages))
            return
        left = set(range(len(damages)))
        for number, after in self._together(damages, start):
            left.remove(number)
            yield number, after
        for number in sorted(left):
            yield number, self.plainly(damages[number], start)

    def _beside_windings(self, damages: Sequence[Damage], start: Memory) -> dict[int, After]:
        """By number, the state after those of these that leave what windings give as it is."""
        beside = None if self._is_large else beside_windings(self.point)
        if beside is None:
            return {}
        apart = [i for i, damage in enumerate(damages) if beside.untouched(damage)]
        found = self._together([damages[i] for i in apart], start)
        known = ((apart[i], beside.completed(after)) for i, after in found)
        return {i: after for i, after in known if after is not None}

    def _together(self, damages: Sequence[Damage], start: Memory) -> Iterator[tuple[int, After]]:
        """The state after each of these in direct current, by number; without those that must be solved plainly."""
        groups: dict[tuple[Situation, Memory], list[_Case]] = {}
        for number, damage in enumerate(damages):
            if not self._alters_stators(damage):
                self._set_out(groups, _Case(number, damage, start, dict(self._setpoints)))
        while groups:
            cases = groups.pop(next(iter(groups)))
            while cases:
                turn, cases = cases[: self.turn], cases[self.turn :]
                for case, after in self._solved(turn):
                    if after is not None:
                        yield case.number, after
                    elif case.seen:
                        self._set_out(groups, case)

    def at_first(self, damages: Sequence[Damage]) -> list[Floats | None]:
        """V of all nodes right after each of these, before any relay, output or machine has moved; ``None`` where that
        has no solution here, or in a large harness.
        """
        if self._is_large or self.network.turns(self.point.engine) or any(map(self._alters_stators, damages)):
            return [None] * len(damages)
        groups: dict[tuple[Situation, Memory], list[_Case]] = {}
        cases = [_Case(i, damage, self.point.memory, dict(self._setpoints)) for i, damage in enumerate(damages)]
        for case in cases:
            self._set_out(groups, case)
        for (situation, _), alike in groups.items():
            for first in range(0, len(alike), self.turn):
                ports = self._ports_of(situation)
                if ports is not None:
                    self._tuned(ports, alike[first : first + self.turn])
        return [case.faulted_circuit.volts if case.faulted_circuit.good else None for case in cases]

    def _alters_stators(self, damage: Damage) -> bool:
        """Whether a damage touches a measured stator and its rectifier: what that gives then is solved again."""
        if damage.joined:
            return True
        ends = {end for b in (*damage.opened, *(b for b, _ in damage.resisting)) for end in (b.a, b.b)}
        return not self._on_stators.isdisjoint(ends | {damage.grounded})

    @cached_property
    def _on_stators(self) -> frozenset[str]:
        """The terminals that copper and contacts, in any position, join to what measured stators are on."""
        supplies, situation = self.point.circuit.supplies, self.point.flow.situation
        found = [phase for s in supplies if self.network.is_measured(s, situation) for phase in s.phases]
        if not found:
            return frozenset()
        at = self.point.circuit.at

        def beside(node: str) -> Iterator[str]:
            return (b.other_end(node) for b in at.get(node, ()) if b.branch_type.joined is Direction.BOTH)

        return frozenset(closure((*found, *self.network.machines.stators), beside))

    @cached_property
    def _is_large(self) -> bool:
        return len(self.network.nodes) > MOST_NODES or self.point.flow.laws.bank.count > MOST_LAWS

    @cached_property
    def turn(self) -> int:
        """How many faults go at once."""
        each = FEW_AT_ONCE * len(self.network.nodes) if self._is_large else self.point.flow.laws.bank.count**2
        return max(1, MOST_NUMBERS // max(1, each))

    def _alone(self, damage: Damage, start: Memory) -> After:
        """The state after one damage of a large harness: of bad joints there are too many to solve them one by one."""
        if damage.resisting:
            return After(damage, problem="a bad joint in so large a harness is not solved")
        return self.plainly(damage, start)

    def plainly(self, damage: Damage, start: Memory | None = None) -> After:
        """The state after one damage, solved from the harness without what is damaged, and with a bad joint in it."""
        try:
            point = struck(self.operation, self.point, damage, start)
        except UnsettledError as error:
            moments = tuple(self._plain(damage, *each) for each in error.moments) if damage.resisting else ()
            return After(damage, problem=str(error), restless=error.parts, moments=moments)
        except UnsolvableError as error:
            return After(damage, problem=str(error), restless=(error.part,))
        problem = "; ".join(self._lost(point.flow))
        return After(damage, problem=problem) if problem else self._plain(damage, point.memory, point.flow)

    def _lost(self, flow: Flow) -> Iterator[str]:
        """Why what the sound harness has solved, a rectifier or a winding, is not solved in a damaged one."""
        sound = self.point.flow
        told = {str(s.key) for s in self.point.circuit.supplies if s.phases} | set(sound.windings)
        told -= {each.winding for each in sound.left_out}
        for winding, why, _ in flow.left_out:
            if winding in told:
                yield f"{winding}: {why}"

    def _plain(self, damage: Damage, memory: Memory, flow: Flow) -> After:
        """What flows in the damaged harness, as the sound one has its nodes."""
        import numpy as np

        index = flow.network.index
        read = flow.readings
        volts = np.array([read[index[n]] if n in index else 0.0 for n in self.network.nodes])
        amps = np.array([flow.law_amps[key] for key in flow.laws.keys])
        stopped, unbroken = self.stopped(flow), self._unbroken(FaultedCircuit(self.ways, flow.situation, damage))
        found = After(damage, memory, flow.situation, flow.laws, volts, amps, stopped, unbroken)
        return replace(found, warming=swinging(flow), felt=felt(flow), leads=lead_amps(flow))

    @cached_property
    def _setpoints(self) -> dict[str, float]:
        """The volts that each machine is held at."""
        held = {m.supply: m.volts for m in self.point.flow.situation.machines}
        return {**{name: volts for name, volts in self.network.regulated.items() if name}, **held}

    def _set_out(self, groups: dict[tuple[Situation, Memory], list[_Case]], case: _Case) -> None:
        """Put a case to those that conduct alike."""
        situation = self._situation(case)
        case.faulted_circuit = FaultedCircuit(self.ways, situation, case.damage)
        groups.setdefault((situation, case.memory), []).append(case)

    def _situation(self, case: _Case) -> Situation:
        """What conducts, the damage apart, machines at their regulated volts: those are a case's own."""
        faulted_circuit = FaultedCircuit(self.ways, self.point.flow.situation, case.damage)
        given: dict[str, bool] = {}

        def gives(supply: Supply, conducting: frozenset[str]) -> bool:
            if supply.name not in given:
                given[supply.name] = faulted_circuit.gives(supply, conducting)
            return given[supply.name]

        conducting = self._conducting(case.memory)
        machines = [supply for supply in self.point.circuit.supplies if supply.kind == "machine"]
        rested = case.memory == self.point.memory
        asked = tuple(gives(supply, conducting) for supply in machines)
        if rested and asked in self._rested:
            return self._rested[asked]
        found = situation_of(
            self.network,
            self.point.positions,
            case.memory,
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

    def _solved(self, cases: Sequence[_Case]) -> Iterator[tuple[_Case, After | None]]:
        """Each case of one situation with the state it has come to; with ``None`` where more must follow, its memory
        then changed, or where it must be solved plainly: then nothing is ``seen``.
        """
        ports = self._ports_of(cases[0].faulted_circuit.situation)
        if ports is None:
            for case in cases:
                case.seen = frozenset()
                yield case, None
            return
        self._tuned(ports, cases)
        stirred = self._stirred(cases)
        for case, moved in zip(cases, stirred, strict=True):
            faulted_circuit = case.faulted_circuit
            changes: list[tuple[str, str]] = []
            if not faulted_circuit.good:
                case.seen = frozenset()
                yield case, None
                continue
            if moved:
                changes = self._movers.changes(faulted_circuit, case.memory, case.damage)
            if not changes:
                yield case, self._after(case, ports.laws)
                continue
            turned = case.memory
            for kind, name in changes:
                turned = turned.turned(kind, name)
            again = turned in case.seen or turned == case.memory
            if case.damage.resisting:
                case.moments.append(self._after(case, ports.laws))
                if again:
                    names = tuple(dict.fromkeys(name for _, name in changes))
                    said = f"{', '.join(names)} keeps switching"
                    yield case, After(case.damage, problem=said, restless=names, moments=_cycle(case.moments, turned))
                    continue
            case.seen = frozenset() if again else case.seen | {case.memory}
            case.memory = turned
            yield case, None

    def _ports_of(self, situation: Situation) -> Multiport | Tangents | None:
        """``None`` where the sound harness, a large one, has no operating point in a situation."""
        if situation not in self._ports:
            if self._is_large:
                self._ports[situation] = self._tangents(self.network, situation)
            else:
                self._ports[situation] = Multiport(self.network, situation)
        return self._ports[situation]

    @cached_property
    def _sound(self) -> Situation:
        """The situation of the sound harness, machines at their regulated volts."""
        situation, regulated = self.point.flow.situation, self.network.regulated
        return replace(situation, machines=tuple(replace(m, volts=regulated[m.supply]) for m in situation.machines))

    def _tangents(self, network: NodalEquations, situation: Situation) -> Tangents | None:
        """The tangents of a situation, at the volts that the sound harness has in it."""
        sound = self._ports.get(self._sound)
        switched = sound.switched(situation) if isinstance(sound, Tangents) else None
        if switched is not None:
            return switched
        flow = self.point.flow
        tuned = tuple(replace(m, volts=self._setpoints[m.supply]) for m in situation.machines)
        if replace(situation, machines=tuned) != flow.situation:
            try:
                flow = flow_of(network, replace(situation, machines=tuned), flow)
            except UnsolvableError:
                return None
        return Tangents(network, situation, flow.kept, self._setpoints)

    def _after(self, case: _Case, laws: Laws) -> After:
        faulted_circuit = case.faulted_circuit
        stopped, unbroken = self.stopped(faulted_circuit), self._unbroken(faulted_circuit)
        return After(
            case.damage,
            case.memory,
            faulted_circuit.situation,
            laws,
            faulted_circuit.volts,
            faulted_circuit.amps,
            stopped,
            unbroken,
        )

    def stopped(self, solved: Solved) -> frozenset[str]:
        """The ignition parts whose kill wire is connected to their own return, in the directions that it takes."""
        return frozenset(
            name
            for name, lead, back in self.stop_leads
            if is_stopped(solved, self.point.circuit.harness.parts[name], lead, back)
        )

    def _unbroken(self, faulted_circuit: FaultedCircuit) -> frozenset[str]:
        """The elements that a source now drives past the crank switch or the output of an ignition unit that
        interrupted them: a coil gives no spark so.

        Only what is shorted to ground leads past it.
        """
        if not faulted_circuit.grounded:
            return frozenset()
        return frozenset(b.key for b in self._interrupted if self._driven(b, faulted_circuit, self._interrupters))

    @cached_property
    def _interrupted(self) -> tuple[Branch, ...]:
        """The ignition elements that a source drives through a crank switch, or an ignition unit's output, alone."""
        sound = FaultedCircuit(self.ways, self.point.flow.situation, Damage())
        return tuple(
            branch
            for branch in (self.point.circuit.branches if self._interrupters else ())
            if branch.branch_type is BranchType.IGNITION
            and self._driven(branch, sound, frozenset())
            and not self._driven(branch, sound, self._interrupters)
        )

    @cached_property
    def _interrupters(self) -> frozenset[str]:
        """The keys of what opens and closes as the engine turns: contacts, and the outputs of ignition units."""
        situation = self.point.flow.situation
        if not situation.turning:
            return frozenset()
        parts = self.point.circuit.harness.parts
        units = {part.name for part in parts.values() if isinstance(part, Unit) and part.is_ignition}
        outputs = (key for _, key in self.network.topology.guards.outputs if owner_of(key) in units)
        return situation.pulsing.union(outputs)

    def _driven(self, branch: Branch, faulted_circuit: FaultedCircuit, without: frozenset[str]) -> bool:
        """Whether an element is connected to one source at both ends while these contacts are open."""
        conducting = faulted_circuit.situation.conducting - without
        return any(
            any(faulted_circuit.leads(plus, (enter,), conducting) for plus in supply.plus)
            and faulted_circuit.leads(leave, (supply.minus,), conducting)
            for supply in self.point.connectivity.sources
            for enter, leave in ((branch.a, branch.b), (branch.b, branch.a))
        )

    @cached_property
    def stop_leads(self) -> tuple[tuple[str, str, str], ...]:
        """The name, kill wire and own return of every ignition part that has one."""
        return tuple(
            (part.name, End(part.name, part.stop_lead[0]), End(part.name, part.stop_lead[1]))
            for part in self.point.circuit.harness.parts.values()
            if isinstance(part, Load | Unit) and part.stop_lead and part.name not in self.point.circuit.removed
        )

    def _tuned(self, ports: Multiport | Tangents, cases: Sequence[_Case]) -> None:
        """Solve some cases of one situation, their machines tuned until regulators feel what they want."""
        import numpy as np

        place = ports.laws.place
        machines = [m.supply for m in ports.situation.machines]
        rows = list(cases)
        start = self.point.flow.kept
        for _ in range(MOST_ROUNDS):
            along = np.zeros((len(rows), ports.laws.bank.count))
            for name in machines:
                along[:, place[name]] = [case.setpoints[name] - self.network.regulated[name] for case in rows]
            damages = [case.damage for case in rows]
            if isinstance(ports, Multiport):
                found = ports.strike(damages, along, start)
            else:
                found = strike(ports, damages, along)
            again = []
            for i, case in enumerate(rows):
                faulted_circuit = case.faulted_circuit
                faulted_circuit.volts, faulted_circuit.amps, faulted_circuit.good = (
                    found.volts[i],
                    found.law_amps[i],
                    bool(found.good[i]),
                )
                faulted_circuit.laws = ports.laws
                if isinstance(ports, Multiport):
                    self._let_fall(faulted_circuit, case.damage)
                faulted_circuit.good = faulted_circuit.good and not self._adrift(faulted_circuit, case.setpoints)
                if faulted_circuit.good and retune(self.network, faulted_circuit, case.setpoints):
                    again.append(i)
            if not again:
                return
            rows = [rows[i] for i in again]
            start = found.kept[again]
        for case in rows:
            case.faulted_circuit.good = False

    def _let_fall(self, faulted_circuit: FaultedCircuit, damage: Damage) -> None:
        """Put what a law that is gone parted from the rest on its own 0 V, and on 0 V what nothing feeds any more: the
        little that is left of the law would hold both up.
        """
        if not any(branch.key in faulted_circuit.laws.place for branch in damage.opened):
            return
        network, volts = self.network, faulted_circuit.volts
        left = set(network.nodes)
        for pole in network.return_poles:
            if network.nodes[pole] in left:
                island = network.paths.joined_to(
                    (network.nodes[pole],), faulted_circuit.situation, damage.keys, damage.grounded
                )
                places = [network.index[node] for node in sorted(island)]
                volts[places] -= volts[pole]
                left -= island
        volts[[network.index[node] for node in sorted(left)]] = 0.0

    def _adrift(self, faulted_circuit: FaultedCircuit, setpoints: Mapping[str, float]) -> bool:
        """Whether a machine is above its volts: it gives nothing then, and a lone one could be at any."""
        running = {m.supply for m in faulted_circuit.situation.machines}
        return any(
            faulted_circuit.at(s.plus[0]) - faulted_circuit.at(s.minus) > ABOVE * setpoints[s.name]
            for s in self.point.circuit.supplies
            if s.name in running
        )

    # --- what else moves ---------------------------------------------------------------------------------------------
    def _stirred(self, cases: Sequence[_Case]) -> list[bool]:
        """The cases after which something may differ from what their memory says: asked closely then."""
        import numpy as np

        moved = self._movers.moved(np.array([case.faulted_circuit.volts for case in cases]))
        return [
            bool(moved[i])
            or case.memory != self.point.memory
            or bool(case.damage.grounded)
            or not self.watched.isdisjoint(case.damage.keys)
            for i, case in enumerate(cases)
        ]


def _cycle(moments: Sequence[After], again: Memory) -> tuple[After, ...]:
    """The moments that follow one another without end, from the one whose memory comes ``again``: what was on the way
    to them, as a relay that had yet to pull in, is never there again.
    """
    first = next((place for place, moment in enumerate(moments) if moment.memory == again), 0)
    return tuple(moments[first:])


@dataclass
class _Case:
    """A damage on its way to rest. ``memory`` is what they remember now, ``seen`` what they did before; ``setpoints``
    the volts that its machines are held at.
    """

    number: int
    damage: Damage
    memory: Memory
    setpoints: dict[str, float]
    seen: frozenset[Memory] = frozenset()
    moments: list[After] = field(default_factory=list)
    faulted_circuit: FaultedCircuit = field(init=False)
