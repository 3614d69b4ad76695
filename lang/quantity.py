"""A number with its unit, and the one way in which numbers are shown: three digits, thousands grouped, no power of ten.

::

    shown(Quantity(13.4159, "A"))                          # 13.4 A
    shown(Quantity(1315.2, "A2s"))                         # 1,315 A2s
    apart(Quantity(18.02, "A"), Quantity(18.0, "A"))       # ("18.02 A", "18 A")
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

DIGITS: Final = 3
"""Significant digits of a number below 1,000; a greater one is shown to the unit."""

MOST_DIGITS: Final = 9
"""So many digits set two numbers apart; what still looks alike is alike."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """``value`` in ``unit``: V, A, W, ohm, mm2, m, s, degC, A2s, %, or empty for a plain number."""

    value: float
    unit: str = ""


def shown(quantity: Quantity, digits: int = DIGITS) -> str:
    """``13.4 A``; a value that is not finite is said in words."""
    number = number_text(quantity.value, digits)
    return f"{number} {quantity.unit}" if quantity.unit else number


def number_text(value: float, digits: int = DIGITS) -> str:
    """A number alone: ``digits`` significant ones, those before the point whole, thousands grouped, no power of ten."""
    if value != value:
        return "unknown"
    if abs(value) == float("inf"):
        return "unlimited" if value > 0.0 else "-unlimited"
    rounded = float(f"{value:.{digits}g}")
    if abs(rounded) >= 10.0 ** (digits - 1):
        whole = f"{value:,.{max(0, digits - DIGITS)}f}" if digits > DIGITS else f"{value:,.0f}"
        return _trimmed(whole)
    places = max(0, digits - 1 - _magnitude(rounded)) if rounded else 0
    return _trimmed(f"{rounded:,.{places}f}")


def apart(value: Quantity, limit: Quantity) -> tuple[str, str]:
    """Both shown with so many digits that they differ where they do differ."""
    one, other = all_apart((value, limit))
    return one, other


def all_apart(quantities: Sequence[Quantity]) -> tuple[str, ...]:
    """Several shown together: of one unit, those that differ look different."""
    for digits in range(DIGITS, MOST_DIGITS + 1):
        texts = tuple(shown(each, digits) for each in quantities)
        if len(set(texts)) == len({(each.value, each.unit) for each in quantities}):
            return texts
    return texts


def _magnitude(value: float) -> int:
    """The power of ten of the first digit: 0 for 1 to 10."""
    return int(f"{abs(value):e}".partition("e")[2])


def _trimmed(text: str) -> str:
    found = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if found in ("-0", "") else found
