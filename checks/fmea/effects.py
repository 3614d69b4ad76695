"""What a fault does to the motorcycle, and how severe that is."""

from __future__ import annotations

from enum import IntEnum
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition
from ...lang.circuit.branch_types import BranchType
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import Element, Load, Unit
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ..ac.harmonics import mean, rms_between
from ..ac.wound_flow import FEEL_THE_MEAN
from ..operation.load_status import limits, lit_on_a_winding
from .after import felt

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..dc.laws import Laws
    from ..operation.operation import OperatingPoint
    from .after import After

    Floats = NDArray[np.float64]

WORDS = ("dead", "dim", "live")
LIVE = WORDS.index("live")
WEAKER = "weaker"
WEAK = "weak field"
NOT_CHARGED = "not charged"
NEXT_START = "not charged after the next start"

IN_LEADS = "more in its leads"

HEATED = frozenset({"overheated", "melted"})


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
        return f"{self.numeral} {self.severity}"

    @property
    def numeral(self) -> str:
        return ("I", "II", "III", "IV")[self - 1]

    @property
    def severity(self) -> str:
        return self.name.lower()


CRITICAL_ROLES = frozenset({"dip-beam", "main-beam", "stop-lamp", "tail-lamp"})
MINOR_ROLES = frozenset({"tell-tale", "plate-lamp", "position-lamp"})


@dataclass(frozen=True, slots=True)
class Effect:
    """An end effect: ``thing`` was and is now dead, dim or live; or it is fed through its return (``backwards``); or a
    battery is no longer charged, or not after the next start of the engine, or overcharged, or charged by what nothing
    regulates (``unregulated``); or something does not settle any more (``restless``); or what interrupts an ignition
    coil is led past (``unbroken``); or a lamp on a winding is ``burning out``; or an alternator has lost its battery
    (``without battery``), or can give less (``weaker``), or has a weak field, so that nobody knows how much (``weak
    field``), or has lost its first field current (``not excited``); or a winding has ``more in its leads``; or a wire
    is ``overheated`` or ``melted``; or an ignition part is ``not stopped``, or the engine ``stops``.

    ``share`` is what it now gets of what it needs, or the battery's volts while its machine gives all that it can, or
    the lamp's or the field's volts, or a wire's, a lead's or an alternator's A; of what is ``weaker`` or has ``more in
    its leads``, ``was`` is its A before.
    """

    thing: str
    was: str
    now: str
    share: float
    category: Category

    @property
    def look(self) -> tuple[str, str]:
        """What tells it from other effects: of what an alternator can give, how much that is, too."""
        return self.thing, f"{self.now} {shown(self.share)}" if self.now == WEAKER else self.now

    def words(self) -> str:
        return f"{self.thing} {self.happens()}"

    def happens(self, *, many: bool = False) -> str:
        """What the thing does now, or ``many`` things do."""
        match self.now:
            case "overcharged":
                return f"{'are' if many else 'is'} overcharged at up to {shown(self.share)} V"
            case "unregulated":
                return f"{'are' if many else 'is'} overcharged: the voltage is not regulated"
            case "not charged":
                return f"{'are' if many else 'is'} no longer charged"
            case "not charged after the next start":
                return f"{'are' if many else 'is'} not charged after the next start"
            case "backwards":
                return f"{'are' if many else 'is'} fed backwards"
            case "unbroken":
                return f"{'are' if many else 'is'} never interrupted and {'give' if many else 'gives'} no spark"
            case "restless":
                return f"{'chatter' if many else 'chatters'}"
            case "burning out":
                return f"{'get' if many else 'gets'} {shown(self.share)} V and soon {'burn' if many else 'burns'} out"
            case "without battery":
                return f"{'run' if many else 'runs'} without the battery: voltage peaks"
            case "not excited":
                return f"{'get' if many else 'gets'} too little field current to start charging"
            case "weak field":
                return f"may deliver too little to charge with {shown(self.share)} V across the field"
            case "weaker" if self.share == 0.0:
                return f"{'deliver' if many else 'delivers'} nothing"
            case "weaker":
                return f"{'deliver' if many else 'delivers'} at most {shown(self.share)} A, not {self.was} A"
            case "more in its leads":
                return f"{'carry' if many else 'carries'} {shown(self.share)} A rms in a lead, not {self.was} A"
            case "overheated":
                return f"{'carry' if many else 'carries'} {shown(self.share)} A: overheats"
            case "melted":
                return f"{'carry' if many else 'carries'} {shown(self.share)} A: melts"
            case "stops":
                return "stops"
            case "not stopped":
                return f"{'are' if many else 'is'} not stopped"
        if (self.was, self.now) == ("dead", "dim"):
            return f"{'get' if many else 'gets'} some voltage (dim)"
        if self.was == "dead":
            return f"{'come' if many else 'comes'} on"
        return f"{'go' if many else 'goes'} {self.now}"


class Elements:
    """The elements of a circuit that have a standing, as arrays."""

    def __init__(self, point: OperatingPoint) -> None:
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
        dead, works = [], []
        self._by_amps = np.zeros(len(self.branches), dtype=bool)
        self._rated = np.ones(len(self.branches))
        for i, branch in enumerate(self.branches):
            known = limits(branch)
            if known is None:
                raise TypeError(f"{branch.key} is no element")
            nominal = branch.made_for(point.circuit.harness.volts)
            needs = branch.item.needs if isinstance(branch.item, Element) else None
            by_amps = known.of == "rated amps" and (needs is None or lit_on_a_winding(point, branch) is not None)
            self._by_amps[i] = by_amps
            self._rated[i] = (network.rated[branch.key].amps or 1.0) if by_amps else nominal
            share = known.start if point.engine == "cranking" else known.works
            share = needs / nominal if needs is not None and not by_amps else share
            works.append(share)
            dead.append(min(known.dead, share))
        self._dead, self._works = np.array(dead), np.array(works)
        self._feels_mean = np.array([b.branch_type in FEEL_THE_MEAN for b in self.branches], dtype=bool)
        self._one_way = np.array([b.branch_type.polarised for b in self.branches], dtype=bool)

    @cached_property
    def _place(self) -> dict[str, int]:
        return {branch.key: i for i, branch in enumerate(self.branches)}

    def _places(self, laws: Laws) -> NDArray[np.intp]:
        """The place of each element among some laws; -1: a plain resistance."""
        import numpy as np

        return np.array([laws.place.get(b.key, -1) for b in self.branches], dtype=np.intp)

    def shares(self, volts: Floats, law_amps: Floats, laws: Laws) -> Floats:
        """What each element gets, by fault: shares of nominal volts or of rated amps; (faults, elements).

        ``volts`` of all nodes of the sound network and ``law_amps`` of ``laws``, by fault.
        """
        import numpy as np

        value = volts[:, self.a] - volts[:, self.b]
        if self._by_amps.any():
            padded = np.concatenate((law_amps, np.zeros((law_amps.shape[0], 1))), axis=1)
            value = np.where(self._by_amps, padded[:, self._places(laws)], value)
        value = np.where(self._one_way, np.maximum(value, 0.0), np.abs(value))
        return np.asarray(value / self._rated, dtype=float)

    def across(self, stacks: Floats) -> Floats:
        """V that each element feels, on the average or rms, none where current cannot flow through it that way; of
        stacks as ``ac.harmonics`` has them (cases, rows, nodes): (cases, elements).
        """
        import numpy as np

        value = mean(stacks, self.a, self.b)
        felt = np.where(self._feels_mean, np.abs(value), rms_between(stacks, self.a, self.b))
        return np.asarray(np.where(self._one_way, np.maximum(value, 0.0), felt), dtype=float)

    def after(self, found: Sequence[After]) -> Floats:
        """The ``shares`` for what follows some faults; NaN where there is nothing to tell from; (faults, elements)."""
        import numpy as np

        shares = np.full((len(found), len(self.branches)), np.nan)
        alike: dict[int, list[int]] = {}
        for i, each in enumerate(found):
            if each.laws is not None:
                alike.setdefault(id(each.laws), []).append(i)
        for rows in alike.values():
            laws = found[rows[0]].laws
            if laws is not None:
                volts = np.array([found[i].volts for i in rows])
                shares[rows] = self.shares(volts, np.array([found[i].law_amps for i in rows]), laws)
        for i, each in enumerate(found):
            self._feel(shares[i], each.felt)
            for branch in each.damage.opened:
                if branch.key in self._place:
                    shares[i, self._place[branch.key]] = 0.0
        return shares

    def _feel(self, shares: Floats, felt: Mapping[str, float]) -> None:
        """Put what elements on windings feel in place of what the volts of their terminals tell; (elements,)."""
        for key, volts in felt.items():
            i = self._place.get(key)
            if i is not None and not self._by_amps[i]:
                shares[i] = (max(volts, 0.0) if self._one_way[i] else abs(volts)) / self._rated[i]

    def words(self, shares: Floats) -> NDArray[np.intp]:
        """0 dead, 1 dim, 2 live."""
        import numpy as np

        return np.asarray((shares >= self._dead).astype(np.intp) + (shares >= self._works))

    def directions(self, volts: Floats, shares: Floats) -> Floats:
        """Which way current goes through each element: 1 from ``a`` to ``b``, -1 back, 0 where it gets nothing that
        matters or lets nothing through backwards; (faults, elements).
        """
        import numpy as np

        way = np.sign(volts[:, self.a] - volts[:, self.b])
        return np.asarray(np.where(~self._one_way & (shares >= self._dead), way, 0.0), dtype=float)

    def backwards(self, usual: Floats, volts: Floats, shares: Floats) -> NDArray[np.bool_]:
        """Which elements are fed against their ``usual`` directions, where any are known; (faults, elements)."""
        import numpy as np

        if not usual.size:
            return np.zeros(shares.shape, dtype=bool)
        return np.asarray(self.directions(volts, shares) * usual < 0.0)

    def at(self, point: OperatingPoint) -> Floats:
        """The shares at an operating point of the sound circuit; (1, elements)."""
        import numpy as np

        flow = point.flow
        amps = np.array([[flow.law_amps[key] for key in flow.laws.keys]])
        found = self.shares(flow.volts[None, :], amps, flow.laws)
        self._feel(found[0], felt(flow))
        return found


def ignitions(
    point: OperatingPoint,
    elements: Elements,
    shares: Floats,
    stopped: frozenset[str],
    alternating: Collection[str],
    driven: Mapping[str, frozenset[str]],
) -> frozenset[str]:
    """The ignition parts that run while elements get these shares and these parts are stopped.

    One with a feed runs where one of its elements is live; one without (a magneto), or with one of alternating current
    (the keys in ``alternating``), which is not solved, while the engine turns. While it turns a unit that drives coils,
    those in ``driven``, runs where one of these does, too: a box that stays fed gives no spark.
    """
    lit = frozenset(_fed(point, elements, shares, stopped, alternating))
    if point.engine == "off":
        return lit
    return frozenset(name for name in lit if name not in driven or driven[name] & lit)


def _fed(
    point: OperatingPoint,
    elements: Elements,
    shares: Floats,
    stopped: frozenset[str],
    alternating: Collection[str],
) -> Iterator[str]:
    """The ignition parts that are fed, or need no feed, and are not stopped."""
    words = elements.words(shares[None, :])[0]
    own: dict[str, list[int]] = {}
    for branch, word in zip(elements.branches, words, strict=True):
        if branch.key not in alternating:
            own.setdefault(branch.part, []).append(int(word))
    for part in point.circuit.harness.parts.values():
        if not isinstance(part, Load | Unit) or not part.is_ignition or part.name in stopped | point.circuit.removed:
            continue
        if LIVE in own.get(part.name, ()) or (part.name not in own and point.engine != "off"):
            yield part.name


def warns_of_harm(circuit: Circuit, branch: Branch) -> bool:
    """Whether a tell-tale is that of oil pressure or of the charge: a switch that senses oil pressure, or the second +
    of an alternator or dynamo (D+), is at the end of it that is on no pole.
    """
    nets = circuit.nets
    poles = {nets.of[pole] for supply in circuit.supplies for pole in (supply.plus[0], supply.minus)}
    ends = {nets.of[branch.a], nets.of[branch.b]} - poles
    if any(nets.of[tap] in ends for supply in circuit.supplies for tap in supply.plus[1:]):
        return True
    guards = (e.branch.guard for e in nets.switched if ends & {e.a, e.b})
    controls = (circuit.controls.get(g.control) for g in guards if isinstance(g, InPosition))
    return any(control is not None and control.sensed == "oil-pressure" for control in controls)


def category(point: OperatingPoint, branch: Branch, was: int, now: int) -> Category:
    """How severe it is when an element differs."""
    part = point.circuit.harness.parts.get(branch.part)
    roles = frozenset(branch.item.roles) if isinstance(branch.item, Element) else frozenset()
    sparks = branch.branch_type is BranchType.IGNITION or (isinstance(part, Load | Unit) and part.is_ignition)
    starts = part is not None and part.system == "starting"
    if now > was:  # it gets more than before
        if sparks and now == LIVE and point.engine in BY_ITSELF:
            return Category.CATASTROPHIC  # it was to stand still
        if now == LIVE and (starts or sparks or roles & {"stop-lamp"}):
            return Category.CRITICAL
        if sparks and isinstance(part, Load):
            return Category.CRITICAL  # a weak spark may do; of a unit, which fires coils, these tell
        return Category.MARGINAL if now == LIVE or was == 0 else Category.MINOR
    if sparks and was < LIVE:
        return Category.MINOR  # too little to fire anyway
    if sparks and point.engine in BY_ITSELF:
        return Category.CRITICAL
    if roles & CRITICAL_ROLES:
        return Category.CRITICAL
    if "tell-tale" in roles and warns_of_harm(point.circuit, branch):
        return Category.MARGINAL  # the engine runs without oil, or the battery down, and nobody is warned
    if roles & MINOR_ROLES or (part is not None and part.system == "instruments"):
        return Category.MINOR
    return Category.MARGINAL
