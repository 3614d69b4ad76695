"""Units that people bring and the language does not read, said in its own: Pint knows them, and is asked once a unit.

Only a mistake pays for Pint; reading a sound harness never imports it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from .units import UNITS, UNITS_OF

if TYPE_CHECKING:
    import pint

DEFINITIONS: Final = Path(__file__).with_name("units.txt")
_PLAIN: Final = re.compile(r"([A-Za-z]{1,20})([23]?)")
"""What is asked of Pint: a name and at most a power, never an expression of somebody else's making."""

IN_PINT: Final = {
    "voltage": "volt",
    "current": "ampere",
    "power": "watt",
    "resistance": "ohm",
    "charge": "ampere * hour",
    "capacitance": "farad",
    "inductance": "henry",
    "length": "metre",
    "area": "millimetre ** 2",
    "time": "second",
    "temperature": "degree_Celsius",
    "count": "ways",
    "share": "dimensionless",
}
"""The unit in which the model holds each dimension, by Pint's name."""


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Pint's units and the few that the trade names otherwise."""
    import pint

    made: pint.UnitRegistry[Any] = pint.UnitRegistry()
    made.load_definitions(DEFINITIONS.read_text("utf-8").splitlines())
    return made


def in_our_units(number: str, unit: str, dimensions: Iterable[str]) -> str | None:
    """``0.5 ft`` as ``0.152 m``: a quantity in a unit of the language, to three digits.

    ``None`` where Pint does not know the unit, or where it measures none of ``dimensions``.
    """
    for dimension in dimensions:
        value = _value(unit, dimension)
        if value is not None:
            return _said(float(number) * value, dimension)
    return None


@cache
def _value(unit: str, dimension: str) -> float | None:
    """One of ``unit`` in the model's unit of a dimension; ``None`` where it is none of that dimension."""
    match = _PLAIN.fullmatch(unit)
    if match is None or dimension in ("temperature", "count", "share"):
        return None
    import pint

    asked = f"{match[1]} ** {match[2]}" if match[2] else match[1]
    try:
        return float(registry().Quantity(1, asked).to(IN_PINT[dimension]).magnitude)
    except (pint.PintError, AttributeError, TypeError, ValueError):
        return None


def _said(value: float, dimension: str) -> str | None:
    """The value in the first of our units in which it has few digits, else in the largest or the smallest of them."""
    ours = sorted((name for name in UNITS_OF[dimension] if UNITS[name].factor > 0), key=lambda n: UNITS[n].factor)
    if not ours:
        return None
    handy = [name for name in UNITS_OF[dimension] if name in ours and 0.1 <= abs(value / UNITS[name].factor) < 1000]
    unit = handy[0] if handy else ours[-1 if abs(value / UNITS[ours[-1]].factor) >= 1 else 0]
    scaled = value / UNITS[unit].factor
    text = f"{scaled:.3g}" if abs(scaled) < 1000 else f"{scaled:.0f}"
    return None if "e" in text else f"{text} {unit}"
