"""What a fault does to the machine, and how grave that is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import Law
from ...lang.model import Element, Load, Unit
from ..dc.standing import POLARISED, limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit import Branch
    from ..dc.operating import Point

    Floats = NDArray[np.float64]

WORDS = ("dead", "dim", "live")
OVERCHARGE = 1.05
"""Of the regulated volts, what the battery has from which it is overcharged (ours)."""


class Category(IntEnum):
    """Severity as MIL-STD-1629A names it, with what it means on a motorcycle (ours).

    CATASTROPHIC: fire, or an engine that cannot be stopped. CRITICAL: the engine stops, or the rider is not seen or
    does not see. MARGINAL: stranded or warned too late: no start, no charge, no turn lamps, no horn; or something works
    that should not. MINOR: all else.
    """

    CATASTROPHIC = 1
    CRITICAL = 2
    MARGINAL = 3
    MINOR = 4

    @property
    def word(self) -> str:
        return f"{('I', 'II', 'III', 'IV')[self - 1]} {self.name.lower()}"


CRITICAL_ROLES = frozenset({"dip-beam", "main-beam", "stop-lamp", "tail-lamp"})
MINOR_ROLES = frozenset({"tell-tale", "plate-lamp", "position-lamp"})


@dataclass(frozen=True, slots=True)
class Effect:
    """An end effect: ``thing`` was and is now dead, dim or live; or a battery is no longer charged, or overcharged.

    ``share`` is what it now gets of what it needs, or the battery's volts.
    """

    thing: str
    was: str
    now: str
    share: float
    category: Category

    def words(self) -> str:
        if self.now == "overcharged":
            return f"{self.thing} is overcharged at {self.share:.1f} V"
        if self.now == "not charged":
            return f"{self.thing} is not charged any more"
        if self.was == "dead":
            return f"{self.thing} comes to life"
        return f"{self.thing} goes {self.now}"


class Elements:
    """The elements of a circuit that have a standing, as arrays."""

    def __init__(self, point: Point) -> None:
        import numpy as np

        network = point.flow.network
        self.point = point
        self.branches: list[Branch] = []
        index = network.index
        for branch in point.circuit.branches:
            known = limits(branch)
            rating = network.rated[branch.key]
            if known is None or (known.of == "rated amps" and not rating.amps):
                continue
            self.branches.append(branch)
        self.a = np.array([index[b.a] for b in self.branches], dtype=np.intp)
        self.b = np.array([index[b.b] for b in self.branches], dtype=np.intp)
        nominal = point.circuit.harness.volts
        dead, works = [], []
        self._by_amps = np.zeros(len(self.branches), dtype=bool)
        self._rated = np.ones(len(self.branches))
        for i, branch in enumerate(self.branches):
            known = limits(branch)
            if known is None:
                raise TypeError(f"{branch.key} is no element")
            needs = branch.item.needs if isinstance(branch.item, Element) else None
            by_amps = known.of == "rated amps" and needs is None
            self._by_amps[i] = by_amps
            self._rated[i] = (network.rated[branch.key].amps or 1.0) if by_amps else nominal
            share = known.start if point.engine == "cranking" else known.works
            share = needs / nominal if needs is not None else share
            works.append(share)
            dead.append(min(known.dead, share))
        self._dead, self._works = np.array(dead), np.array(works)
        self._one_way = np.array([b.law in POLARISED for b in self.branches], dtype=bool)

    @cached_property
    def law_places(self) -> NDArray[np.intp]:
        """The place of each element among the laws of the point; -1: a plain resistance."""
        import numpy as np

        place = self.point.flow.laws.place
        return np.array([place.get(b.key, -1) for b in self.branches], dtype=np.intp)

    def shares(self, volts: Floats, law_amps: Floats) -> Floats:
        """What each element gets, by fault: shares of nominal volts or of rated amps; (faults, elements)."""
        import numpy as np

        value = volts[:, self.a] - volts[:, self.b]
        padded = np.concatenate((law_amps, np.zeros((law_amps.shape[0], 1))), axis=1)
        value = np.where(self._by_amps, padded[:, self.law_places], value)
        value = np.where(self._one_way, np.maximum(value, 0.0), np.abs(value))
        return np.asarray(value / self._rated, dtype=float)

    def words(self, shares: Floats) -> NDArray[np.intp]:
        """0 dead, 1 dim, 2 live."""
        import numpy as np

        return np.asarray((shares >= self._dead).astype(np.intp) + (shares >= self._works))

    def at(self, point: Point) -> Floats:
        """The shares at one operating point, of this circuit or of one with something taken out; (1, elements)."""
        import numpy as np

        found = []
        for i, branch in enumerate(self.branches):
            if branch.key not in point.circuit.by_key:
                found.append(0.0)
                continue
            value = point.amps(branch.key) if self._by_amps[i] else point.across(branch.key)
            value = max(value, 0.0) if self._one_way[i] else abs(value)
            found.append(value / float(self._rated[i]))
        return np.array([found])


def category(point: Point, branch: Branch, was: int, now: int) -> Category:
    """How grave it is that an element stands otherwise."""
    part = point.circuit.harness.parts.get(branch.part)
    roles = frozenset(branch.item.roles) if isinstance(branch.item, Element) else frozenset()
    sparks = branch.law is Law.IGNITION or (isinstance(part, Load | Unit) and part.is_ignition)
    starts = part is not None and part.system == "starting"
    if now > was:  # it gets more than before
        grave = starts or sparks or roles & {"stop-lamp"}
        return Category.CRITICAL if grave else Category.MARGINAL if now == 2 or was == 0 else Category.MINOR
    if sparks and point.engine in ("idling", "running"):
        return Category.CRITICAL
    if roles & CRITICAL_ROLES:
        return Category.CRITICAL
    if roles & MINOR_ROLES or (part is not None and part.system == "instruments"):
        return Category.MINOR
    return Category.MARGINAL
