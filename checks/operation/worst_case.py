"""Which combination asks most of a device: the one in which the rated currents that hang on it add up to most.

Named states miss the worst one, and twenty controls have millions of combinations. But each consumer hangs on few
controls. So the sum is maximised one control after the other: what hangs on it is added up, its best position is kept
for every position of the others, and it is gone (elimination, as in dynamic programming). Exact, and quick.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import field
from functools import cached_property
from itertools import islice
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition
from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import Role, inside
from ...lang.model.parts import Unit, UnitOutput
from ...lang.records import dataclass
from ...lang.search.cones import Cones
from ..behaviour.latches import never_set
from ..dc.relay_fixed_point import Memory
from ..logic import TooWideError
from ..logic.predicates import AskedFor, Joined, JoinedInSeries
from ..logic.switching_network import latched
from .operation import holds_briefly

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.graphs import Net
    from ..logic import SwitchingLogic
    from ..logic.predicates import Question
    from .operation import OperatingPoint

    Floats = NDArray[np.float64]

MOST_TRIES = 16
"""Combinations that are tried for one device until one settles (ours); each that does not is said."""

POLES = -1
"""Stands for all poles of one side, drawn together, among the numbers of nets."""

MOST_CELLS = 1 << 20
"""Positions of several controls together that one step may keep (ours); beyond, one is fixed at its best by itself."""

WIDEST = 1 << 16
"""So many combinations what a consumer gets through others in series may hang on (ours): beyond, it counts where it is
joined, and what such a series leads, which is little, is left out."""

RUNNING_SHARE = 1.1
"""With the machine running volts are higher than the battery's, and so are most currents (ours)."""

Positions = dict[str, str]


@dataclass(frozen=True, slots=True)
class Group:
    """Consumers that hang on one device: with ``via``, those fed through this switched edge; ``off`` where a machine
    would feed them from the far side, so that only the battery counts; ``running`` where only the machine does.
    """

    consumers: frozenset[str]
    via: str = ""
    off: bool = False
    running: bool = False

    def order(self) -> tuple[int, str, list[str], bool, bool]:
        """The largest first, of two as large by name."""
        return -len(self.consumers), self.via, sorted(self.consumers), self.off, self.running


@dataclass(frozen=True, slots=True)
class Factor:
    """A number for every combination of the positions of some variables, one axis each."""

    names: tuple[str, ...]
    values: Floats


@dataclass(frozen=True, slots=True)
class Part:
    """Some of all combinations: those with some variables ``pinned`` in one position, and none in a ``barred`` one."""

    pinned: Mapping[str, int] = field(default_factory=dict)
    barred: Mapping[str, frozenset[int]] = field(default_factory=dict)


class WorstCase:
    """The worst combinations of one circuit. ``amps`` is the rated current of each consumer, by key; ``duties`` the
    share of the time, by key, for which some draw it while the engine turns. Standing still, they draw it all the time.
    """

    def __init__(self, logic: SwitchingLogic, amps: Mapping[str, float], duties: Mapping[str, float]) -> None:
        self.logic = logic
        self.circuit = logic.circuit
        self.amps = {key: size for key, size in amps.items() if size > 0.0}
        self._turning = {key: size * math.sqrt(duties.get(key, 1.0)) for key, size in self.amps.items()}
        self._factors: dict[str, Factor | None] = {}
        self._asked: dict[str, Factor | None] = {}
        self._paths: dict[tuple[Net, bool], frozenset[str]] = {}
        self._known: dict[
            tuple[frozenset[str], InPosition | None, bool, bool, bool, bool], tuple[Positions, float]
        ] = {}
        self._machines = any(s.kind == "machine" for s in self.circuit.supplies)

    def worst(
        self, named: Iterable[OperatingPoint], settles: Callable[[Positions, Memory], bool] | None = None
    ) -> Iterator[tuple[Positions, Memory]]:
        """Combinations to solve besides the ``named`` points: where controls stand, and what remembers.

        One serves many devices; those whose greatest sum a named point already has need none. Where a combination does
        not settle the next-worst is asked for, ``MOST_TRIES`` times.
        """
        known = [
            (
                # Only what the search can weigh, too: a state would else outweigh all by what lives behind a resistor.
                frozenset(
                    k for k in self.amps if self._factor(k) is not None and p.connectivity.joined(k, series=True)
                ),
                p.momentary,
                bool(p.flow.situation.machines),
                p.flow.situation.turning,
            )
            for p in named
            if not p.shorted and p.engine in ("off", "running")  # cranked or idling, volts and most currents are less
        ]
        groups = sorted(self._groups(), key=Group.order)
        for counted, group in itertools.product(self._doubts_both_ways, groups):
            usable = {key for key in group.consumers if self._factor(key) is not None}
            ceiling = max(
                self._sum(usable, charging=on, turning=on) for on in (False, True) if not self._off(group, on)
            )
            for held in (False, True):
                reached = max((self._score(group, k) for k in known if held or not k[1]), default=0.0)
                if reached >= ceiling - 1e-9:
                    continue
                for positions, score in islice(self._ranked(group, usable, held=held, counted=counted), MOST_TRIES):
                    if score <= reached + 1e-9:
                        break
                    controls, memory = self._split(positions)
                    if settles is None or settles(controls, memory):
                        if not counted:  # what works through loads may not, by numbers: it stands for nothing else
                            joined = frozenset(key for key in self.amps if self._joined_at(key, positions))
                            running = positions.get("engine") == "running"
                            known.append((joined, held, running and self._machines, running))
                        yield controls, memory
                        break

    @staticmethod
    def _off(group: Group, running: bool) -> bool:
        return (group.off and running) or (group.running and not running)

    def _score(self, group: Group, known: tuple[frozenset[str], bool, bool, bool]) -> float:
        joined, _, charging, turning = known
        if self._off(group, charging):
            return 0.0
        return self._sum(group.consumers & joined, charging=charging, turning=turning)

    def _sum(self, consumers: Iterable[str], *, charging: bool, turning: bool) -> float:
        """What some consumers draw together, in A; added up in one order, so that it is the same everywhere."""
        return sum(self._draws(key, charging=charging, turning=turning) for key in sorted(consumers))

    def _draws(self, key: str, *, charging: bool, turning: bool) -> float:
        return (self._turning if turning else self.amps)[key] * (RUNNING_SHARE if charging else 1.0)

    # --- what hangs on what ------------------------------------------------------------------------------------------
    def _groups(self) -> list[Group]:
        groups: dict[Group, None] = {}
        through: dict[str, set[str]] = {}
        for key in self.amps:
            for edge in self._edges_to(self.circuit.by_key[key]):
                through.setdefault(edge, set()).add(key)
        for edge, consumers in through.items():
            if self.circuit.by_key[edge].branch_type.consumes:
                continue
            groups.setdefault(Group(frozenset(consumers), via=edge))
        for far, machine in self._beyond_bridges():
            if far:
                groups.setdefault(Group(far, off=machine))
            near = frozenset(self.amps) - far
            if machine and near:
                groups.setdefault(Group(near, running=True))
        return list(groups)

    def _edges_to(self, branch: Branch) -> frozenset[str]:
        """The switched edges on any way from a + pole to a consumer and on to a - pole."""
        of = self.logic.network.nets.of
        a, b = of[branch.a], of[branch.b]
        found = self._edges_between(a, feed=True) | self._edges_between(b, feed=False)
        if branch.branch_type.as_load is Direction.BOTH:
            found |= self._edges_between(b, feed=True) | self._edges_between(a, feed=False)
        return found

    def _edges_between(self, net: Net, *, feed: bool) -> frozenset[str]:
        """The same between a net and the poles of one side, past none of the other side."""
        key = (net, feed)
        if key not in self._paths:
            poles, others = self._poles(feed), self._poles(not feed)
            if net in others:  # the way may begin at a pole of the other side
                cones = Cones(self._near(poles, others - {net}), self.logic.network.labels, POLES)
            else:
                cones = self._cones[feed]
            self._paths[key] = frozenset() if net in poles else self._along(cones.edges(net), net, poles, feed=feed)
        return self._paths[key]

    @cached_property
    def _cones(self) -> dict[bool, Cones]:
        """What can lie between the feed (else the return) poles and each net."""
        labels = self.logic.network.labels
        return {
            feed: Cones(self._near(self._poles(feed), self._poles(not feed)), labels, POLES) for feed in (True, False)
        }

    def _poles(self, feed: bool) -> frozenset[Net]:
        """The nets at which sources give current, else those at which they take it back."""
        origins = [o for o in self.logic.network.origins if o.kind != "winding"]
        return frozenset(o.plus if feed else o.minus for o in origins)

    def _near(self, poles: frozenset[Net], walls: frozenset[Net]) -> dict[Net, list[tuple[Net, int]]]:
        """What is beside each net, the poles drawn together and the walls left out."""
        network = self.logic.network
        near: dict[Net, list[tuple[Net, int]]] = {}
        for i in network.edges_of("series"):
            edge = network.wide_edges[i]
            if not {edge.a, edge.b} & walls:
                a, b = (POLES if net in poles else net for net in (edge.a, edge.b))
                near.setdefault(a, []).append((b, i))
                near.setdefault(b, []).append((a, i))
        return near

    def _along(self, edges: Iterable[int], net: Net, poles: frozenset[Net], *, feed: bool) -> frozenset[str]:
        """Those of some edges over which current can get from the poles to a net, or to the poles from it."""
        network = self.logic.network
        steps = []
        for i in edges:
            edge = network.wide_edges[i]
            a, b = (POLES if end in poles else end for end in (edge.a, edge.b))
            steps += [(a, b, i)] if edge.both or feed else []
            steps += [(b, a, i)] if edge.both or not feed else []
        begun = _reached(POLES, ((near, far) for near, far, _ in steps))
        ended = _reached(net, ((far, near) for near, far, _ in steps))
        return frozenset(network.wide_edges[i].branch.key for near, far, i in steps if near in begun and far in ended)

    def _beyond_bridges(self) -> Iterator[tuple[frozenset[str], bool]]:
        """For each conductor that alone joins two halves: the consumers beyond it, and whether a machine is there.

        One depth-first search (Tarjan 1974).
        """
        circuit = self.circuit
        hanging: dict[str, set[str]] = {}
        for key in self.amps:
            branch = circuit.by_key[key]
            hanging.setdefault(branch.a, set()).add(key)
            hanging.setdefault(branch.b, set()).add(key)
        machines = {pole for s in circuit.supplies if s.kind == "machine" for pole in (*s.plus, s.minus)}
        roots = [p for s in circuit.supplies if s.kind == "battery" for p in (s.plus[0], s.minus)] or sorted(machines)
        joined = {
            node: [b for b in touching if b.branch_type.joined is not Direction.NEVER or b.branch_type.in_series]
            for node, touching in circuit.at.items()
        }
        number: dict[str, int] = {}
        lowest: dict[str, int] = {}
        beyond: dict[str, tuple[set[str], bool]] = {}
        seen: set[tuple[frozenset[str], bool]] = set()
        for root in roots:
            if root in number:
                continue
            number[root] = lowest[root] = len(number)
            beyond[root] = (set(hanging.get(root, ())), root in machines)
            stack: list[tuple[str, str, Iterator[Branch]]] = [(root, "", iter(joined.get(root, ())))]
            while stack:
                node, by, rest = stack[-1]
                for branch in rest:
                    if branch.key == by:
                        continue
                    other = branch.b if branch.a == node else branch.a
                    if other in number:
                        lowest[node] = min(lowest[node], number[other])
                        continue
                    number[other] = lowest[other] = len(number)
                    beyond[other] = (set(hanging.get(other, ())), other in machines)
                    stack.append((other, branch.key, iter(joined.get(other, ()))))
                    break
                else:
                    stack.pop()
                    if not stack:
                        continue
                    above = stack[-1][0]
                    lowest[above] = min(lowest[above], lowest[node])
                    mine, machine = beyond[node]
                    consumers, has_machine = beyond[above]
                    beyond[above] = (consumers | mine, has_machine or machine)
                    entry = (frozenset(mine), machine)
                    if lowest[node] > number[above] and entry not in seen:
                        seen.add(entry)
                        yield entry

    # --- a number for every combination ------------------------------------------------------------------------------
    def _factor(self, key: str) -> Factor | None:
        """Where a consumer is joined, 1 or 0, over the variables that it hangs on; ``None``: never, or too wide."""
        if key not in self._factors:
            self._factors[key] = self._make_factor(key)
        return self._factors[key]

    def _make_factor(self, key: str) -> Factor | None:
        factor = self._factor_of(JoinedInSeries(key), WIDEST) or self._factor_of(Joined(key))
        return factor if factor is not None and factor.values.any() else None

    def _factor_of(self, asked: Question, widest: float = math.inf) -> Factor | None:
        """Where a question is so, 1 or 0, over the variables that it hangs on; ``None``: more than ``widest``
        combinations, or too wide.
        """
        import numpy as np

        if self.logic.size(self.logic.support(asked)) > widest:
            return None
        try:
            scope = self.logic.scope(asked)
        except TooWideError:
            return None
        table = asked.table(scope)
        needed = self.logic.support(asked)
        bits = np.unpackbits(
            np.frombuffer(table.to_bytes((scope.size + 7) // 8, "little"), dtype=np.uint8),
            count=scope.size,
            bitorder="little",
        )
        slowest_first = scope.variables[::-1]
        cube = bits.reshape([len(v.positions) for v in slowest_first])
        kept = [v for v in slowest_first if v.name in needed]
        part = cube[tuple(slice(None) if v.name in needed else 0 for v in slowest_first)]
        return Factor(tuple(v.name for v in kept), part.astype(float))

    def _joined_at(self, key: str, positions: Mapping[str, str]) -> bool:
        factor = self._factor(key)
        if factor is None:
            return False
        return self._so(factor, positions)

    def _so(self, factor: Factor, positions: Mapping[str, str]) -> bool:
        return bool(factor.values[tuple(self._at(name, positions.get(name)) for name in factor.names)] > 0.0)

    def _at(self, name: str, position: str | None) -> int:
        known = self.logic.network.variable(name).positions
        return known.index(position) if position is not None else 0

    # --- the best combination ----------------------------------------------------------------------------------------
    def _ranked(
        self, group: Group, usable: set[str], *, held: bool, counted: bool
    ) -> Iterator[tuple[Positions, float]]:
        """All combinations, the worst first (Lawler 1972: after each, the rest is parted by where it first differs).

        A part of the rest is worth no more than the whole of it was: it is searched when that is its turn, and seldom
        comes to it.
        """
        waiting: list[tuple[float, int, Part, Positions | None]] = [(-math.inf, 0, Part(), None)]
        count = 1
        while waiting:
            bound, number, part, positions = heapq.heappop(waiting)
            if positions is None:
                positions, score = self._best(group, usable, part, held=held, counted=counted)
                if -score > bound and math.isfinite(score):
                    heapq.heappush(waiting, (-score, number, part, positions))
                    continue
                if not math.isfinite(score):
                    continue
                bound = -score
            yield positions, -bound
            # A signal that is fixed while the engine is off is not while it runs.
            settled = self._fixed(sorted(positions), "running", held=held, counted=counted).keys() | part.pinned.keys()
            pinned = dict(part.pinned)
            for name, position in positions.items():
                size, place = len(self.logic.network.variable(name).positions), self._at(name, position)
                if name == "engine" or size == 1 or name in settled:
                    continue
                barred = {**part.barred, name: part.barred.get(name, frozenset()) | {place}}
                heapq.heappush(waiting, (bound, count, Part(dict(pinned), barred), None))
                count += 1
                pinned[name] = place

    def _best(
        self, group: Group, usable: set[str], part: Part, *, held: bool, counted: bool
    ) -> tuple[Positions, float]:
        """The worst combination of a part of them, and the A that it adds up to.

        Many devices have the same consumers behind them: the worst of all is worked out once for these.
        """
        if part.pinned or part.barred:
            return self._search(group, usable, part, held=held, counted=counted)
        guard = self.circuit.by_key[group.via].guard if group.via else None
        contact = guard if isinstance(guard, InPosition) else None
        key = (frozenset(usable), contact, group.off, group.running, held, counted)
        if key not in self._known:
            self._known[key] = self._search(group, usable, part, held=held, counted=counted)
        return self._known[key]

    def _search(
        self, group: Group, usable: set[str], part: Part, *, held: bool, counted: bool
    ) -> tuple[Positions, float]:
        joined = [(key, factor) for key in sorted(usable) if (factor := self._factor(key)) is not None]
        closed = self._closed(group.via) if group.via else None
        names = {name for _, factor in joined for name in factor.names}
        if closed is not None:
            names.update(closed.names)
        late = self._late(names, held=held)
        for factor in late:
            names.update(factor.names)
        found: list[tuple[Positions, float]] = []
        for engine in ("running", "off") if self._machines else ("off",):
            turning = engine == "running"
            if self._off(group, turning):
                continue
            fixed = self._fixed(sorted(names), engine, held=held, counted=counted)
            # Of the engine's two ways one may settle what the other leaves open.
            if any(fixed.get(name, place) != place for name, place in part.pinned.items()):
                continue
            if any(fixed.get(name) in places for name, places in part.barred.items()):
                continue
            fixed |= part.pinned
            factors = []
            for key, factor in joined:  # sliced first: what is left of it is small
                left = _sliced(factor, fixed)
                drawn = self._draws(key, charging=turning, turning=turning)
                factors.append(Factor(left.names, left.values * drawn))
            if closed is not None:
                factors.append(_sliced(closed, fixed))
            factors.extend(self._but(name, places) for name, places in part.barred.items() if name not in fixed)
            factors.extend(_sliced(factor, fixed) for factor in late)
            positions, total = _maximum(factors)
            chosen = {name: self.logic.network.variable(name).positions[at] for name, at in positions.items()}
            chosen |= {name: self.logic.network.variable(name).positions[at] for name, at in fixed.items()}
            chosen["engine"] = engine
            found.append((chosen, total))
        return max(found, key=lambda pair: pair[1], default=({}, -math.inf))

    def _but(self, name: str, places: frozenset[int]) -> Factor:
        """Minus infinity in some positions of one variable."""
        import numpy as np

        values = np.zeros(len(self.logic.network.variable(name).positions))
        values[sorted(places)] = -np.inf
        return Factor((name,), values)

    def _fixed(self, names: Sequence[str], engine: str, *, held: bool, counted: bool) -> dict[str, int]:
        """What has no choice: joints are joined, momentary controls at rest unless held, the engine as told; a sensor
        gives no signal while it stands; and a latch that can never be set is not. Whatever may work on what comes
        through other loads does (``counted``) or does not: numbers tell which of the two is true.
        """
        fixed = {}
        for name in names:
            control = self.circuit.controls.get(name)
            if name in self._barred:
                fixed[name] = self._at(name, "no")
            elif name == "engine":
                fixed[name] = self._at(name, engine)
            elif control is None:
                if name in self.logic.network.doubts:
                    fixed[name] = int(counted)
                elif name in self.logic.network.joints:
                    fixed[name] = 0
            elif (control.momentary and not held) or (engine == "off" and self.logic.network.is_signal(name)):
                fixed[name] = 0
        return fixed

    @cached_property
    def _doubts_both_ways(self) -> tuple[bool, ...]:
        return (False, True) if self.logic.network.doubts else (False,)

    @cached_property
    def _barred(self) -> frozenset[str]:
        """The conditions of latches that can never be set."""
        return frozenset(
            latched(unit.name, latch)
            for unit in self.circuit.harness.parts.values()
            if isinstance(unit, Unit) and unit.latches
            for latch in never_set(unit)
        )

    def _late(self, names: Iterable[str], *, held: bool) -> list[Factor]:
        """Minus infinity where an output, among ``names``, is on though nothing asks for it and it does not hold. What
        holds for a few seconds only counts where something is ``held``: it lasts no longer than that.
        """
        import numpy as np

        barred = []
        for name in sorted(names):
            condition = self.logic.network.conditions.get(name)
            asked = self._asked_for(name)
            if condition is None or asked is None:
                continue
            thing = condition.thing
            if self._timed[thing].holds is not None and (held or not holds_briefly(self.circuit, thing)):
                continue
            off = np.array([0.0 if at == "yes" else 1.0 for at in self.logic.network.variable(name).positions])
            barred.append(Factor((*asked.names, name), np.where(asked.values[..., None] + off > 0.0, 0.0, -np.inf)))
        return barred

    @cached_property
    def _timed(self) -> dict[str, UnitOutput]:
        """The outputs that follow late, by name (``CTRL.pump``)."""
        return {
            inside(unit.name, output.name, Role.OUTPUT): output
            for unit in self.circuit.harness.parts.values()
            if isinstance(unit, Unit)
            for output in unit.outputs
            if output.is_timed
        }

    def _asked_for(self, name: str) -> Factor | None:
        """Where what a late output follows is so, 1 or 0, by the output's condition; ``None``: no such one, or too
        wide.
        """
        if name not in self._asked:
            condition = self.logic.network.conditions.get(name)
            output = self._timed.get(condition.thing) if condition is not None and condition.kind == "on" else None
            unit = self.circuit.harness.parts[condition.part] if condition is not None else None
            if output is None or not isinstance(unit, Unit):
                self._asked[name] = None
            else:
                self._asked[name] = self._factor_of(AskedFor(unit, output))
        return self._asked[name]

    def _closed(self, key: str) -> Factor | None:
        """Minus infinity where a switch's contact is open; what relays and outputs do follows from their consumers."""
        import numpy as np

        guard = self.circuit.by_key[key].guard
        if not isinstance(guard, InPosition):
            return None
        positions = self.logic.network.variable(guard.control).positions
        values = [0.0 if position in guard.positions else -np.inf for position in positions]
        return Factor((guard.control,), np.array(values))

    def _split(self, positions: Mapping[str, str]) -> tuple[Positions, Memory]:
        """Controls, and what remembers, out of one combination of both."""
        conditions = self.logic.network.conditions
        controls = {name: at for name, at in positions.items() if name in self.circuit.controls}
        held: dict[str, set[str]] = {"pulled": set(), "on": set(), "set": set(), "excited": set()}
        for name, at in positions.items():
            condition = conditions.get(name)
            if condition is not None and at == "yes":
                thing = condition.thing
                held[condition.kind].add(thing)
                if condition.kind == "set":
                    controls[thing] = "set"
        pulled, on, set_, excited = (frozenset(held[kind]) for kind in ("pulled", "on", "set", "excited"))
        lasting = frozenset(
            conditions[name].thing
            for name, at in positions.items()
            if at == "yes" and (asked := self._asked_for(name)) is not None and not self._so(asked, positions)
        )
        return controls, Memory(pulled, on, set_, excited, lasting)


def _reached(start: Net, steps: Iterable[tuple[Net, Net]]) -> set[Net]:
    """The nets that some steps lead to."""
    onward: dict[Net, list[Net]] = {}
    for near, far in steps:
        onward.setdefault(near, []).append(far)
    met = {start}
    stack = [start]
    while stack:
        for far in onward.get(stack.pop(), ()):
            if far not in met:
                met.add(far)
                stack.append(far)
    return met


def _sliced(factor: Factor, fixed: Mapping[str, int]) -> Factor:
    names = tuple(name for name in factor.names if name not in fixed)
    return Factor(names, factor.values[tuple(fixed.get(name, slice(None)) for name in factor.names)])


def _maximum(factors: Iterable[Factor]) -> tuple[dict[str, int], float]:
    """The position of every variable at which the factors' sum is greatest; of several the first, which is rest."""
    import numpy as np

    sums = _Sums(factors)
    undo: list[tuple[str, tuple[str, ...], Floats]] = []
    while (name := sums.easiest()) is not None:
        if sums.cells[name] > MOST_CELLS:
            name, place = _best_alone(sums, name)
            undo.append((name, (), np.array(place)))
            for number in sorted(sums.of[name]):
                sums.put(_sliced(sums.take(number), {name: place}), number)
            continue
        around = tuple(sorted(sums.beside[name].keys() - {name}))
        axes = (name, *around)
        total = np.zeros([1] * len(axes))
        for number in sorted(sums.of[name]):
            factor = sums.take(number)
            order = sorted(range(len(factor.names)), key=lambda i: axes.index(factor.names[i]))
            view = factor.values.transpose(order)
            shape = [sums.sizes[axis] if axis in factor.names else 1 for axis in axes]
            total = total + view.reshape(shape)
        undo.append((name, around, total.argmax(axis=0)))
        sums.put(Factor(around, total.max(axis=0)))
    chosen: dict[str, int] = {}
    for name, around, places in reversed(undo):
        chosen[name] = int(places[tuple(chosen[other] for other in around)])
    return chosen, sums.constant


class _Sums:
    """Factors that are added up, so that one variable after the other can be taken out: what one leaves behind changes
    only its neighbours.

    ``factors`` by number; ``of`` each variable the numbers of its factors, ``beside`` each the others that share so
    many of these with it (itself among them), and ``cells`` the positions of all those together; ``constant`` is what
    hangs on no variable.
    """

    def __init__(self, factors: Iterable[Factor]) -> None:
        self.constant = 0.0
        self.sizes: dict[str, int] = {}
        self.factors: dict[int, Factor] = {}
        self.of: dict[str, set[int]] = {}
        self.beside: dict[str, Counter[str]] = {}
        self.cells: dict[str, int] = {}
        self._count = 0
        self._waiting: list[tuple[int, str]] = []
        for factor in factors:
            self.put(factor)

    def put(self, factor: Factor, number: int | None = None) -> None:
        """Add a factor, as the last one where it has no number yet."""
        if not factor.names:
            self.constant += float(factor.values)
            return
        if number is None:
            number = self._count
            self._count += 1
        self.factors[number] = factor
        self.sizes.update(zip(factor.names, factor.values.shape, strict=True))
        for name in factor.names:
            self.of.setdefault(name, set()).add(number)
            beside = self.beside.setdefault(name, Counter())
            for other in factor.names:
                if not beside[other]:
                    self.cells[name] = self.cells.get(name, 1) * self.sizes[other]
                beside[other] += 1
            heapq.heappush(self._waiting, (self.cells[name], name))

    def take(self, number: int) -> Factor:
        """Take a factor out."""
        factor = self.factors.pop(number)
        for name in factor.names:
            self.of[name].discard(number)
            beside = self.beside[name]
            for other in factor.names:
                beside[other] -= 1
                if not beside[other]:
                    del beside[other]
                    self.cells[name] //= self.sizes[other]
            heapq.heappush(self._waiting, (self.cells[name], name))
        return factor

    def easiest(self) -> str | None:
        """The variable with the fewest cells, the first by name; ``None`` where none is left."""
        while self._waiting:
            cells, name = heapq.heappop(self._waiting)
            if self.of[name] and cells == self.cells[name]:
                return name
        return None


def _best_alone(sums: _Sums, among: str) -> tuple[str, int]:
    """Of a variable and those beside it the one in most factors, and the position at which each of those could be
    greatest.
    """
    import numpy as np

    name = max(sums.beside[among], key=lambda n: (len(sums.of[n]), n))
    total = np.zeros(sums.sizes[name])
    for number in sorted(sums.of[name]):
        factor = sums.factors[number]
        axis = factor.names.index(name)
        total += factor.values.max(axis=tuple(i for i in range(len(factor.names)) if i != axis))
    return name, int(total.argmax())
