"""What a hand-held meter must show of a resistance that is known between two bounds."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from ...tables.proving import proving
from .rows import Expected

LEAST: Final = 0.2
"""ohm: no hand-held meter tells a lower resistance from copper (ours)."""
FEW: Final = 1.0
"""ohm: a lower bound below this is distinguished from 0 by no hand-held meter (ours)."""


def band(low: float, high: float, spread: float) -> Expected | None:
    """What a meter must show for ``low`` to ``high`` ohm, its errors allowed for; ``None`` where it tells nothing."""
    slip, ground = proving("slip"), proving("ground_most")
    if high <= slip:
        return Expected(way="ohms", most=ground)
    if math.isinf(low):
        return Expected(way="ohms", least=proving("open_least"))
    least = low / spread - slip
    if math.isinf(high):
        return Expected(way="ohms", least=_two_digits(least, math.floor)) if least >= FEW else None
    floor = _two_digits(least, math.floor) if least >= LEAST else None
    return Expected(way="ohms", least=floor, most=_two_digits(high * spread + slip, math.ceil))


def _two_digits(value: float, rounding: Callable[[float], int]) -> float:
    """Rounded to two digits, downwards or upwards."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    slip = 1e-9 if rounding is math.floor else -1e-9
    return round(rounding(value / step + slip) * step, 9)
