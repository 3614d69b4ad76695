"""What follows a fault in one state until all is at rest again: relays that drop out, units that switch off, machines
that stop giving, regulators that sense another voltage.

All faults of a state go together. Those that leave the same things conducting share one small matrix (``multiport``),
or in a large harness the blocks that it falls into (``tangents``); each goes on to the next as relays and outputs
change, until nothing does. What finds no rest that way, or whose numbers are not good enough, is solved plainly.
"""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.search.walks import closure
from ..ac.harmonics import swings
from ..dc.devices import UnsolvableError
from ..dc.flow import flow_of
from ..dc.memory import Memory
from ..dc.relay_fixed_point import UnsettledError
from ..dc.situation import Situation
from .after import After, felt
from .beside_windings import beside_windings
from .cases import Case, cycle
from .faulted_circuit import FaultedCircuit, SoundWays
from .ignition import Ignition, sparkless
from .movers import Movers
from .multiport import Multiport
from .plain import struck
from .situations import Situations
from .stators import lead_amps, swinging
from .tangents import Tangents
from .tuning import tuned
from .watched import watched

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..dc.flow import Flow
    from ..dc.laws import Laws
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint, Operation
    from .failure_modes import Damage

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


class Propagation:
    """The faults of one solved state."""

    def __init__(self, operation: Operation, point: OperatingPoint) -> None:
        self.operation = operation
        self.point = point
        self.network = point.flow.network
        self.ways = SoundWays(point)
        self._ports: dict[Situation, Multiport | Tangents | None] = {}
        self.ignition = Ignition(point, self.ways)
        self._movers = Movers(point, self.ways)
        self._situations = Situations(point, self.ways)

    def idle(self, branch: Branch) -> bool:
        """Whether opening a branch changes nothing: it carries nothing, and nobody watches what it joins."""
        return abs(self.point.amps(branch.key)) <= NO_CURRENT and branch.key not in self.watched

    @cached_property
    def watched(self) -> frozenset[str]:
        """Branches that tell something by what they join, with or without current."""
        return watched(self.point, self.ignition.stop_leads)

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
        groups: dict[tuple[Situation, Memory], list[Case]] = {}
        for number, damage in enumerate(damages):
            if not self._alters_stators(damage):
                self._set_out(groups, Case(number, damage, start, dict(self._setpoints)))
        while groups:
            cases = self._next(groups)
            while cases:
                turn, cases = cases[: self.turn], cases[self.turn :]
                for case, after in self._solved(turn):
                    if after is not None:
                        yield case.number, after
                    elif case.seen:
                        self._set_out(groups, case)

    def _next(self, groups: dict[tuple[Situation, Memory], list[Case]]) -> list[Case]:
        """Take out those that are solved at once next: of one situation, or of all that have the same tangents."""
        first = next(iter(groups))
        tangents = self._ports_of(first[0]) if self._is_large else None
        if not isinstance(tangents, Tangents):
            return groups.pop(first)
        found = []
        for asked in list(groups):
            other = self._ports_of(asked[0])
            if isinstance(other, Tangents) and other.alike(tangents):
                found += groups.pop(asked)
        return found

    def at_first(self, damages: Sequence[Damage], start: Memory | None = None) -> list[Floats | None]:
        """V of all nodes right after each of these, before any relay, output or machine has moved from ``start``, or
        from where it is; ``None`` where that has no solution here, or in a large harness.
        """
        start = self.point.memory if start is None else start
        if self._is_large or self.network.turns(self.point.engine) or any(map(self._alters_stators, damages)):
            return [None] * len(damages)
        groups: dict[tuple[Situation, Memory], list[Case]] = {}
        cases = [Case(i, damage, start, dict(self._setpoints)) for i, damage in enumerate(damages)]
        for case in cases:
            self._set_out(groups, case)
        for (situation, _), alike in groups.items():
            for first in range(0, len(alike), self.turn):
                ports = self._ports_of(situation)
                if isinstance(ports, Multiport):
                    tuned(self.point, ports, alike[first : first + self.turn])
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
            moments = tuple(self.after_flow(damage, *each) for each in error.moments) if damage.resisting else ()
            return After(damage, problem=str(error), restless=error.parts, moments=moments)
        except UnsolvableError as error:
            return After(damage, problem=str(error), restless=(error.part,))
        problem = "; ".join(self._lost(point.flow))
        return After(damage, problem=problem) if problem else self.after_flow(damage, point.memory, point.flow)

    def _lost(self, flow: Flow) -> Iterator[str]:
        """Why what the sound harness has solved, a rectifier or a winding, is not solved in a damaged one."""
        sound = self.point.flow
        told = {str(s.key) for s in self.point.circuit.supplies if s.phases} | set(sound.windings)
        told -= {each.winding for each in sound.left_out}
        for winding, why, _ in flow.left_out:
            if winding in told:
                yield f"{winding}: {why}"

    def after_flow(self, damage: Damage, memory: Memory, flow: Flow) -> After:
        """What flows in the damaged harness, as the sound one has its nodes."""
        import numpy as np

        index = flow.network.index
        volts = np.array([flow.volts[index[n]] if n in index else 0.0 for n in self.network.nodes])
        amps = np.array([flow.law_amps[key] for key in flow.laws.keys])
        stopped = self.ignition.stopped(flow) | sparkless(damage)
        unbroken = self.ignition.unbroken(FaultedCircuit(self.ways, flow.situation, damage))
        found = After(damage, memory, flow.situation, flow.laws, volts, amps, stopped, unbroken)
        swung = swings(flow)
        if swung is not None:
            still = np.zeros(len(swung))
            swung = np.array([swung[:, index[n]] if n in index else still for n in self.network.nodes]).T
        return replace(found, warming=swinging(flow), felt=felt(flow), leads=lead_amps(flow), swings=swung)

    @cached_property
    def _setpoints(self) -> dict[str, float]:
        """The volts that each machine is held at."""
        held = {m.supply: m.volts for m in self.point.flow.situation.machines}
        return {**{name: volts for name, volts in self.network.regulated.items() if name}, **held}

    def _set_out(self, groups: dict[tuple[Situation, Memory], list[Case]], case: Case) -> None:
        """Put a case to those that conduct alike."""
        situation = self._situations.situation(case.damage, case.memory)
        case.faulted_circuit = FaultedCircuit(self.ways, situation, case.damage)
        groups.setdefault((situation, case.memory), []).append(case)

    def _solved(self, cases: Sequence[Case]) -> Iterator[tuple[Case, After | None]]:
        """Each case of those that are solved at once with the state it has come to; with ``None`` where more must
        follow, its memory then changed, or where it must be solved plainly: then nothing is ``seen``.
        """
        ports = self._ports_of(cases[0].faulted_circuit.situation)
        if ports is None:
            for case in cases:
                case.seen = frozenset()
                yield case, None
            return
        if isinstance(ports, Tangents):
            each = [self._ports_of(case.faulted_circuit.situation) for case in cases]
            tuned(self.point, [one for one in each if isinstance(one, Tangents)], cases)
        else:
            tuned(self.point, ports, cases)
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
                    yield case, After(case.damage, problem=said, restless=names, moments=cycle(case.moments, turned))
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

    def _after(self, case: Case, laws: Laws) -> After:
        faulted_circuit = case.faulted_circuit
        stopped = self.ignition.stopped(faulted_circuit) | sparkless(case.damage)
        unbroken = self.ignition.unbroken(faulted_circuit)
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

    # --- what else moves ---------------------------------------------------------------------------------------------
    def _stirred(self, cases: Sequence[Case]) -> list[bool]:
        """The cases after which something may differ from what their memory says: asked closely then."""
        import numpy as np

        moved = self._movers.moved(np.array([case.faulted_circuit.volts for case in cases]))
        return [
            bool(moved[i])
            or case.memory != self.point.memory
            or bool(case.damage.grounded)
            or not self.watched.isdisjoint(case.damage.keys)
            or not self._movers.inner.isdisjoint(case.damage.keys)
            for i, case in enumerate(cases)
        ]
