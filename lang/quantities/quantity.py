"""How a number is shown, the one way: three significant digits, whole and grouped from 1,000 on, no power of ten.

::

    shown(13.4159)                                         # 13.4
    shown(Quantity(1315.2, "A2s"))                         # 1,315 A2s
    apart(18.02, 18.0)                                     # ("18.02", "18")
    apart(Quantity(18.02, "A"), Quantity(18.0, "A"))       # ("18.02 A", "18 A")
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from ..records import dataclass

DIGITS: Final = 3
MOST_DIGITS: Final = 6
"""Digits beyond which two values are distinguished by words and no more by digits (ours)."""

EXACT: Final = 10
"""Digits to which a solution is the same on every machine: 12.65 V is not shown as 12.6 on one and 12.7 on another."""

NOTHING: Final = 1e-10
"""Below this, in any unit, a figure is what is left of a solution that is 0 (ours)."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """``value`` in ``unit``: V, A, W, ohm, mm2, m, s, degC, A2s, %, or empty for a plain number."""

    value: float
    unit: str = ""


def shown(what: float | Quantity, digits: int = DIGITS) -> str:
    """A value to this many significant digits: ``0.0123``, ``12 A``; ``unlimited`` where it has no end.

    What is before the point is never rounded away: ``1,315``.
    """
    if isinstance(what, Quantity):
        number = shown(what.value, digits)
        return f"{number} {what.unit}" if what.unit else number
    what = float(f"{what:.{EXACT}g}")
    if math.isnan(what):
        return "unknown"
    if math.isinf(what):
        return "unlimited"
    if abs(what) < NOTHING:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(what))))
    text = f"{round(what, places):,.{min(places, 12)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def apart(value: float | Quantity, limit: float | Quantity) -> tuple[str, str]:
    """A value and the limit that it breaks, with as many digits as it takes to see that they differ.

    Where six do not do, the value is ``just over`` or ``just under`` the limit.
    """
    one, other = all_apart((value, limit))
    if one != other or _number(value) == _number(limit):
        return one, other
    return f"just {'over' if _number(value) > _number(limit) else 'under'} {other}", other


def all_apart(values: Sequence[float | Quantity]) -> tuple[str, ...]:
    """Several shown together: with as many digits as it takes, six at the most, until unlike ones look unlike."""
    for digits in range(DIGITS, MOST_DIGITS + 1):
        texts = tuple(shown(each, digits) for each in values)
        if len(set(texts)) == len(set(values)):
            break
    return texts


def _number(what: float | Quantity) -> float:
    return what.value if isinstance(what, Quantity) else what
