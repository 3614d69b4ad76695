"""Starters of which no state shows what lets them turn in gear: none asks for one with the interlock against it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..behaviour.interlocks import starters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ..operation.operation import OperatingPoint
    from .fault_simulation import Sweep
    from .faulted_state import FaultedState

SAFE = {"gearbox": "neutral", "clutch": "in"}
"""The sensed quantities of an interlock, each with the position in which it lets the starter turn."""


def not_asked_in_gear(sweep: Sweep, states: Iterable[str]) -> tuple[str, ...]:
    """The starters, by name, that an interlock may hold and that are held by one in none of some states: in gear,
    clutch out, dead, and live as soon as the gearbox is in neutral or the clutch pulled. None that such a state has
    live all the same: that it has no interlock is a separate finding.
    """
    if sweep.circuit.controls.keys().isdisjoint(SAFE):
        return ()
    heres = [here for name in states if _in_gear(here := sweep.state(name))]
    found = starters(sweep.operation.circuit)
    return tuple(name for name, key in found if not any(key in here.live or _held(sweep, here, key) for here in heres))


def _in_gear(here: FaultedState) -> bool:
    """Whether no sensed quantity lets the starter turn."""
    positions = here.point.positions
    return all(positions[name] != safe for name, safe in SAFE.items() if name in positions)


def _held(sweep: Sweep, here: FaultedState, key: str) -> bool:
    """Whether a starter that is dead turns with one of the sensed quantities where it is safe."""
    return any(key in sweep.at(point).live for point in _let_turn(sweep, here))


def _let_turn(sweep: Sweep, here: FaultedState) -> Iterator[OperatingPoint]:
    point = here.point
    for name, safe in SAFE.items():
        control = sweep.circuit.controls.get(name)
        if control is not None and safe in control.positions:
            label = f"{point.state} with {name} {safe}"
            moved = sweep.solved(label, {**point.positions, name: safe}, point.pinned, point.memory)
            if moved is not None and not moved.shorted:
                yield moved
