"""How a number is shown: three significant digits, thousands grouped, never a power of ten."""

from __future__ import annotations

import math
from typing import Final

DIGITS: Final = 3
MOST_DIGITS: Final = 6
"""Digits beyond which two values are told apart by words and no more by digits (ours)."""


def shown(value: float, digits: int = DIGITS) -> str:
    """A value to so many significant digits: ``1,320``, ``0.0123``, ``12``; ``unlimited`` where it has no end."""
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "unlimited"
    if value == 0.0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):,.{max(0, min(places, 12))}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def apart(value: float, limit: float) -> tuple[str, str]:
    """A value and the limit that it breaks, with as many digits as it takes to see that they differ.

    Where six do not do, the value stands as ``just over`` or ``just under`` the limit.
    """
    for digits in range(DIGITS, MOST_DIGITS + 1):
        both = shown(value, digits), shown(limit, digits)
        if both[0] != both[1]:
            return both
    if value == limit:
        return both
    return f"just {'over' if value > limit else 'under'} {both[1]}", both[1]
