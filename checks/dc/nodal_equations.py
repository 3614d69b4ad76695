"""A circuit as numbers: nodes, resistances and laws; what never moves reduced once, the rest put in by combination."""

from __future__ import annotations

import importlib.util
import os
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, On, Pulled
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import BranchId, End, field_of
from ...lang.model.parts import Element, Rectifier, Regulator, Sensor, Source, Unit
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet
from . import device_models as laws
from . import devices as elements
from .connectivity import Connectivity, always
from .devices import Missing, Rated, UnsolvableError
from .kron_reduction import Reduction, stamp
from .newton import Conductances, Dense, NotConvergedError, Sparse, solve

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported: at these sizes threads only cost

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Nets
    from .device_models import Curve

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

TIE = 1.0
"""Siemens by which one node of every island hangs on 0 V. Nothing flows there: an island has no other way to 0 V."""

DENSE_LIMIT = 400
"""Nodes up to which a dense matrix is the quicker one (measured); beyond, a sparse one where ``scipy`` is there."""


NO_CURRENT = 1e-6
"""A below which a branch carries nothing (ours)."""

Ways = tuple[tuple[str, str], ...]
"""Pairs of nodes that are joined."""


@dataclass(frozen=True, slots=True)
class Guards:
    """The keys of the branches that may be open, by what moves them; ``crank`` is what the engine moves.

    ``positions``: (key, guard, whether its control is free while the engine turns); ``relays``: (relay, keys while
    pulled, keys while released); ``outputs``: (unit.output, key); ``joints``: those not to be relied on.
    """

    positions: tuple[tuple[str, InPosition, bool], ...]
    relays: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]
    outputs: tuple[tuple[str, str], ...]
    joints: tuple[str, ...]
    crank: frozenset[str]


@dataclass(frozen=True, slots=True)
class Running:
    """A machine that gives current: up to ``amps``, held at ``volts``.

    ``ripple`` is what of these amps the battery lends while all circuits of a duty are closed, and takes back while
    they are open: in so short a time its own volts stay. On the average the machine gives up to ``lasting``.
    """

    supply: str
    amps: float
    volts: float
    ripple: float = 0.0

    @property
    def lasting(self) -> float:
        return self.amps - self.ripple


@dataclass(frozen=True)
class Situation:
    """What conducts in one combination: the guarded branches that do, and how the rest stands.

    ``turning``: the engine turns. ``asleep``: units take what they take asleep. ``pulsing``: the contacts that open and
    close as the engine turns, by key, and the signals that come and go, by the names of their controls. ``resting``:
    elements of a duty, by key, in the share of time in which their circuit is open. ``steady``: elements of a duty that
    draw their mean A all the time instead.
    """

    conducting: frozenset[str]
    turning: bool = False
    asleep: bool = False
    machines: tuple[Running, ...] = ()
    pulsing: frozenset[str] = frozenset()
    resting: frozenset[str] = frozenset()
    steady: tuple[tuple[str, float], ...] = ()

    @cached_property
    def paused(self) -> frozenset[str]:
        """The elements that are no part of the network as they are rated: those at rest, and those at their mean."""
        return self.resting.union(key for key, _ in self.steady) if self.steady else self.resting


@dataclass(frozen=True)
class Flow:
    """A solved situation. ``kept`` volts of the nodes that were solved; everything else follows from them."""

    network: NodalEquations
    situation: Situation
    kept: Floats = field(repr=False)
    laws: Laws = field(repr=False)

    @cached_property
    def volts(self) -> Floats:
        """Volts of all nodes against the system's ground, in the order of ``network.nodes``."""
        return self.network.all_volts(self.kept)

    def at(self, node: str) -> float:
        return float(self.volts[self.network.index[node]])

    @cached_property
    def amps(self) -> dict[str, float]:
        """The current through every branch, ``a`` to ``b``, by key; 0 where it is open."""
        return self.network.branch_amps(self)

    @cached_property
    def law_amps(self) -> dict[str, float]:
        """The same of the laws alone, sources among them: what a source takes at its +."""
        across = self.kept[self.laws.tops] - self.kept[self.laws.bottoms]
        return dict(zip(self.laws.keys, self.laws.bank.amps(across).tolist(), strict=True))

    @cached_property
    def connectivity(self) -> Connectivity:
        """What is joined to what."""
        return Connectivity(self)

    @cached_property
    def parted(self) -> Flow:
        """What is joined to what while the contacts that the engine moves are open; no volts are to be asked of it."""
        situation = self.situation
        opened = replace(situation, conducting=situation.conducting - situation.pulsing, pulsing=frozenset())
        return replace(self, situation=opened)

    @cached_property
    def duties(self) -> dict[str, float]:
        """The elements of a duty that draw current here, by key, with its share of the time; none at standstill."""
        if not self.situation.turning:
            return {}
        amps = self.amps
        return {key: duty for key, duty in self.network.duties.items() if abs(amps[key]) > NO_CURRENT}

    @cached_property
    def moments(self) -> tuple[tuple[float, Flow], ...]:
        """This flow, in which all circuits of a duty are closed, and those in which some are open: share of time, flow.

        Which of several coils are closed together the text does not say: the one of less duty is taken to be closed
        within the other's time, which asks most of the wires.
        """
        if not self.duties:
            return ((1.0, self),)
        shares = sorted(set(self.duties.values()))
        found = [(shares[0], self)]
        for share, longer in zip(shares, (*shares[1:], 1.0), strict=True):
            open_now = frozenset(key for key, duty in self.duties.items() if duty <= share)
            if longer > share:
                spared = sum(abs(self.amps[key]) for key in sorted(open_now))
                found.append((longer - share, self.network.solve(self._spared(spared, open_now), self)))
        return tuple(found)

    def _spared(self, amps: float, resting: frozenset[str]) -> Situation:
        """The situation while elements of a duty that draw so many A are open: what the battery lent for them, it takes
        back.
        """
        lent = sum(m.ripple for m in self.situation.machines) or 1.0
        machines = tuple(
            replace(m, amps=max(m.amps - amps * m.ripple / lent, 0.1 * m.lasting)) for m in self.situation.machines
        )
        return replace(self.situation, machines=machines, resting=resting)

    @cached_property
    def mean(self) -> Flow:
        """The flow with every element of a duty at its mean current: what fills or drains a battery."""
        if not self.duties:
            return self
        steady = tuple((key, duty * self.amps[key]) for key, duty in self.duties.items())
        machines = tuple(replace(m, amps=m.lasting, ripple=0.0) for m in self.situation.machines)
        return self.network.solve(replace(self.situation, steady=steady, machines=machines), self)

    @cached_property
    def heating(self) -> dict[str, float]:
        """The root of the mean square of the current through every branch and source, in A: what warms copper."""
        if not self.duties:
            return {key: abs(amps) for key, amps in self.amps.items()}
        found = dict.fromkeys(self.amps, 0.0)
        for share, flow in self.moments:
            for key, amps in flow.amps.items():
                found[key] += share * amps * amps
        return {key: square**0.5 for key, square in found.items()}

    def reaches(self, start: str, ends: tuple[str, ...]) -> bool:
        """Whether current can come from a terminal to one of some others through what joins."""
        return self.network.reaches(self.situation.conducting, start, ends)

    def fed(self, node: str) -> bool:
        """Whether a terminal is joined to the feed pole of a source."""
        return self.connectivity.fed(node)


class NodalEquations:
    """The numbers of one circuit, prepared once; ``solve`` then costs a fraction of a millisecond a situation."""

    def __init__(
        self, circuit: Circuit, like: NodalEquations | None = None, resisting: Iterable[tuple[str, float]] = ()
    ) -> None:
        """``like``: the numbers of a harness that this one comes from by taking something out; ``resisting``: plain
        resistances, by key, with so many ohms too many.
        """
        self.circuit = circuit
        self._like = like
        self._last: tuple[object, _Prepared] | None = None
        self._impossible: UnsolvableError | None = None
        self.regulated = _regulated(circuit)
        self.duties: dict[str, float] = {
            b.key: b.item.duty for b in circuit.branches if isinstance(b.item, Element) and b.item.duty < 1.0
        }
        known = like.rated if like is not None else {}
        self.rated: dict[str, Rated] = {b.key: known.get(b.key) or elements.rated(b, circuit) for b in circuit.branches}
        for key, more in resisting:
            sound = self.rated[key].ohms
            if sound is not None:
                self.rated[key] = replace(self.rated[key], ohms=sound + more)
        self.references = _references(circuit)
        missing = [m for rating in self.rated.values() for m in rating.missing]
        names: dict[str, int] = {}
        for branch in circuit.branches:
            names.setdefault(branch.a, len(names))
            names.setdefault(branch.b, len(names))
        for supply in circuit.supplies:
            for node in (*supply.plus, supply.minus):
                names.setdefault(node, len(names))
        for reference in self.references.values():
            names.setdefault(reference, len(names))
        self.batteries: list[tuple[Supply, Curve]] = []
        for supply in circuit.supplies:
            if supply.kind == "battery":
                rating = elements.source_curve(supply, circuit.harness, self.regulated[""])
                missing.extend(rating.missing)
                if rating.impossible:
                    self._impossible = UnsolvableError(supply.name, rating.impossible)
                if rating.curve:
                    self.batteries.append((supply, rating.curve))
            elif supply.kind == "machine":
                names.setdefault(_inner(supply), len(names))
                if supply.output is not None and supply.output.watts is None:
                    missing.append(Missing(supply.name, "output in W", "as much as is asked"))
                elif supply.output is not None and supply.output.idle is None:
                    missing.append(Missing(supply.name, "idle in W", "as when running"))
        self.missing: tuple[Missing, ...] = tuple(dict.fromkeys(missing))
        self.index = names
        self.nodes = tuple(names)
        self._reduce()

    # --- once a circuit ----------------------------------------------------------------------------------------------
    def _reduce(self) -> None:
        """Sort the branches and take out every node that only plain, unguarded resistances touch."""
        index = self.index
        self.static: list[Branch] = []
        self.guarded: list[Branch] = []
        self.curved: list[Branch] = []
        resistors: list[tuple[int, int, float]] = []
        keep: set[int] = {index[node] for node in self.references.values()}
        for branch in self.circuit.branches:
            rating = self.rated[branch.key]
            a, b = index[branch.a], index[branch.b]
            if rating.curve is not None:
                self.curved.append(branch)
                keep.update((a, b))
            elif rating.ohms is None:
                if branch.branch_type is BranchType.SUPPLY:
                    keep.update((a, b))
            elif not always(branch) or branch.key in self.duties:
                self.guarded.append(branch)
                keep.update((a, b))
            else:
                self.static.append(branch)
                resistors.append((a, b, 1.0 / rating.ohms))
        for supply in self.circuit.supplies:
            keep.update(index[node] for node in (*supply.plus, supply.minus))
            if supply.kind == "machine":
                keep.add(index[_inner(supply)])
        self.reduction = Reduction(len(self.nodes), resistors, keep)
        self.kept_count = len(self.reduction.kept)

    @property
    def nets(self) -> Nets:
        return self.circuit.nets

    @cached_property
    def steps(self) -> dict[int, list[tuple[int, str | None]]]:
        """For each net, where current goes by what joins: the other net, and the key of what may open on the way."""
        found: dict[int, list[tuple[int, str | None]]] = {}
        for edge in self.nets.switched:
            key = None if always(edge.branch) else edge.branch.key
            found.setdefault(edge.a, []).append((edge.b, key))
            if edge.both:
                found.setdefault(edge.b, []).append((edge.a, key))
        return found

    @cached_property
    def guards(self) -> Guards:
        """What moves the branches that may be open."""
        positions, outputs, joints = [], [], []
        relays: dict[str, tuple[list[str], list[str]]] = {}
        for branch in self.circuit.branches:
            match branch.guard:
                case InPosition(control) as guard:
                    positions.append((branch.key, guard, self.circuit.controls[control].free))
                case Pulled(relay, pulled):
                    relays.setdefault(relay, ([], []))[not pulled].append(branch.key)
                case On(unit, output):
                    outputs.append((f"{unit}.{output}", branch.key))
                case None if not branch.reliable:
                    joints.append(branch.key)
        return Guards(
            tuple(positions),
            tuple((relay, tuple(pulled), tuple(released)) for relay, (pulled, released) in relays.items()),
            tuple(outputs),
            tuple(joints),
            frozenset(key for key, _, free in positions if free)
            | {name for name, control in self.circuit.controls.items() if control.free and not control.switches},
        )

    @cached_property
    def senders(self) -> dict[str, tuple[Ways, ...]]:
        """For each signal input (``CTRL.P``) the sensors that it is wired to in the whole harness.

        Each as what must be joined: the input to one terminal of the sensor, the input's return to the other.
        """
        if self._like is not None:
            return self._like.senders
        of, parts = self.nets.of, self.circuit.harness.parts.values()
        pairs = [
            tuple(End(part.name, t) for t in part.signal) for part in parts if isinstance(part, Sensor) and part.signal
        ]
        found: dict[str, tuple[Ways, ...]] = {}
        for unit in parts:
            for given in unit.inputs if isinstance(unit, Unit) else ():
                if given.mode != "signal":
                    continue
                own = [End(unit.name, t) for t in (given.terminal, given.back) if t]
                ways = [tuple(zip(own, pair, strict=False)) for a, b in pairs for pair in ((a, b), (b, a))]
                found[own[0]] = tuple(w for w in ways if all(of.get(x) == of.get(y) for x, y in w))
        return found

    def reaches(self, conducting: frozenset[str], start: str, ends: tuple[str, ...]) -> bool:
        """Whether current can come from a terminal to one of some others through what joins.

        Asked again and again of the same terminals, of which each hangs on few contacts: kept by how those stand.
        """
        if start not in self.nets.of:
            return False
        deciding = self._deciding.get((start, ends))
        if deciding is None:
            deciding = self._deciding[start, ends] = self._between(start, ends)
        asked = (start, ends, conducting & deciding)
        known = self._reached.get(asked)
        if known is None:
            known = self._reached[asked] = self._reaches(*asked)
        return known

    @cached_property
    def _deciding(self) -> dict[tuple[str, tuple[str, ...]], frozenset[str]]:
        return {}

    @cached_property
    def _reached(self) -> dict[tuple[str, tuple[str, ...], frozenset[str]], bool]:
        return {}

    def _between(self, start: str, ends: tuple[str, ...]) -> frozenset[str]:
        """The keys of all that may open and can be met on the way from a terminal to others."""
        of = self.nets.of
        goal = {of[node] for node in ends if node in of}
        found = {of[start]}
        open_ends = list(found - goal)
        keys = set()
        while open_ends:
            for other, key in self.steps.get(open_ends.pop(), ()):
                if key is not None:
                    keys.add(key)
                if other not in found:
                    found.add(other)
                    if other not in goal:
                        open_ends.append(other)
        return frozenset(keys)

    def _reaches(self, start: str, ends: tuple[str, ...], conducting: frozenset[str]) -> bool:
        of = self.nets.of
        goal = {of[node] for node in ends if node in of}
        found = {of[start]}
        open_ends = list(found)
        while open_ends:
            net = open_ends.pop()
            if net in goal:
                return True
            for other, key in self.steps.get(net, ()):
                if other not in found and (key is None or key in conducting):
                    found.add(other)
                    open_ends.append(other)
        return False

    def gives(self, supply: Supply, conducting: frozenset[str]) -> bool:
        """Whether a machine that turns can give anything: at least two of its phases have their alternator, since
        between two of them there is a voltage, and the field that it excites itself by is at its poles.
        """
        if supply.phases:
            phases, stators, surely = self._phases[supply.name]
            if not surely and sum(self.reaches(conducting, phase, stators) for phase in phases) < 2:
                return False
        return all(self.reaches(conducting, end, (pole,)) for end, pole in self.own_fields.get(supply.name, ()))

    @cached_property
    def own_fields(self) -> dict[str, Ways]:
        """For each dynamo the ends of its field, and the poles that these are joined to in the whole harness.

        One whose field goes elsewhere is taken at its word; where an end goes nowhere it is to reach some pole.
        """
        if self._like is not None:
            return self._like.own_fields
        of = self.nets.of
        found: dict[str, Ways] = {}
        for supply in self.circuit.supplies:
            part = self.circuit.harness.parts.get(supply.name)
            if not isinstance(part, Source) or part.what != "dynamo" or part.field_winding is None:
                continue
            ends = End(part.name, part.field_winding.plus), End(part.name, part.field_winding.minus)
            for poles in ((supply.plus[0], supply.minus), (supply.minus, supply.plus[0])):
                pairs = tuple(zip(ends, poles, strict=True))
                if all(of[end] == of[pole] or len(self.nets.nodes[of[end]]) == 1 for end, pole in pairs):
                    found[supply.name] = pairs
        return found

    @cached_property
    def _phases(self) -> dict[str, tuple[tuple[str, ...], tuple[str, ...], bool]]:
        """For each rectifier its phases, the ends of all stators, and whether nothing can part the two."""
        stators = self.stators
        return {
            s.name: (s.phases, stators, sum(self.reaches(frozenset(), p, stators) for p in s.phases) >= 2)
            for s in self.circuit.supplies
            if s.phases
        }

    @cached_property
    def fields(self) -> dict[str, tuple[BranchId, ...]]:
        """For each machine the fields of which one must be fed first; none where it excites itself.

        A rectifier on an alternator of permanent magnets has no field, whatever else the harness holds.
        """
        parts = self.circuit.harness.parts
        found = {}
        for supply in self.circuit.supplies:
            if supply.kind != "machine":
                continue
            keys = supply.field_keys
            if supply.phases:
                stators = [p for p in parts.values() if isinstance(p, Source) and (p.phases or p.windings)]
                if any(p.field_winding is None for p in stators):
                    keys = ()
            found[supply.name] = keys
        return found

    @cached_property
    def ripple(self) -> float:
        """A that all elements of a duty draw while closed above what they draw on the average, at rated volts; 0 where
        no battery is there to lend them.
        """
        if not self.batteries:
            return 0.0
        return sum((1.0 - duty) * (self.rated[key].amps or 0.0) for key, duty in self.duties.items())

    @cached_property
    def field_siemens(self) -> dict[str, float]:
        """For each machine, what its own field takes a volt."""
        parts = self.circuit.harness.parts
        found = {}
        for supply in self.circuit.supplies:
            own = parts.get(supply.name)
            keys = set(self.fields.get(supply.name, ()))
            if isinstance(own, Source) and own.field_winding is not None:
                keys.add(field_of(own.name))
            ohms = [self.rated[key].ohms for key in keys if key in self.rated]
            found[supply.name] = sum(1.0 / each for each in ohms if each)
        return found

    @cached_property
    def senses(self) -> tuple[tuple[str, str, str], ...]:
        """For each machine whose regulator senses elsewhere: its name, the sense terminal and the one it is held to."""
        circuit = self.circuit
        found = []
        for supply in circuit.supplies:
            own = circuit.harness.parts.get(supply.name)
            has_field = isinstance(own, Source) and own.field_winding is not None
            if supply.kind != "machine" or not (has_field or self.fields[supply.name]):
                continue
            for part in circuit.harness.parts.values():
                if isinstance(part, Regulator) and part.sense and part.passes and part.name not in circuit.removed:
                    top, bottom = (End(part.name, terminal) for terminal in part.sense)
                    found.append((supply.name, top, bottom))
                    break
        return tuple(found)

    def all_volts(self, kept: Floats) -> Floats:
        return self.reduction.volts(kept, dense=self.kept_count <= DENSE_LIMIT)

    @cached_property
    def _static_arrays(self) -> tuple[Places, Places, Floats]:
        import numpy as np

        return (
            np.array([self.index[b.a] for b in self.static], dtype=np.intp),
            np.array([self.index[b.b] for b in self.static], dtype=np.intp),
            np.array([1.0 / (self.rated[b.key].ohms or 1.0) for b in self.static]),
        )

    # --- once a situation --------------------------------------------------------------------------------------------
    def solve(self, situation: Situation, start: Flow | None = None) -> Flow:
        """Volts of every node in a situation; ``start``: a solved one near by.

        Raises ``UnsolvableError`` with the part at which no operating point was found.
        """
        import numpy as np

        if self._impossible is not None:
            raise self._impossible
        prepared = self._prepared(situation)
        chosen = prepared.laws.running(situation.machines, self.regulated)
        first = np.zeros(self.kept_count) if start is None else start.kept
        try:
            kept = solve(prepared.linear, chosen.bank, chosen.tops, chosen.bottoms, first)
        except NotConvergedError as error:
            name = self.nodes[self.reduction.kept[error.node]]
            raise UnsolvableError(
                name.partition(".")[0],
                f"no operating point found: the currents at {name} miss zero by {shown(error.amps)} A;"
                " check the ratings of what hangs there",
            ) from error
        return Flow(self, situation, kept, chosen)

    def _prepared(self, situation: Situation) -> _Prepared:
        """The matrix and the laws of a situation; the last ones are kept, since machines are tuned by solving again."""
        running = tuple((m.supply, m.amps) for m in situation.machines)
        key = (situation.conducting, situation.asleep, situation.resting, situation.steady, running)
        if self._last is None or self._last[0] != key:
            self._last = (key, self._prepare(situation))
        return self._last[1]

    def _prepare(self, situation: Situation) -> _Prepared:
        edges, chosen = self._edges(situation), self._laws(situation)
        ties = self._ties(edges, chosen)
        if self.kept_count > DENSE_LIMIT and importlib.util.find_spec("scipy") is not None:
            return _Prepared(self._sparse((*self.reduction.edges, *edges), ties), chosen)
        return _Prepared(Dense(self._dense(edges, ties)), chosen)

    def reduced(self, situation: Situation) -> tuple[Floats, Laws]:
        """The plain resistances of a situation between the nodes that stay, in S, and its laws."""
        edges, chosen = self._edges(situation), self._laws(situation)
        return self._dense(edges, self._ties(edges, chosen)), chosen

    def _edges(self, situation: Situation) -> list[tuple[int, int, float]]:
        """The guarded resistances that conduct in a situation, between nodes that stay."""
        place, index = self.reduction.place, self.index
        return [
            (place[index[b.a]], place[index[b.b]], self.siemens(b))
            for b in self.guarded
            if (always(b) or b.key in situation.conducting) and b.key not in situation.paused
        ]

    def _dense(self, edges: Sequence[tuple[int, int, float]], ties: Collection[int]) -> Floats:
        matrix = self.reduction.matrix.copy()
        stamp(matrix, edges)
        for node in ties:
            matrix[node, node] += TIE
        return matrix

    def _sparse(self, edges: Sequence[tuple[int, int, float]], ties: Collection[int]) -> Conductances:
        import numpy as np

        a = np.array([edge[0] for edge in edges], dtype=np.intp)
        b = np.array([edge[1] for edge in edges], dtype=np.intp)
        siemens = np.array([edge[2] for edge in edges], dtype=float)
        tied = np.array(list(ties), dtype=np.intp)
        rows = np.concatenate((a, b, a, b, tied))
        columns = np.concatenate((a, b, b, a, tied))
        values = np.concatenate((siemens, siemens, -siemens, -siemens, np.full(tied.size, TIE)))
        return Sparse(rows, columns, values, self.kept_count)

    def _laws(self, situation: Situation) -> Laws:
        """The laws that count in a situation, machines held at their regulated volts."""
        harness = self.circuit.harness
        turning = {m.supply: m for m in situation.machines}
        keys: list[str] = []
        curves: list[Curve] = []
        ends: list[tuple[str, str]] = []

        def add(name: str, a: str, b: str, curve: Curve) -> None:
            keys.append(name)
            ends.append((a, b))
            curves.append(curve)

        for branch in self.curved:
            curve = self.rated[branch.key].curve
            if branch.key in situation.paused or not (always(branch) or branch.key in situation.conducting):
                continue
            if branch.branch_type is BranchType.LEG and branch.part in turning:
                continue  # what the legs carry is the machine's
            if branch.branch_type is BranchType.SUPPLY and situation.asleep:
                curve = elements.supply_draw(branch, harness, asleep=True).curve
            if curve is not None:
                add(branch.key, self.references.get(branch.key, branch.a), branch.b, curve)
        for key, amps in situation.steady:
            branch = self.circuit.by_key[key]
            add(key, branch.a, branch.b, laws.constant(amps))
        for supply, curve in self.batteries:
            add(supply.name, supply.plus[0], supply.minus, curve)
        for supply in self.circuit.supplies:
            machine = turning.get(supply.name)
            if machine is None or supply.kind != "machine":
                continue
            branch_type = laws.machine(self.regulated[supply.name], machine.amps, elements.MACHINE_OHMS)
            if len(supply.plus) == 1:
                add(supply.name, supply.plus[0], supply.minus, branch_type)
            else:
                add(supply.name, _inner(supply), supply.minus, branch_type)
                for plus in supply.plus:
                    add(tap_key(supply, plus), _inner(supply), plus, laws.one_way(elements.TAP_SIEMENS))
        tops = [self.reduction.place[self.index[a]] for a, _ in ends]
        bottoms = [self.reduction.place[self.index[b]] for _, b in ends]
        return Laws(tuple(keys), laws.DeviceBank(curves), tops, bottoms)

    def _ties(self, edges: Sequence[tuple[int, int, float]], chosen: Laws) -> tuple[int, ...]:
        """For each island of a situation the node at which it hangs on 0 V."""
        labels = self.reduction.labels
        merged: DisjointSet[int] = DisjointSet(range(max(labels, default=-1) + 1))
        for a, b, siemens in edges:
            if siemens > 0.0:
                merged.merge(labels[a], labels[b])
        for a, b in zip(chosen.top_list, chosen.bottom_list, strict=True):
            merged.merge(labels[a], labels[b])
        ties: dict[int, int] = {}
        for node in self._grounds:
            ties.setdefault(merged.leader(labels[node]), node)
        for label, node in enumerate(self._firsts):
            ties.setdefault(merged.leader(label), node)
        return tuple(ties.values())

    @cached_property
    def _firsts(self) -> tuple[int, ...]:
        """The first node with each label."""
        found: dict[int, int] = {}
        for node, label in enumerate(self.reduction.labels):
            found.setdefault(label, node)
        return tuple(found[label] for label in range(len(found)))

    @cached_property
    def _grounds(self) -> tuple[int, ...]:
        """The return poles among the nodes that stay."""
        return tuple(self.reduction.place[node] for node in self.return_poles)

    @cached_property
    def return_poles(self) -> tuple[int, ...]:
        """Return poles of the sources, batteries first: what an island's 0 V is, in that order; by index."""
        sign = self.circuit.return_sign
        poles = [
            supply.minus if sign == "-" else supply.plus[0]
            for supply in sorted(self.circuit.supplies, key=lambda s: s.kind != "battery")
        ]
        return tuple(self.index[node] for node in poles)

    @cached_property
    def stators(self) -> tuple[str, ...]:
        """The terminals at which alternators give alternating current."""
        return tuple(
            End(part.name, terminal)
            for part in self.circuit.harness.parts.values()
            if isinstance(part, Source) and part.name not in self.circuit.removed
            for terminal in (*part.phases, *(t for winding in part.windings for t in winding.terminals))
        )

    def siemens(self, branch: Branch) -> float:
        """The conductance of a plain resistance; duty is a share of time, so it is that of the closed circuit."""
        return 1.0 / (self.rated[branch.key].ohms or 1.0)

    def reached_by_sources(self, flow: Flow) -> frozenset[str]:
        """The nodes with a way to a source through anything that conducts; the volts of others mean nothing."""
        running = {m.supply for m in flow.situation.machines}
        poles = [
            pole
            for s in self.circuit.supplies
            if s.kind == "battery" or s.name in running
            for pole in (*s.plus, s.minus)
        ]
        return frozenset(self.joined_to(poles, flow.situation))

    def joined_to(
        self, nodes: Sequence[str], situation: Situation, gone: frozenset[str] = frozenset(), grounded: str = ""
    ) -> set[str]:
        """The nodes with a way to some others through anything that conducts, while branches are ``gone``, by key, and
        a node is ``grounded`` (``""``: none). A source joins its poles.
        """
        circuit = self.circuit
        extra: dict[str, list[str]] = {}
        if grounded:
            extra = {grounded: [circuit.ground], circuit.ground: [grounded]}
        running = {m.supply for m in situation.machines}
        for supply in circuit.supplies:
            if supply.kind == "battery" or supply.name in running:
                poles = [*supply.plus, supply.minus]
                for pole in poles:
                    extra.setdefault(pole, []).extend(poles)
        met = set(nodes)
        open_ends = list(nodes)
        beside, conducting = self._beside, situation.conducting
        while open_ends:
            node = open_ends.pop()
            for other in extra.get(node, ()):
                if other not in met:
                    met.add(other)
                    open_ends.append(other)
            for other, key, closed in beside.get(node, ()):
                if other not in met and (closed or key in conducting) and key not in gone:
                    met.add(other)
                    open_ends.append(other)
        return met

    @cached_property
    def _beside(self) -> dict[str, list[tuple[str, str, bool]]]:
        """What is beside each node over anything that conducts: the other node, the branch's key, whether always."""
        return {
            node: [
                (branch.b if branch.a == node else branch.a, branch.key, always(branch))
                for branch in branches
                if self.rated[branch.key].ohms is not None or self.rated[branch.key].curve is not None
            ]
            for node, branches in self.circuit.at.items()
        }

    # --- afterwards --------------------------------------------------------------------------------------------------
    def branch_amps(self, flow: Flow) -> dict[str, float]:
        """Currents by branch key, and of sources by their name (what they take: below zero is given)."""
        volts = flow.volts
        tops, bottoms, siemens = self._static_arrays
        through = (volts[tops] - volts[bottoms]) * siemens
        found: dict[str, float] = dict.fromkeys((b.key for b in self.circuit.branches), 0.0)
        found.update(zip((b.key for b in self.static), through.tolist(), strict=True))
        situation = flow.situation
        for branch in self.guarded:
            if (always(branch) or branch.key in situation.conducting) and branch.key not in situation.paused:
                drop = float(volts[self.index[branch.a]] - volts[self.index[branch.b]])
                found[branch.key] = drop * self.siemens(branch)
        found.update(flow.law_amps)
        return found


@dataclass(frozen=True)
class Laws:
    """The laws of one situation, by branch key or source name, and the kept nodes that each lies between."""

    keys: tuple[str, ...]
    bank: laws.DeviceBank
    top_list: list[int]
    bottom_list: list[int]

    @cached_property
    def tops(self) -> Places:
        import numpy as np

        return np.array(self.top_list, dtype=np.intp)

    @cached_property
    def bottoms(self) -> Places:
        import numpy as np

        return np.array(self.bottom_list, dtype=np.intp)

    @cached_property
    def place(self) -> dict[str, int]:
        return {key: i for i, key in enumerate(self.keys)}

    def running(self, machines: Sequence[Running], regulated: Mapping[str, float]) -> Laws:
        """The same with machines held at other volts than the regulated ones."""
        import numpy as np

        along = np.zeros(len(self.keys))
        for machine in machines:
            along[self.place[machine.supply]] = machine.volts - regulated[machine.supply]
        if not along.any():
            return self
        changed = Laws(self.keys, self.bank.moved(along), self.top_list, self.bottom_list)
        changed.__dict__.update(tops=self.tops, bottoms=self.bottoms, place=self.place)
        return changed


@dataclass(frozen=True)
class _Prepared:
    """The plain resistances and the laws of a situation."""

    linear: Conductances
    laws: Laws


def _references(circuit: Circuit) -> dict[str, str]:
    """The outputs that give volts of their own, by key, with the return of their supply, against which they give them.

    What they give is in what the unit takes at its supply: its rating says that.
    """
    found: dict[str, str] = {}
    for part in circuit.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        returns = {supply.name: End(part.name, supply.minus) for supply in reversed(part.supplies)}
        for output in part.outputs:
            branch = circuit.element(part.name, output.name)
            if branch is not None and elements.reference_volts(branch, circuit.harness) is not None:
                first = End(part.name, part.supplies[0].minus)
                found[branch.key] = returns.get(output.supply, first)
    return found


def _inner(supply: Supply) -> str:
    """The inside of a machine, behind its several + terminals; no terminal can be called that."""
    return f"{supply.name} inside"


def tap_key(supply: Supply, plus: str) -> str:
    """What the current out of one of a machine's several + terminals goes by among the laws."""
    return f"{supply.name} {plus}"


def _regulated(circuit: Circuit) -> dict[str, float]:
    """The regulated volts of each machine, and under "" those that a battery is charged with."""
    parts = circuit.harness.parts
    regulators = [p.regulated for p in parts.values() if isinstance(p, Regulator) and p.regulated and p.passes]
    usual = regulators[0] if regulators else elements.default_regulated(circuit.harness.volts)
    own: dict[str, float] = {}
    for supply in circuit.supplies:
        part = parts.get(supply.name)
        if supply.kind == "machine" and isinstance(part, Source | Rectifier):
            own[supply.name] = part.regulated or usual
    return {**own, "": max(own.values(), default=usual)}
