"""A fault on its way to rest, among the many that are solved together."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from .failure_modes import Damage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..dc.memory import Memory
    from .after import After
    from .faulted_circuit import FaultedCircuit


@dataclass
class Case:
    """A damage on its way to rest. ``memory`` is what they remember now, ``seen`` what they did before; ``setpoints``
    the volts that its machines are held at.
    """

    number: int
    damage: Damage
    memory: Memory
    setpoints: dict[str, float]
    seen: frozenset[Memory] = frozenset()
    moments: list[After] = field(default_factory=list)
    faulted_circuit: FaultedCircuit = field(init=False)


def cycle(moments: Sequence[After], again: Memory) -> tuple[After, ...]:
    """The moments that follow one another without end, from the one whose memory comes ``again``: what was on the way
    to them, as a relay that had yet to pull in, is never there again.
    """
    first = next((place for place, moment in enumerate(moments) if moment.memory == again), 0)
    return tuple(moments[first:])
