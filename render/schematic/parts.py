"""What each part is drawn as: one symbol, or several where elements, coil and contacts are in tracks of their own.

Detached representation is the habit of current-path diagrams: a relay's coil and its contacts, the poles of a switch
and the lamps of a cluster stand where their current runs, under one name, with the tracks of the others beside them.
"""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model.parts import (
    Capacitor,
    Connector,
    Diode,
    Flasher,
    Fuse,
    Ground,
    Load,
    Meter,
    Part,
    Rectifier,
    Regulator,
    Relay,
    Resistor,
    Sensor,
    Source,
    Splice,
    Switch,
    Unit,
)
from .symbols import glyphs
from .symbols.consumers import load, sensor, unit_box
from .symbols.contacts import flasher, relay, switch
from .symbols.drawn import Around, Drawn, farads, number, ohms, stated, two_ended, with_unit
from .symbols.machines import rectifier, regulator, source


def symbols_of(part: Part, around: Around) -> Iterator[Drawn]:
    """The symbols of a part, none for grounds, splices and connectors, which are drawn from the wires at them."""
    match part:
        case Ground() | Splice() | Connector():
            return
        case Source():
            yield source(part, around)
        case Rectifier():
            yield rectifier(part, around)
        case Regulator():
            yield regulator(part, around)
        case Capacitor():
            lines = stated(farads(part.farads), with_unit(part.volts, "V"))
            yield two_ended(part, glyphs.capacitor(), "+", "-", lines, around)
        case Diode():
            yield two_ended(part, glyphs.diode(), "A", "K", stated(with_unit(part.amps, "A")), around)
        case Resistor():
            lines = stated(ohms(part.ohms), with_unit(part.watts, "W"))
            yield two_ended(part, glyphs.resistor(), "1", "2", lines, around)
        case Meter():
            yield two_ended(part, glyphs.meter("A"), "1", "2", stated(with_unit(part.amps, "A")), around)
        case Fuse():
            rating = with_unit(part.amps, "A") or (f"blows {number(part.blows)} A" if part.blows is not None else "")
            yield two_ended(part, glyphs.fuse(), "1", "2", stated(f"{rating} {part.form or ''}".strip()), around)
        case Sensor():
            if part.signal:
                yield sensor(part, part.signal, around)
        case Switch():
            yield from switch(part, around)
        case Relay():
            yield from relay(part, around)
        case Flasher():
            yield flasher(part, around)
        case Load():
            yield from load(part, around)
        case Unit():
            yield unit_box(part, around)
        case _:
            raise TypeError(f"no symbol for a {part.kind}")
