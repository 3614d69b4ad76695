"""A circuit as numbers: nodes, resistances and laws; what never moves reduced once, the rest put in by combination."""

from __future__ import annotations

import importlib.util
import os
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import Law
from ...lang.model import Element, Rectifier, Regulator, Source
from . import elements, laws
from .elements import Missing, Rated, UnsolvableError
from .joins import Joins, always
from .newton import Conductances, Dense, NotConvergedError, Sparse, solve

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported: at these sizes threads only cost

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit import Branch, Circuit, Supply
    from ...lang.graphs import Nets
    from .laws import Curve

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

TIE = 1.0
"""Siemens by which one node of every island hangs on 0 V. Nothing flows there: an island has no other way to 0 V."""

DENSE_LIMIT = 400
"""Nodes up to which a dense matrix is the quicker one (measured); beyond, a sparse one where ``scipy`` is there."""


@dataclass(frozen=True, slots=True)
class Running:
    """A machine that gives current: up to ``amps``, held at ``volts``."""

    supply: str
    amps: float
    volts: float


@dataclass(frozen=True)
class Situation:
    """What conducts in one combination: the guarded branches that do, and how the rest stands.

    ``turning``: the engine turns, so ignition counts by its duty. ``asleep``: units take what they take asleep.
    """

    conducting: frozenset[str]
    turning: bool = False
    asleep: bool = False
    machines: tuple[Running, ...] = ()


@dataclass(frozen=True)
class Flow:
    """A solved situation. ``kept`` volts of the nodes that were solved; everything else follows from them."""

    network: Network
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
    def joins(self) -> Joins:
        """What is joined to what."""
        return Joins(self)


class Network:
    """The numbers of one circuit, prepared once; ``solve`` then costs a fraction of a millisecond a situation."""

    def __init__(self, circuit: Circuit, like: Network | None = None) -> None:
        """``like``: the numbers of a harness that this one comes from by taking something out."""
        self.circuit = circuit
        self._last: tuple[object, _Prepared] | None = None
        self._impossible: UnsolvableError | None = None
        self.regulated = _regulated(circuit)
        known = like.rated if like is not None else {}
        self.rated: dict[str, Rated] = {b.key: known.get(b.key) or elements.rated(b, circuit) for b in circuit.branches}
        missing = [m for rating in self.rated.values() for m in rating.missing]
        names: dict[str, int] = {}
        for branch in circuit.branches:
            names.setdefault(branch.a, len(names))
            names.setdefault(branch.b, len(names))
        for supply in circuit.supplies:
            for node in (*supply.plus, supply.minus):
                names.setdefault(node, len(names))
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
        around: dict[int, dict[int, float]] = {}
        keep: set[int] = set()
        for branch in self.circuit.branches:
            rating = self.rated[branch.key]
            a, b = index[branch.a], index[branch.b]
            if rating.curve is not None:
                self.curved.append(branch)
                keep.update((a, b))
            elif rating.ohms is None:
                if branch.law is Law.SUPPLY:
                    keep.update((a, b))
            elif not always(branch) or _has_duty(branch):
                self.guarded.append(branch)
                keep.update((a, b))
            else:
                self.static.append(branch)
                if a != b:
                    siemens = 1.0 / rating.ohms
                    for x, y in ((a, b), (b, a)):
                        near = around.setdefault(x, {})
                        near[y] = near.get(y, 0.0) + siemens
        for supply in self.circuit.supplies:
            keep.update(index[node] for node in (*supply.plus, supply.minus))
            if supply.kind == "machine":
                keep.add(index[_inner(supply)])
        self._gone = _eliminate(around, keep)
        gone = {node for node, _ in self._gone}
        kept = [i for i in range(len(self.nodes)) if i not in gone]
        self._place = {node: place for place, node in enumerate(kept)}
        self.kept_count = len(kept)
        self._edges = [
            (self._place[a], self._place[b], siemens)
            for a, near in around.items()
            if a not in gone
            for b, siemens in near.items()
            if a < b
        ]
        self._labels = _components(len(kept), [(a, b) for a, b, _ in self._edges])

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
    def moving(self) -> tuple[Branch, ...]:
        """The branches that may be open."""
        return tuple(b for b in self.circuit.branches if not always(b))

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

    def phases_joined(self, supply: str, conducting: frozenset[str]) -> bool:
        """Whether at least two phases of a rectifier have their alternator: between two of them it has a voltage."""
        phases, stators, surely = self._phases[supply]
        return surely or sum(self.reaches(conducting, phase, stators) for phase in phases) >= 2

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
    def fields(self) -> dict[str, tuple[str, ...]]:
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
    def field_siemens(self) -> dict[str, float]:
        """For each machine, what its own field takes a volt."""
        parts = self.circuit.harness.parts
        found = {}
        for supply in self.circuit.supplies:
            own = parts.get(supply.name)
            keys = set(self.fields.get(supply.name, ()))
            if isinstance(own, Source) and own.field_winding is not None:
                keys.add(f"{own.name} field")
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
                    top, bottom = (f"{part.name}.{terminal}" for terminal in part.sense)
                    found.append((supply.name, top, bottom))
                    break
        return tuple(found)

    @cached_property
    def _dense_static(self) -> Floats:
        import numpy as np

        matrix = np.zeros((self.kept_count, self.kept_count))
        for a, b, siemens in self._edges:
            matrix[a, a] += siemens
            matrix[b, b] += siemens
            matrix[a, b] -= siemens
            matrix[b, a] -= siemens
        return matrix

    @cached_property
    def _recovery(self) -> Floats:
        """Matrix that gives the volts of all nodes from those of the kept ones."""
        import numpy as np

        matrix = np.zeros((len(self.nodes), self.kept_count))
        for node, place in self._place.items():
            matrix[node, place] = 1.0
        for node, near in reversed(self._gone):
            total = sum(siemens for _, siemens in near)
            for other, siemens in near:
                matrix[node] += siemens / total * matrix[other]
        return matrix

    def all_volts(self, kept: Floats) -> Floats:
        import numpy as np

        if self.kept_count <= DENSE_LIMIT:
            return np.asarray(self._recovery @ kept)
        volts = np.zeros(len(self.nodes))
        volts[list(self._place)] = kept
        for node, near in reversed(self._gone):
            total = sum(siemens for _, siemens in near)
            volts[node] = sum(siemens * volts[other] for other, siemens in near) / total if total else 0.0
        return volts

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
        chosen = prepared.laws.running(situation.machines)
        first = np.zeros(self.kept_count) if start is None else start.kept
        try:
            kept = solve(prepared.linear, chosen.bank, chosen.tops, chosen.bottoms, first)
        except NotConvergedError as error:
            name = self.nodes[list(self._place)[error.node]]
            raise UnsolvableError(
                name.partition(".")[0],
                f"no operating point found: the currents at {name} miss zero by {error.amps:.3g} A;"
                " check the ratings of what hangs there",
            ) from error
        return Flow(self, situation, kept, chosen)

    def _prepared(self, situation: Situation) -> _Prepared:
        """The matrix and the laws of a situation; the last ones are kept, since machines are tuned by solving again."""
        running = tuple((m.supply, m.amps) for m in situation.machines)
        key = (situation.conducting, situation.turning, situation.asleep, running)
        if self._last is None or self._last[0] != key:
            self._last = (key, self._prepare(situation))
        return self._last[1]

    def _prepare(self, situation: Situation) -> _Prepared:
        closed = [b for b in self.guarded if always(b) or b.key in situation.conducting]
        edges = []
        for branch in closed:
            siemens = 1.0 / (self.rated[branch.key].ohms or 1.0)
            if situation.turning and isinstance(branch.item, Element):
                siemens *= branch.item.duty
            edges.append((self._place[self.index[branch.a]], self._place[self.index[branch.b]], siemens))
        chosen = self._laws(situation)
        return _Prepared(self._linear(edges, self._ties(edges, chosen)), chosen)

    def _linear(self, edges: Sequence[tuple[int, int, float]], ties: Collection[int]) -> Conductances:
        if self.kept_count > DENSE_LIMIT and importlib.util.find_spec("scipy") is not None:
            return self._sparse((*self._edges, *edges), ties)
        matrix = self._dense_static.copy()
        for a, b, siemens in edges:
            matrix[a, a] += siemens
            matrix[b, b] += siemens
            matrix[a, b] -= siemens
            matrix[b, a] -= siemens
        for node in ties:
            matrix[node, node] += TIE
        return Dense(matrix)

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
        """The laws that count in a situation."""
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
            if not (always(branch) or branch.key in situation.conducting):
                continue
            if branch.law is Law.LEG and branch.part in turning:
                continue  # what the legs carry is the machine's
            if branch.law is Law.SUPPLY and situation.asleep:
                curve = elements.supply_draw(branch, harness, asleep=True).curve
            if curve is not None:
                add(branch.key, branch.a, branch.b, curve)
        for supply, curve in self.batteries:
            add(supply.name, supply.plus[0], supply.minus, curve)
        for supply in self.circuit.supplies:
            machine = turning.get(supply.name)
            if machine is None or supply.kind != "machine":
                continue
            law = laws.machine(machine.volts, machine.amps, elements.MACHINE_OHMS)
            if len(supply.plus) == 1:
                add(supply.name, supply.plus[0], supply.minus, law)
            else:
                add(supply.name, _inner(supply), supply.minus, law)
                for plus in supply.plus:
                    add(f"{supply.name} {plus}", _inner(supply), plus, laws.one_way(elements.TAP_SIEMENS))
        tops = [self._place[self.index[a]] for a, _ in ends]
        bottoms = [self._place[self.index[b]] for _, b in ends]
        return Laws(tuple(keys), laws.Bank(curves), tops, bottoms)

    def _ties(self, edges: Sequence[tuple[int, int, float]], chosen: Laws) -> tuple[int, ...]:
        """For each island of a situation the node at which it hangs on 0 V."""
        parent = list(range(max(self._labels, default=-1) + 1))

        def root(label: int) -> int:
            while parent[label] != label:
                parent[label] = parent[parent[label]]
                label = parent[label]
            return label

        labels = self._labels
        for a, b, siemens in edges:
            if siemens > 0.0:
                parent[root(labels[a])] = root(labels[b])
        for a, b in zip(chosen.top_list, chosen.bottom_list, strict=True):
            parent[root(labels[a])] = root(labels[b])
        ties: dict[int, int] = {}
        for node in self._grounds:
            ties.setdefault(root(labels[node]), node)
        for label, node in enumerate(self._firsts):
            ties.setdefault(root(label), node)
        return tuple(ties.values())

    @cached_property
    def _firsts(self) -> tuple[int, ...]:
        """The first node with each label."""
        found: dict[int, int] = {}
        for node, label in enumerate(self._labels):
            found.setdefault(label, node)
        return tuple(found[label] for label in range(len(found)))

    @cached_property
    def _grounds(self) -> tuple[int, ...]:
        """Return poles of the sources, batteries first: what an island's 0 V is, in that order."""
        sign = self.circuit.return_sign
        poles = [
            supply.minus if sign == "-" else supply.plus[0]
            for supply in sorted(self.circuit.supplies, key=lambda s: s.kind != "battery")
        ]
        return tuple(self._place[self.index[node]] for node in poles)

    @cached_property
    def kept_nodes(self) -> tuple[int, ...]:
        """The number among all nodes of each kept one."""
        return tuple(self._place)

    @cached_property
    def stators(self) -> tuple[str, ...]:
        """The terminals at which alternators give alternating current."""
        return tuple(
            f"{part.name}.{terminal}"
            for part in self.circuit.harness.parts.values()
            if isinstance(part, Source) and part.name not in self.circuit.removed
            for terminal in (*part.phases, *(t for winding in part.windings for t in winding.terminals))
        )

    def siemens(self, branch: Branch, situation: Situation) -> float:
        """The conductance of a plain resistance in a situation."""
        duty = branch.item.duty if situation.turning and isinstance(branch.item, Element) else 1.0
        return duty / (self.rated[branch.key].ohms or 1.0)

    def whole(self, situation: Situation) -> Floats:
        """The plain resistances between all nodes, none taken out; shape (nodes, nodes), in S."""
        import numpy as np

        matrix = np.zeros((len(self.nodes), len(self.nodes)))
        closed = [b for b in self.guarded if always(b) or b.key in situation.conducting]
        edges = [(self._place[self.index[b.a]], self._place[self.index[b.b]], 1.0) for b in closed]
        for branch in (*self.static, *closed):
            a, b, siemens = self.index[branch.a], self.index[branch.b], self.siemens(branch, situation)
            matrix[a, a] += siemens
            matrix[b, b] += siemens
            matrix[a, b] -= siemens
            matrix[b, a] -= siemens
        for place in self._ties(edges, self._laws(situation)):
            node = self.kept_nodes[place]
            matrix[node, node] += TIE
        for node, near in self._gone:
            if not near:
                matrix[node, node] += TIE
        return matrix

    def reached_by_sources(self, flow: Flow) -> frozenset[str]:
        """The nodes with a way to a source through anything that conducts; the volts of others mean nothing."""
        circuit, situation = self.circuit, flow.situation
        running = {m.supply for m in situation.machines}
        open_ends = [
            pole for s in circuit.supplies if s.kind == "battery" or s.name in running for pole in (*s.plus, s.minus)
        ]
        met = set(open_ends)
        while open_ends:
            node = open_ends.pop()
            for branch in circuit.at.get(node, ()):
                rating = self.rated[branch.key]
                closed = always(branch) or branch.key in situation.conducting
                if closed and (rating.ohms is not None or rating.curve is not None):
                    other = branch.b if branch.a == node else branch.a
                    if other not in met:
                        met.add(other)
                        open_ends.append(other)
        return frozenset(met)

    # --- afterwards --------------------------------------------------------------------------------------------------
    def branch_amps(self, flow: Flow) -> dict[str, float]:
        """Currents by branch key, and of sources by their name (what they take: below zero is given)."""
        volts = flow.volts
        tops, bottoms, siemens = self._static_arrays
        through = (volts[tops] - volts[bottoms]) * siemens
        found = dict.fromkeys((b.key for b in self.circuit.branches), 0.0)
        found.update(zip((b.key for b in self.static), through.tolist(), strict=True))
        situation = flow.situation
        for branch in self.guarded:
            if always(branch) or branch.key in situation.conducting:
                duty = branch.item.duty if situation.turning and isinstance(branch.item, Element) else 1.0
                drop = float(volts[self.index[branch.a]] - volts[self.index[branch.b]])
                found[branch.key] = drop * duty / (self.rated[branch.key].ohms or 1.0)
        found.update(flow.law_amps)
        return found


@dataclass(frozen=True)
class Laws:
    """The laws of one situation, by branch key or source name, and the kept nodes that each lies between."""

    keys: tuple[str, ...]
    bank: laws.Bank
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

    def running(self, machines: Sequence[Running]) -> Laws:
        """The same with machines held at other volts."""
        bank = self.bank
        for machine in machines:
            curve = laws.machine(machine.volts, machine.amps, elements.MACHINE_OHMS)
            bank = bank.replaced(self.place[machine.supply], curve)
        changed = Laws(self.keys, bank, self.top_list, self.bottom_list)
        changed.__dict__.update(tops=self.tops, bottoms=self.bottoms, place=self.place)
        return changed


@dataclass(frozen=True)
class _Prepared:
    """The plain resistances and the laws of a situation."""

    linear: Conductances
    laws: Laws


def _inner(supply: Supply) -> str:
    """The inside of a machine, behind its several + terminals; no terminal can be called that."""
    return f"{supply.name} inside"


def _has_duty(branch: Branch) -> bool:
    return isinstance(branch.item, Element) and branch.item.duty != 1.0


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


def _eliminate(
    around: Mapping[int, dict[int, float]], keep: Collection[int]
) -> list[tuple[int, list[tuple[int, float]]]]:
    """Take out nodes of at most three neighbours that are not kept, fewest neighbours first; ``around`` is changed.

    Gives each node taken out with the conductances to its neighbours of that moment: their mean, so weighted, is its
    volts. Three neighbours become a triangle (Kennelly 1899), two a chain, one nothing.
    """
    import heapq

    order = [(len(near), node) for node, near in around.items() if node not in keep and len(near) <= 3]
    heapq.heapify(order)
    gone: list[tuple[int, list[tuple[int, float]]]] = []
    out: set[int] = set()
    while order:
        degree, node = heapq.heappop(order)
        near = around[node]
        if node in out or len(near) != degree:
            continue
        out.add(node)
        ends = sorted(near.items())
        gone.append((node, ends))
        total = sum(near.values())
        for other, _ in ends:
            del around[other][node]
        for place, (x, to_x) in enumerate(ends):
            for y, to_y in ends[place + 1 :]:
                siemens = to_x * to_y / total
                around[x][y] = around[x].get(y, 0.0) + siemens
                around[y][x] = around[y].get(x, 0.0) + siemens
        near.clear()
        for other, _ in ends:
            if other not in keep and len(around[other]) <= 3:
                heapq.heappush(order, (len(around[other]), other))
    return gone


def _components(count: int, edges: Sequence[tuple[int, int]]) -> list[int]:
    """A label for each of ``count`` nodes: alike where edges join them, counted from 0."""
    parent = list(range(count))

    def root(node: int) -> int:
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for a, b in edges:
        parent[root(a)] = root(b)
    numbers: dict[int, int] = {}
    return [numbers.setdefault(root(node), len(numbers)) for node in range(count)]
