"""Figures as programs read them: rounded alike wherever they are written, so that all machines write the same bytes."""

from __future__ import annotations

import math
from typing import Any, Final

DIGITS: Final = 6
"""Significant digits: beyond these a solved figure depends on the machine that solved it."""

PLACES: Final = 8
"""Decimal places: the current through a milliohm is known no better from the voltages at its ends."""

NOTHING: Final = 1e-7
"""Below this, in any unit, a figure is what is left of a solution that is 0."""


def rounded(value: Any) -> Any:
    """A value, or all that a list, tuple or dictionary holds, floats rounded; one that is not finite is ``None``."""
    if isinstance(value, float):
        if not math.isfinite(value):
            return None
        known = round(value, PLACES)
        return 0.0 if abs(known) < NOTHING else float(f"{known:.{DIGITS}g}")
    if isinstance(value, dict):
        return {key: rounded(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(each) for each in value]
    return value
