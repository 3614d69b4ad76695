"""Thicker wires until no load in a named state gets less than its share of the battery's volts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from operator import itemgetter
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch
from ...lang.circuit.build import build_circuit
from ...lang.quantities.quantity import shown
from ...lang.quantities.ranking import ranked, smallest
from ...lang.quantities.size import Size
from ...lang.records import dataclass
from ..operation.load_drops import falls_short
from ..operation.load_status import battery_volts, load_status, must_get_volts
from ..operation.operation import Operation
from ..tables.conductors import resistance_per_metre
from .criteria import at_least
from .demands import MOST_ROUNDS, Demands
from .trial import resized

if TYPE_CHECKING:
    from ..operation.operation import OperatingPoint


def thicken_for_volts(demands: Demands, rated: Mapping[str, float]) -> None:
    """Thicker wires until no load in a named state gets less than its share of the battery's volts."""
    hopeless: set[tuple[str, str]] = set()
    for _ in range(MOST_ROUNDS):
        sizes = demands.sizes()
        operation = Operation(build_circuit(resized(demands.trial.harness, sizes, rated)), demands.trial.logic)
        areas = {name: size.area for name, size in sizes.items()}
        lacking = [
            each
            for each in _shortfalls(operation, demands.trial.profile.volt_share)
            if (each.point.state, each.branch.key) not in hopeless
            and not demands.trial.is_waived(each.branch.part, "voltage-drop")
        ]
        if not lacking:
            return
        lacking.sort(key=lambda short: (short.point.state, short.branch.key))
        for each in ranked(lacking, key=lambda short: short.volts):
            _thicken(demands, each, areas, hopeless)


def _thicken(demands: Demands, lacking: _Shortfall, areas: dict[str, float], hopeless: set[tuple[str, str]]) -> None:
    """Makes wires on the way of a load thicker, the one first that gains most for its copper.

    Where all of them at their thickest do not gain enough, none is touched, and none gets thinner than it is.
    """
    losses = [(b, v) for b, v in lacking.point.connectivity.losses(lacking.branch.key) if v > 0.0]
    start = {
        b.owner: lacking.areas[b.owner] for b, _ in losses if b.segment and b.owner in demands.free and b.owner in areas
    }
    lost = {name: sum(v for b, v in losses if b.owner == name) for name in start}
    metres = {name: sum(b.segment.length or 0.0 for b, _ in losses if b.segment and b.owner == name) for name in start}
    tried = {name: areas[name] for name in start}

    def now(name: str, area: float) -> float:
        return lost[name] * resistance_per_metre(area) / resistance_per_metre(start[name])

    def price(step: tuple[str, Size]) -> float:
        """The copper that a step costs for each volt that it saves."""
        name, size = step
        copper = (size.area - tried[name]) * max(metres[name], 1e-3)
        return copper / max(now(name, tried[name]) - now(name, size.area), 1e-12)

    chosen: dict[str, Size] = {}
    while sum(lost[name] - now(name, tried[name]) for name in start) < lacking.volts:
        steps = [(name, size) for name in start if (size := demands.next_thicker(name, tried[name])) is not None]
        if not steps:
            hopeless.add((lacking.point.state, lacking.branch.key))
            demands.remarks[lacking.remark] = None
            for name in start:
                demands.keep(name, f"{lacking.branch.key} has a voltage drop that no wire size cures")
            return
        name, size = smallest(sorted(steps, key=itemgetter(0)), key=price)
        tried[name], chosen[name] = size.area, size
    most = f"{shown((1.0 - demands.trial.profile.volt_share) * 100.0)} %"
    says = f"{lacking.branch.key} in {lacking.point.state} may lose {most}"
    for name, size in chosen.items():
        areas[name] = size.area
        demands.add(name, at_least("drop", says, size.area))


@dataclass(frozen=True, slots=True)
class _Shortfall:
    """A load that gets too little at a point: ``volts`` more would be enough. ``areas`` are those it was found with."""

    branch: Branch
    point: OperatingPoint
    volts: float
    remark: str
    areas: Mapping[str, float]


def _shortfalls(operation: Operation, allowed: float) -> Iterator[_Shortfall]:
    """The loads of the named states that the rule on drop would find."""
    areas = {name: wire.size.area for name, wire in operation.circuit.harness.wires.items() if wire.size}
    for branch in operation.circuit.branches:
        if not must_get_volts(branch):
            continue
        for point in operation.points.values():
            feed = battery_volts(point)
            if feed <= 0.0 or point.shorted or not point.connectivity.joined(branch.key):
                continue
            stands = load_status(point, branch.key)
            across = abs(point.across(branch.key))
            lacking = allowed * feed - across
            if stands is None or (not falls_short(across / feed, allowed) and stands.word == "live"):
                continue
            remark = (
                f"{branch.key} gets {shown(across / feed * 100.0)} % of the battery's voltage in {point.state}, "
                "and no size of the wires that can be chosen makes it enough"
            )
            yield _Shortfall(branch, point, max(lacking, 1e-3), remark, areas)
