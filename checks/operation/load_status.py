"""Whether an element is dead, dim or live by numbers: the share that it gets of what it needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ...lang.circuit.branch_types import BranchType
from ...lang.model.parts import Element
from ...lang.records import dataclass
from ..tables.device_constants import Shares, shares

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..dc.nodal_equations import NodalEquations
    from .operation import OperatingPoint

Word = Literal["dead", "dim", "live"]


@dataclass(frozen=True, slots=True)
class LoadStatus:
    """What an element gets and the limits it is judged by: ``share`` of the volts that it is made for, or of rated amps
    (``of``).
    """

    share: float
    dead: float
    works: float
    of: str

    @property
    def word(self) -> Word:
        return "dead" if self.share < self.dead else "live" if self.share >= self.works else "dim"


def limits(branch: Branch) -> Shares | None:
    """The shares of a branch's kind; ``None`` for what is no element: a resistor, a field, a sensor."""
    return shares().get(branch.branch_type.share_row)


def load_status(point: OperatingPoint, key: str) -> LoadStatus | None:
    """The status of an element at an operating point; ``None`` where numbers cannot tell: no rating, or no element."""
    branch = point.circuit.by_key[key]
    known = limits(branch)
    if known is None:
        return None
    lit = lit_on_a_winding(point, branch)
    if lit is not None:
        return LoadStatus(lit, known.dead, known.works, known.of)
    return stands(point.flow.network, branch, point.across(key), point.amps(key), cranking=point.engine == "cranking")


def lit_on_a_winding(point: OperatingPoint, branch: Branch) -> float | None:
    """Of its rated A, the mean of a light-emitting diode that a winding feeds, counted only while it has the volts that
    it ``needs``: its mean volts, in which halves of the wave cancel, tell nothing. ``None`` for all else.
    """
    item = branch.item
    if branch.branch_type is not BranchType.LED or not isinstance(item, Element) or not point.flow.windings:
        return None
    from ..ac.wound_flow import WoundFlow

    rated = point.flow.network.rated[branch.key].amps
    if item.needs is None or not rated or not isinstance(point.flow, WoundFlow):
        return None
    amps = point.flow.lit_amps(branch, item.needs)
    return None if amps is None else amps / rated


def stands(
    network: NodalEquations, branch: Branch, volts: float, amps: float, *, cranking: bool = False
) -> LoadStatus | None:
    """The same from volts across it and amps through it."""
    known = limits(branch)
    if known is None:
        return None
    nominal = branch.made_for(network.circuit.harness.volts)
    sign_matters = branch.branch_type.polarised
    works = known.start if cranking else known.works
    needs = branch.item.needs if isinstance(branch.item, Element) else None
    if known.of == "rated amps":
        rated = network.rated[branch.key].amps
        if not rated:
            return None
        if needs is None:
            share = max(amps, 0.0) if sign_matters else abs(amps)
            return LoadStatus(share / rated, known.dead, works, known.of)
    share = max(volts, 0.0) if sign_matters else abs(volts)
    if needs is not None:
        works = needs / nominal
    return LoadStatus(share / nominal, min(known.dead, works), works, "nominal volts")


NOTHING_LEFT = 0.02
"""Of the nominal volts, what is next to nothing at a terminal, or across what has no limits (ours)."""


def what_it_gets(point: OperatingPoint, name: str) -> tuple[str, float] | None:
    """What an element, by its key, or a terminal gets at an operating point: ``dead``, ``dim`` or ``live`` (nothing
    where only next to nothing can be told from more), and V. ``None`` for what is neither.
    """
    branch = point.circuit.by_key.get(name)
    if branch is None:
        if name not in point.flow.network.index:
            return None
        volts = abs(point.volts(name))
    else:
        volts = point.across(name)
        volts = max(volts, 0.0) if branch.branch_type.polarised else abs(volts)
        if (status := load_status(point, name)) is not None:
            return status.word, volts
    return "dead" if volts < NOTHING_LEFT * point.circuit.harness.volts else "", volts


def must_get_volts(branch: Branch) -> bool:
    """Whether a branch is a load that must get its volts: an element that is no tell-tale, or a unit's supply."""
    if branch.branch_type is BranchType.SUPPLY:
        return True
    return isinstance(branch.item, Element) and "tell-tale" not in branch.item.roles


def battery_volts(point: OperatingPoint) -> float:
    """V across the battery at an operating point; of several the highest, 0 without any."""
    return max((point.across(s.key) for s in point.connectivity.sources if s.kind == "battery"), default=0.0)
