"""Quantities: the closed list of units, their factors to SI, and conductor sizes.

The factors stand here as plain numbers, so that reading a harness needs no unit library; a test asks Pint for each of
them, with ``units.txt`` for what the trade names otherwise. AWG follows the formula of ASTM B258: diameter 0.127 mm at
No. 36, 0.46 in at No. 4/0, and 39 equal ratios between.
"""

from __future__ import annotations

import math
import re
from typing import Final

from ..named_tuples import NamedTuple
from .size import Size


class Unit(NamedTuple):
    """A unit of the language: what it measures, and the factor that turns it into the model's unit (SI but for degC,
    mm2, Ah and a share of 1)."""

    dimension: str
    factor: float


UNITS: Final[dict[str, Unit]] = {
    "V": Unit("voltage", 1.0),
    "mV": Unit("voltage", 1e-3),
    "A": Unit("current", 1.0),
    "mA": Unit("current", 1e-3),
    "W": Unit("power", 1.0),
    "ohm": Unit("resistance", 1.0),
    "mohm": Unit("resistance", 1e-3),
    "kohm": Unit("resistance", 1e3),
    "Ah": Unit("charge", 1.0),
    "uF": Unit("capacitance", 1e-6),
    "mF": Unit("capacitance", 1e-3),
    "F": Unit("capacitance", 1.0),
    "mH": Unit("inductance", 1e-3),
    "m": Unit("length", 1.0),
    "cm": Unit("length", 1e-2),
    "mm": Unit("length", 1e-3),
    "inch": Unit("length", 0.0254),
    "mm2": Unit("area", 1.0),
    "AWG": Unit("area", math.nan),  # no factor: see `awg_area`
    "s": Unit("time", 1.0),
    "degC": Unit("temperature", 1.0),
    "ways": Unit("count", 1.0),
    "%": Unit("share", 1e-2),
}

ALSO_READ: Final[dict[str, str]] = {
    "mm²": "mm2",
    "Ω": "ohm",
    "mΩ": "mohm",
    "kΩ": "kohm",
    "°C": "degC",
    "µF": "uF",
    "μF": "uF",
}
"""Other ways to write a unit that keyboards and diagrams have; the formatter writes the first form."""

UNITS_OF: Final[dict[str, tuple[str, ...]]] = {
    dimension: tuple(name for name, unit in UNITS.items() if unit.dimension == dimension)
    for dimension in dict.fromkeys(unit.dimension for unit in UNITS.values())
}

SIGNED: Final = ("temperature",)
"""Dimensions whose values may be below zero."""

GREATEST: Final = 1e9
"""No quantity on a motorcycle is larger; a longer number is a slip of the finger, and 1e400 no number at all."""

LEAST: Final[dict[str, float]] = {
    "voltage": 1e-4,
    "current": 1e-6,
    "power": 1e-3,
    "resistance": 1e-6,
    "charge": 1e-3,
    "capacitance": 1e-9,
    "inductance": 1e-6,
    "length": 1e-4,
    "area": 1e-3,
    "time": 1e-3,
    "share": 1e-3,
}
"""In the model's units: no quantity on a motorcycle is smaller but 0 (ours: a thousandth of what harnesses have). A
smaller number is a slip of the finger, and what is solved with it means nothing.
"""

NUMBER: Final = re.compile(r"-?\d+(?:\.\d+)?", re.ASCII)
GLUED: Final = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)((?:[^\W\d_]|[%°])[\w%°]*)")


def is_number(text: str) -> bool:
    """Whether ``text`` is a plain decimal number: digits, at most one point, a leading minus allowed."""
    return NUMBER.fullmatch(text) is not None


def unit_name(text: str) -> str | None:
    """The first form of a unit, or ``None`` where ``text`` is none of the list."""
    if text in UNITS:
        return text
    return ALSO_READ.get(text)


def unglue(text: str) -> tuple[str, str] | None:
    """Number and unit of something like ``30A``; ``None`` where it is not a number and a known unit stuck together."""
    match = GLUED.fullmatch(text)
    if match is None:
        return None
    unit = unit_name(match[2])
    return (match[1], unit) if unit else None


def awg_diameter(gauge: int) -> float:
    """Diameter in mm of a solid conductor of an AWG size (ASTM B258); 0 is 1/0, -1 is 2/0 and so on."""
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_area(gauge: int) -> float:
    """Cross-section in mm2 of an AWG size (ASTM B258)."""
    return math.pi / 4 * awg_diameter(gauge) ** 2


def metric(number: str) -> Size:
    return Size(area=float(number), text=f"{number} mm2", standard="metric")


def american(number: str) -> Size | None:
    """A size in AWG, 0 to 40; ``None`` for what is no such gauge."""
    if not number.isdecimal() or len(number) > 2 or int(number) > 40:
        return None
    return Size(area=awg_area(int(number)), text=f"{number} AWG", standard="AWG", gauge=int(number))


def stranded(count: str, diameter: str) -> Size:
    """``count`` strands of ``diameter`` mm."""
    area = int(count) * math.pi / 4 * float(diameter) ** 2
    return Size(
        area=area,
        text=f"{count} x {diameter} mm",
        standard="strands",
        strands=int(count),
        strand_diameter=float(diameter),
    )
