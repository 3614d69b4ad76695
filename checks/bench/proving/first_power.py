"""Stage 3: first power. Each fuse with a lamp across its clips, each control there and back, then the engine.

The starter's cable is off until the engine is to run. Every row is worked out: what is on, what a voltmeter shows. With
each the single opens are counted that somebody would notice there; what none of them shows is left to the ohmmeter.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .engine import engine_rows
from .fuse_rows import fuse_rows
from .moments import FirstPower
from .moves import move_rows

if TYPE_CHECKING:
    from ....lang.circuit.circuit import Circuit


def first_power(circuit: Circuit) -> FirstPower:
    """All rows, in the order in which they are worked through; without a battery those of the running engine."""
    power = FirstPower(circuit)
    if power.motorcycle.batteries:
        fuse_rows(power)
        move_rows(power, power.motorcycle.cableless, power.motorcycle.base)
    engine_rows(power)
    return power
