"""How much of the battery's voltage is lost on the way to each load and back."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from ...lang.quantities.ranking import exceeds
from ...lang.records import dataclass
from ..dc.devices import reference_volts
from .load_status import battery_volts, load_status, must_get_volts

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from .operation import OperatingPoint, Operation

BATTERY: Final = "the battery"
"""What a load is measured against that no reference output feeds."""

MEASURABLE: Final = 1e-4
"""Of the voltage, how much must be missing from a share before that is reported: nobody measures less (ours)."""


def falls_short(share: float, allowed: float) -> bool:
    """Whether a load gets less of its feed's voltage than it is allowed, by more than anybody measures."""
    return share < allowed * (1.0 - MEASURABLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadDrop:
    """The greatest loss of a load that is on in some states: ``lost`` of ``feed`` V, in ``state``."""

    load: str
    lost: float
    feed: float
    state: str

    @property
    def share(self) -> float:
        return self.lost / self.feed


def feed_of(point: OperatingPoint, branch: Branch) -> tuple[float, str]:
    """V that a load is measured against, and of what: a reference output's own, where it has its feed from one."""
    references = point.flow.network.references
    if references:
        for each, _ in point.connectivity.losses(branch.key):
            if each.key in references:
                return reference_volts(each, point.circuit.harness) or 0.0, each.key
    return battery_volts(point), BATTERY


def load_drops(operation: Operation, names: Iterable[str]) -> tuple[LoadDrop, ...]:
    """Every load that must get its volts and is on in one of these states, in the order of the text."""
    points = [operation.points[name] for name in names if name in operation.points]
    found: list[LoadDrop] = []
    for branch in operation.circuit.branches:
        if must_get_volts(branch):
            worst: LoadDrop | None = None
            for point in points:
                here = _drop(point, branch)
                if here is not None and (worst is None or exceeds(here.share, worst.share)):
                    worst = here
            found += [worst] if worst is not None else []
    return tuple(found)


def _drop(point: OperatingPoint, branch: Branch) -> LoadDrop | None:
    """``None`` where it is off, or where numbers cannot tell."""
    feed, _ = feed_of(point, branch)
    if feed <= 0.0 or not point.connectivity.joined(branch.key) or load_status(point, branch.key) is None:
        return None
    lost = max(0.0, feed - abs(point.across(branch.key)))
    return LoadDrop(load=branch.key, lost=lost, feed=feed, state=point.state)
