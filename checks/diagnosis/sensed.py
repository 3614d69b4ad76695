"""What a switch senses and nobody sees may be otherwise than a state has it: then nothing need be wrong at all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.model.conditions import BY_ITSELF
from ..dc.devices import UnsolvableError
from .diagnosis import Sensed
from .hypotheses import weighed
from .predictions import Predictions

if TYPE_CHECKING:
    from ..dc.memory import Memory
    from ..fmea.fault_simulation import Sweep
    from ..operation.operation import OperatingPoint
    from .observations import Observation

UNSEEN: Final = ("oil-pressure", "temperature", "tilt")
"""Sensed quantities that nobody sets by hand before he looks."""

DESTROYS: Final = ("oil-pressure", "low")
"""What an engine does not survive running with."""


def sensed_otherwise(
    sweep: Sweep, point: OperatingPoint, before: Memory, seen: tuple[Observation, ...], otherwise: tuple[bool, ...]
) -> Iterator[Sensed]:
    """Each such quantity in each other position that explains what was seen at a point; ``otherwise``: which of it the
    harness does not show with everything as the state has it.
    """
    for control in point.circuit.controls.values():
        if control.sensed not in UNSEEN:
            continue
        for position in control.positions:
            if position == point.positions[control.name] or (point.engine, control.sensed) == ("off", DESTROYS[0]):
                continue  # an engine that stands has no oil pressure
            try:
                moved = sweep.operation.at({**point.positions, control.name: position}, point.memory)
            except UnsolvableError:
                continue
            here = Predictions(sweep, sweep.at(moved), before=before)
            fits = weighed(here, here.here.sound, here.statuses.sound, seen).explains
            stop = point.engine in BY_ITSELF and (control.sensed, position) == DESTROYS
            told = tuple(each for each, fit, new in zip(seen, fits, otherwise, strict=True) if fit and new)
            if told and (stop or all(fits)):
                yield Sensed(control.sensed, position, control.switches, told, stop)
