"""A circuit as numbers: nodes, resistances and laws; what never moves reduced once, the rest put in by combination."""

from __future__ import annotations

import importlib.util
import os
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import Element
from ...lang.quantities.quantity import shown
from ..tally import Tally
from . import device_models as laws
from . import devices as elements
from .conducting_paths import ConductingPaths
from .connectivity import always
from .devices import Missing, Rated, UnsolvableError
from .islands import islands_of
from .kron_reduction import LOOSE, TIE, Reduction, stamp
from .large_equations import LargeEquations
from .laws import Laws
from .machines import Inside, Machines, regulated_volts
from .newton import Conductances, Inner, NotConvergedError
from .no_windings import NoWindings
from .prepared import Latest, Prepared
from .situation import Situation
from .topology import Topology

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from .device_models import Curve

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

    _Law = tuple[str, str, str, Curve]  # its key, the terminals that it lies between, and how its current goes


os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported: at these sizes threads only cost

DENSE_LIMIT = 400
"""Nodes up to which a dense matrix is the quicker one (measured); beyond, a sparse one where ``scipy`` is there."""


class NodalEquations(NoWindings):
    """The numbers of one circuit, prepared once; ``solve`` then costs a fraction of a millisecond a situation."""

    def __init__(
        self, circuit: Circuit, like: NodalEquations | None = None, resisting: Iterable[tuple[str, float]] = ()
    ) -> None:
        """``like``: the numbers of a harness that this one comes from by taking something out; ``resisting``: plain
        resistances, by key, with this many ohms too many.
        """
        self.circuit = circuit
        self.tally: Tally = like.tally if like is not None else Tally()
        """The situations solved, those of what comes from this circuit by taking something out too."""
        self._every: tuple[object, Laws] | None = None
        self._large: LargeEquations | None = None
        self.impossible: UnsolvableError | None = None
        self.regulated = regulated_volts(circuit)
        self.duties: dict[str, float] = {
            b.key: b.item.duty for b in circuit.branches if isinstance(b.item, Element) and b.item.duty < 1.0
        }
        known = like.rated if like is not None else {}
        self.rated: dict[str, Rated] = {b.key: known.get(b.key) or elements.rated(b, circuit) for b in circuit.branches}
        for key, more in resisting:
            sound = self.rated[key].ohms
            if sound is not None:
                self.rated[key] = replace(self.rated[key], ohms=sound + more)
        self.topology: Topology = Topology(circuit, like.topology if like is not None else None)
        self.machines: Machines = Machines(self.topology, self.rated, like.machines if like is not None else None)
        self.paths = ConductingPaths(circuit, self.rated)
        self.references = elements.references(circuit)
        missing = [m for rating in self.rated.values() for m in rating.missing]
        names: dict[End, int] = {}
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
                    self.impossible = UnsolvableError(supply.name, rating.impossible)
                if rating.curve:
                    self.batteries.append((supply, rating.curve))
            elif supply.kind == "machine":
                names.setdefault(Inside(supply), len(names))
                if supply.output is not None and supply.output.watts is None:
                    missing.append(Missing(supply.name, "output in W", "no limit"))
                elif supply.output is not None and supply.output.idle is None:
                    missing.append(Missing(supply.name, "idle in W", "the running output"))
        self.missing: tuple[Missing, ...] = tuple(dict.fromkeys(missing))
        self.index = dict[str, int](names.items())
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
        keep: set[int] = {index[node] for node in (*self.references.values(), *self.watched) if node in index}
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
                keep.add(index[Inside(supply)])
        self.reduction = Reduction(len(self.nodes), resistors, keep)
        self.kept_count = len(self.reduction.kept)
        self._latest = Latest(self.kept_count)

    @cached_property
    def ripple(self) -> float:
        """A that all elements of a duty draw while closed above what they draw on the average, at rated volts; 0 where
        no battery is there to lend them.
        """
        if not self.batteries:
            return 0.0
        return sum((1.0 - duty) * (self.rated[key].amps or 0.0) for key, duty in self.duties.items())

    def all_volts(self, kept: Floats) -> Floats:
        """V of all nodes, shape (n,), from those of the kept nodes, shape (k,)."""
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
    def solved(self, situation: Situation, first: Floats | None = None) -> tuple[Floats, Laws]:
        """Volts of the kept nodes in a situation, shape (k,), and its laws; ``first``: those of one near by.

        Raises ``UnsolvableError`` with the part at which no operating point was found.
        """
        import numpy as np

        if self.impossible is not None:
            raise self.impossible
        self.tally.situation()
        prepared = self._prepared(situation)
        chosen = prepared.laws.running(situation.machines, self.regulated)
        first = np.zeros(self.kept_count) if first is None else first
        try:
            kept = prepared.solve(chosen, first)
        except NotConvergedError as error:
            name = self.nodes[self.reduction.kept[error.node]]
            raise UnsolvableError(
                name.part,
                f"no operating point found: the currents at {name} miss zero by {shown(error.amps)} A;"
                " check the ratings of what is connected there",
            ) from error
        return kept, chosen

    def _prepared(self, situation: Situation) -> Prepared:
        """The matrix and the laws of a situation."""
        running = tuple((m.supply, m.amps) for m in situation.machines)
        key = (situation.conducting, situation.asleep, situation.resting, running)
        return self._latest.of(key, lambda: self._prepare(situation))

    def _prepare(self, situation: Situation) -> Prepared:
        chosen = self._laws(situation)
        if self.kept_count > DENSE_LIMIT and importlib.util.find_spec("scipy") is not None:
            return Prepared(self._sparse(situation, chosen), chosen)
        edges = self._edges(situation)
        ties = self._ties(edges, chosen.pairs)
        return Prepared(Inner(self._dense(edges, ties), chosen.tops, chosen.bottoms), chosen)

    def reduced(self, situation: Situation, joins: Sequence[tuple[int, int]] = ()) -> tuple[Floats, Laws]:
        """The plain resistances of a situation between the nodes that stay, in S, and its laws."""
        edges, chosen = self._edges(situation), self._laws(situation)
        return self._dense(edges, self._ties(edges, (*chosen.pairs, *joins))), chosen

    def laws_of(self, situation: Situation) -> Laws:
        """The laws of a situation, machines at their regulated volts."""
        return self._laws(situation)

    def conductances(self, situation: Situation, ties: Collection[int]) -> tuple[Places, Places, Floats]:
        """The plain resistances of a situation between *all* nodes, as rows, columns and S of a sparse matrix whose
        entries at one place add up; with its ``ties``.
        """
        import numpy as np

        kept = np.array(self.reduction.kept, dtype=np.intp)
        edges = self._edges(situation)
        a, b, siemens = self._static_arrays
        a = np.concatenate((a, kept[[edge[0] for edge in edges]]))
        b = np.concatenate((b, kept[[edge[1] for edge in edges]]))
        siemens = np.concatenate((siemens, [edge[2] for edge in edges]))
        tied = np.concatenate((kept[list(ties)], np.array(self.reduction.loose, dtype=np.intp)))
        values = np.concatenate((np.full(len(ties), TIE), np.full(tied.size - len(ties), LOOSE)))
        return (
            np.concatenate((a, b, a, b, tied)),
            np.concatenate((a, b, b, a, tied)),
            np.concatenate((siemens, siemens, -siemens, -siemens, values)),
        )

    def _edges(self, situation: Situation) -> list[tuple[int, int, float]]:
        """The guarded resistances that conduct in a situation, between nodes that stay."""
        place, index = self.reduction.place, self.index
        return [
            (place[index[b.a]], place[index[b.b]], self.siemens(b))
            for b in self.guarded
            if (always(b) or b.key in situation.conducting) and b.key not in situation.resting
        ]

    def _dense(self, edges: Sequence[tuple[int, int, float]], ties: Collection[int]) -> Floats:
        matrix = self.reduction.matrix.copy()
        stamp(matrix, edges)
        for node in ties:
            matrix[node, node] += TIE
        return matrix

    def _sparse(self, situation: Situation, chosen: Laws) -> Conductances:
        """The plain resistances of a situation of a large harness, tied as ``_ties`` says."""
        if self._large is None:
            place, index = self.reduction.place, self.index
            edges = [(place[index[b.a]], place[index[b.b]], self.siemens(b)) for b in self.guarded]
            keys = [(b.key, always(b)) for b in self.guarded]
            self._large = LargeEquations(self.reduction, edges, keys, (*self._grounds, *self._firsts))
        return self._large.conductances(situation, chosen)

    def _laws(self, situation: Situation) -> Laws:
        """The laws that count in a situation, machines held at their regulated volts."""
        others = tuple(self._other_laws(situation))
        if self.kept_count <= DENSE_LIMIT:
            return self._together([*self._branch_laws(situation), *others])
        # Of a large harness all are put together once, and those chosen that are there.
        asked = situation.asleep, situation.resting, frozenset(m.supply for m in situation.machines), others
        if self._every is None or self._every[0] != asked:
            every = replace(situation, conducting=self._may_open)
            self._every = asked, self._together([*self._branch_laws(every), *others])
        gone = self._may_open - situation.conducting
        laws = self._every[1]
        return laws.chosen([place for place, key in enumerate(laws.keys) if key not in gone])

    @cached_property
    def _may_open(self) -> frozenset[str]:
        """The laws that are not there in every situation, by key."""
        return frozenset(branch.key for branch in self.curved if not always(branch))

    def _together(self, found: Sequence[_Law]) -> Laws:
        place, index = self.reduction.place, self.index
        return Laws(
            tuple(key for key, _, _, _ in found),
            laws.DeviceBank([curve for _, _, _, curve in found]),
            [place[index[a]] for _, a, _, _ in found],
            [place[index[b]] for _, _, b, _ in found],
            tuple(curve for _, _, _, curve in found),
        )

    def _branch_laws(self, situation: Situation) -> Iterator[_Law]:
        harness = self.circuit.harness
        turning = {m.supply for m in situation.machines}
        for branch in self.curved:
            curve = self.rated[branch.key].curve
            if branch.key in situation.resting or not (always(branch) or branch.key in situation.conducting):
                continue
            if branch.branch_type is BranchType.LEG and branch.part in turning:
                continue  # what the legs carry is the machine's
            if branch.branch_type is BranchType.SUPPLY and situation.asleep:
                curve = elements.supply_draw(branch, harness, asleep=True).curve
            if curve is not None:
                yield branch.key, self.references.get(branch.key, branch.a), branch.b, curve

    def _other_laws(self, situation: Situation) -> Iterator[_Law]:
        """Those of sources."""
        turning = {m.supply: m for m in situation.machines}
        for supply, curve in self.batteries:
            yield supply.key, supply.plus[0], supply.minus, curve
        for supply in self.circuit.supplies:
            machine = turning.get(supply.name)
            if machine is None or supply.kind != "machine":
                continue
            curve = self.machine_curve(supply, machine, situation)
            if len(supply.plus) == 1:
                yield supply.key, supply.plus[0], supply.minus, curve
            else:
                yield supply.key, Inside(supply), supply.minus, curve
                for plus in supply.plus:
                    yield supply.tap(plus), Inside(supply), plus, laws.one_way(elements.TAP_SIEMENS)

    def _ties(self, edges: Sequence[tuple[int, int, float]], pairs: Iterable[tuple[int, int]]) -> tuple[int, ...]:
        """For each island of a situation the node at which it is tied to 0 V; ``edges``: the guarded resistances that
        conduct, ``pairs``: the nodes that its laws lie between. All by their places among those that stay.
        """
        labels = self.reduction.labels
        joined = [(labels[a], labels[b]) for a, b, siemens in edges if siemens > 0.0]
        joined += [(labels[a], labels[b]) for a, b in pairs]
        island = islands_of(len(self._firsts), joined)
        ties: dict[int, int] = {}
        for node in self._grounds:
            ties.setdefault(island[labels[node]], node)
        for label, node in enumerate(self._firsts):
            ties.setdefault(island[label], node)
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

    def siemens(self, branch: Branch) -> float:
        """The conductance of a plain resistance; duty is a share of time, so it is that of the closed circuit."""
        return 1.0 / (self.rated[branch.key].ohms or 1.0)

    # --- afterwards --------------------------------------------------------------------------------------------------
    def plain_amps(self, volts: Floats, situation: Situation) -> dict[str, float]:
        """A through every branch by key, at the volts of all nodes, shape (n,); 0 for what is no plain resistance."""
        tops, bottoms, siemens = self._static_arrays
        through = (volts[tops] - volts[bottoms]) * siemens
        found: dict[str, float] = dict.fromkeys((b.key for b in self.circuit.branches), 0.0)
        found.update(zip((b.key for b in self.static), through.tolist(), strict=True))
        for branch in self.guarded:
            if (always(branch) or branch.key in situation.conducting) and branch.key not in situation.resting:
                drop = float(volts[self.index[branch.a]] - volts[self.index[branch.b]])
                found[branch.key] = drop * self.siemens(branch)
        return found
