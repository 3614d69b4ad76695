"""The figures of a part that a shop asks for, as its line in the text has them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING

from ...lang.diagnostics.messages import plainly_listed
from ...lang.model.parts import (
    Capacitor,
    Diode,
    Flasher,
    Load,
    Meter,
    Rectifier,
    Regulator,
    Resistor,
    Sensor,
    Source,
    Switch,
)
from ...lang.quantities.quantity import Quantity, shown

if TYPE_CHECKING:
    from ...lang.model.parts import Element, Part


def ratings(part: Part) -> str:
    """Its figures with their units; empty where the text has none."""
    match part:
        case Resistor():
            return _figures((part.ohms, "ohm"), (part.watts, "W"))
        case Capacitor():
            return _figures((part.farads, "F"), (part.volts, "V"))
        case Diode() | Meter() | Switch():
            return _figures((part.amps, "A"))
        case Regulator():
            return _figures((part.amps, "A"), (part.regulated or part.shunt_volts, "V"))
        case Rectifier():
            return _figures((part.amps, "A"), (part.regulated, "V"))
        case Sensor():
            return _figures((part.ohms, "ohm"))
        case Source(output=output) if output is not None:
            return _figures((output.watts, "W"))
        case Flasher(watts=(least, most)):
            span = _figures((most, "W"))
            span = span if least == most else f"{_figures((least, 'W'))} to {span}"
            return f"{span} {part.how}" if part.how else span
        case Load():
            return _of_elements(part.elements)
        case _:
            return ""


def _figures(*found: tuple[float | None, str]) -> str:
    return " ".join(shown(Quantity(value, unit)) for value, unit in found if value is not None)


def _of_elements(elements: Iterable[Element]) -> str:
    """One figure for each element, those alike counted; none where one of them has none."""
    each = [_figures((e.watts, "W")) or _figures((e.amps, "A")) or _figures((e.ohms, "ohm")) for e in elements]
    if not all(each):
        return ""
    return plainly_listed([f"{count} x {figure}" if count > 1 else figure for figure, count in Counter(each).items()])
