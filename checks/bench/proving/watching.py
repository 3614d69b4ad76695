"""What somebody sees of a motorcycle that is fed: which lamps are on, what turns and sounds, what a voltmeter shows."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.records import dataclass
from ...dc.connectivity import way
from ...fmea.effects import WORDS, Elements, ignitions
from ...fmea.failure_modes import Damage
from ...fmea.propagation import Propagation
from ...operation.coils_of_units import coils_of_units

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ....lang.circuit.branch import Branch
    from ...dc.memory import Memory
    from ...fmea.after import After
    from ...operation.operation import OperatingPoint, Operation

    Floats = NDArray[np.float64]

SEEN: Final = (BranchType.LAMP, BranchType.LED, BranchType.HORN, BranchType.MOTOR, BranchType.PUMP)
"""What a person sees or hears work."""

_LAST_DIGIT: Final = 0.05
"""V by which a meter's last digit, and a solution, may be off (ours)."""


@dataclass(frozen=True, slots=True)
class Band:
    """V between two terminals, at least and at most."""

    red: End
    black: End
    least: float
    most: float


class Watched:
    """One moment of a fed motorcycle. ``lit``: the look of each thing that can be seen, by its name.

    ``before``: what relays and latches remembered when it began, where that is not what they do now: a button that only
    sets a latch shows no open in its own wire afterwards.
    """

    def __init__(self, operation: Operation, point: OperatingPoint, before: Memory | None = None) -> None:
        self.operation = operation
        self.point = point
        self.before = before
        self.elements = Elements(point)
        circuit = point.circuit
        alternating = frozenset(operation.alternating)
        self._seen = [
            i
            for i, branch in enumerate(self.elements.branches)
            if branch.branch_type in SEEN and branch.key not in alternating
        ]
        self.alternating = tuple(circuit.by_key[key] for key in operation.alternating)

    @cached_property
    def _codes(self) -> list[int]:
        return [int(code) for code in self.elements.words(self.elements.at(self.point))[0]]

    @cached_property
    def lit(self) -> Mapping[str, str]:
        """Dead, dim or live; what only an alternating winding feeds by whether it is connected to it."""
        found = {self.name(self.elements.branches[i]): WORDS[self._codes[i]] for i in self._seen}
        found.update(
            (self.name(b), "live" if self._joined_to_winding(b) else "dead")
            for b in self.alternating
            if b.branch_type in SEEN
        )
        return found

    @cached_property
    def words(self) -> Mapping[str, str]:
        """The same of every element, by its key, seen or not."""
        return {b.key: WORDS[code] for b, code in zip(self.elements.branches, self._codes, strict=True)}

    @cached_property
    def running(self) -> frozenset[str]:
        """The ignition parts that run; only where the engine turns does anybody notice."""
        if self.point.engine == "off":
            return frozenset()
        propagation = Propagation(self.operation, self.point)
        shares = self.elements.at(self.point)[0]
        return self._running(shares, propagation.ignition.stopped(self.point.flow))

    @cached_property
    def sparks(self) -> frozenset[str]:
        """The ignition parts that run, but for units that drive others of them: one a cylinder or a pair of these."""
        return self.running - coils_of_units(self.operation).keys() or self.running

    def _running(self, shares: Floats, stopped: frozenset[str]) -> frozenset[str]:
        operation = self.operation
        return ignitions(self.point, self.elements, shares, stopped, operation.alternating, coils_of_units(operation))

    def name(self, branch: Branch) -> str:
        """A load by its part where that has one element, by its key elsewhere."""
        own = [b for b in self.point.circuit.of_part[branch.part] if b.branch_type.consumes]
        return branch.part if len(own) == 1 else branch.key

    def _joined_to_winding(self, branch: Branch, without: frozenset[str] = frozenset()) -> bool:
        """Whether both ends of a consumer are connected to a winding, with some branches open."""
        if self.point.engine == "off":
            return False
        circuit, conducting = self.point.circuit, self.point.flow.situation.conducting
        return any(
            way(circuit, supply.plus, (branch.a,), conducting, without) is not None
            and way(circuit, (branch.b,), (supply.minus,), conducting, without) is not None
            for supply in circuit.supplies
            if supply.kind == "winding"
        )

    def shown(
        self,
        faults: Iterable[Branch],
        bands: Sequence[Band] = (),
        *,
        looking: bool = True,
        at: frozenset[str] | None = None,
    ) -> frozenset[str]:
        """The keys of the branches whose opening somebody notices here: something differs (``looking``), the
        engine does, or a reading is out of its band. ``at``: the names of the things that are looked at; all if
        ``None``.
        """
        propagation = Propagation(self.operation, self.point)
        conducting = [b for b in faults if self.point.connectivity.conducts(b)]
        told = [b for b in conducting if not propagation.idle(b)]
        afters = propagation.of([Damage((branch,)) for branch in told], self.before)
        noticed = {b.key for b, after in zip(told, afters, strict=True) if self._differs(after, bands, looking, at)}
        if looking:
            lit = [b for b in self._looked_at(self.alternating, at) if self._joined_to_winding(b)]
            noticed |= {
                fault.key
                for fault in conducting
                if not all(self._joined_to_winding(b, frozenset((fault.key,))) for b in lit)
            }
        return frozenset(noticed)

    def _looked_at(self, branches: Iterable[Branch], at: frozenset[str] | None) -> list[Branch]:
        return [b for b in branches if at is None or self.name(b) in at]

    def shorted(
        self, nodes: Sequence[End], bands: Sequence[Band], *, looking: bool = False, at: frozenset[str] | None = None
    ) -> frozenset[End]:
        """The terminals of which a pinch to ground is noticed here; ``looking`` and ``at`` as of ``shown``."""
        told = self.noticed([Damage(grounded=node) for node in nodes], bands, looking, at)
        return frozenset(node for node, shown in zip(nodes, told, strict=True) if shown)

    def noticed(
        self, damages: Sequence[Damage], bands: Sequence[Band], looking: bool, at: frozenset[str] | None
    ) -> list[bool]:
        """Of each whether it is noticed here; ``looking`` and ``at`` as of ``shown``."""
        afters = Propagation(self.operation, self.point).of(damages, self.before) if damages else ()
        return [self._differs(after, bands, looking, at) for after in afters]

    def _differs(self, after: After, bands: Sequence[Band], looking: bool, at: frozenset[str] | None) -> bool:
        if after.volts is None:
            return bool(after.restless) and looking and at is None  # it keeps switching: that is heard and seen
        index = self.point.flow.network.index
        for band in bands:
            volts = float(after.volts[index[band.red]] - after.volts[index[band.black]])
            if not band.least - _LAST_DIGIT <= volts <= band.most + _LAST_DIGIT:
                return True
        if not looking:
            return False
        shares = self.elements.after([after])
        codes = self.elements.words(shares)[0]
        if any(
            int(codes[i]) != self._codes[i]
            for i in self._seen
            if at is None or self.name(self.elements.branches[i]) in at
        ):
            return True
        if self.point.engine == "off":
            return False
        runs = self._running(shares[0], after.stopped)
        asked = self.running & at if at is not None else frozenset()
        # An engine of several cylinders runs on one of them: only whoever looks at each notices which.
        return bool(runs) is not bool(self.running) or asked != runs & asked
