"""What each part is drawn as: one symbol, or several where elements, coil and contacts stand in tracks of their own.

Detached representation is the habit of current-path diagrams: a relay's coil and its contacts, the poles of a switch
and the lamps of a cluster stand where their current runs, under one name, with the tracks of the others beside them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field

from ...lang.circuit.ids import End, coil_of, inside
from ...lang.model.conditions import Pair
from ...lang.model.parts import (
    Capacitor,
    Coil,
    Connector,
    Diode,
    Element,
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
from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.primitives import Dash
from ..report.unit_logic import logic
from . import symbols
from .current_direction import Currents
from .symbols import Actuator, Column, Glyph, Pin, Side, Symbol

NO_TRACKS = "000"
"""Stands for a number of a track that is not known yet: as wide as one can get."""

_LABEL_WIDTH = 84.0


@dataclass(frozen=True, slots=True)
class Drawn:
    """One symbol of a part. ``key`` is unique; ``nodes`` says which node each port's terminal is."""

    key: str
    part: str
    symbol: Symbol
    about: str
    nodes: tuple[tuple[str, str], ...]


def number(value: float) -> str:
    return f"{value:.4g}"


def ohms(value: float | None) -> str:
    """A resistance with its unit; nothing where there is none, or none is given."""
    if not value:
        return ""
    if value < 1:
        return f"{number(value * 1000)} mΩ"
    return f"{number(value / 1000)} kΩ" if value >= 1000 else f"{number(value)} Ω"


def farads(value: float | None) -> str:
    if not value:
        return ""
    if value < 1e-3:
        return f"{number(value * 1e6)} µF"
    return f"{number(value * 1e3)} mF" if value < 1 else f"{number(value)} F"


def _given(*texts: str | None) -> list[str]:
    return [text for text in texts if text]


def _unit(value: float | None, unit: str) -> str:
    return "" if value is None else f"{number(value)} {unit}"


def _label(part: Part) -> list[str]:
    return lettering.wrapped(part.label, symbols.INFO_SIZE, _LABEL_WIDTH) if part.label else []


@dataclass(frozen=True, slots=True)
class Around:
    """What decides how a part is drawn besides itself.

    ``across`` says how far to the right the lines of each node lie, once there is a layout: contacts and pins whose
    order is free stand in that order. ``tracks`` gives the track of each symbol by key, once they are numbered.
    """

    currents: Currents
    across: Mapping[str, float] = field(default_factory=dict)
    tracks: Mapping[str, int] | None = None
    pins: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Which terminals of a control unit are on the sheet, by its name; all of one that is not named."""

    def place(self, node: str) -> int:
        return self.currents.place(node)

    def in_order(self, part: Part, terminals: Iterable[str]) -> list[str]:
        """Terminals from left to right; those of which nothing is known yet stay as they were."""
        return sorted(terminals, key=lambda t: self.across.get(End(part.name, t), 0.0))


def symbols_of(part: Part, around: Around) -> Iterator[Drawn]:
    """The symbols of a part, none for grounds, splices and connectors, which are drawn from the wires at them."""
    match part:
        case Ground() | Splice() | Connector():
            return
        case Source():
            yield _source(part, around)
        case Rectifier():
            yield _rectifier(part, around)
        case Regulator():
            yield _regulator(part, around)
        case Capacitor():
            lines = _given(farads(part.farads), _unit(part.volts, "V"))
            yield _two(part, symbols.capacitor(), "+", "-", lines, around)
        case Diode():
            yield _two(part, symbols.diode(), "A", "K", _given(_unit(part.amps, "A")), around)
        case Resistor():
            lines = _given(ohms(part.ohms), _unit(part.watts, "W"))
            yield _two(part, symbols.resistor(), "1", "2", lines, around)
        case Meter():
            yield _two(part, symbols.meter("A"), "1", "2", _given(_unit(part.amps, "A")), around)
        case Fuse():
            rating = _unit(part.amps, "A") or (f"blows {number(part.blows)} A" if part.blows is not None else "")
            yield _two(part, symbols.fuse(), "1", "2", _given(f"{rating} {part.form or ''}".strip()), around)
        case Sensor():
            if part.signal:
                yield _sensor(part, part.signal, around)
        case Switch():
            yield from _switch(part, around)
        case Relay():
            yield from _relay(part, around)
        case Flasher():
            yield _flasher(part, around)
        case Load():
            yield from _load(part, around)
        case Unit():
            yield _unit_box(part, around)
        case _:
            raise TypeError(f"no symbol for a {part.kind}")


def _nodes(part: Part, symbol: Symbol) -> tuple[tuple[str, str], ...]:
    return tuple((port.terminal, End(part.name, port.terminal)) for port in symbol.ports)


def _about(part: Part, what: str, symbol: Symbol) -> str:
    terminals = ", ".join(port.terminal for port in symbol.ports)
    where = f" at {part.place}" if part.place else ""
    label = f" ({part.label})" if part.label else ""
    return f"{part.name}{label}: {what}{where}, terminals {terminals}"


def _drawn(part: Part, symbol: Symbol, what: str, key: str = "") -> Drawn:
    """``key``: of one of several symbols of a part; else it is the part's name."""
    return Drawn(key or part.name, part.name, symbol, _about(part, what, symbol), _nodes(part, symbol))


def _first(part: Part, a: str, b: str, around: Around) -> bool:
    """Whether current reaches terminal ``a`` before ``b``; where none flows at all, as the text has it."""
    nodes = End(part.name, a), End(part.name, b)
    if all(node in around.currents.adrift for node in nodes):
        return True
    return around.place(nodes[0]) <= around.place(nodes[1])


def _upright(part: Part, glyph: Glyph, a: str, b: str, around: Around, caption: Sequence[str] = ()) -> Column:
    """A glyph from ``a`` to ``b``, or from ``b`` to ``a`` where current reaches that first."""
    if _first(part, a, b, around):
        return Column(glyph, (a,), (b,), tuple(caption))
    return Column(symbols.upside_down(glyph) if glyph.polar else glyph, (b,), (a,), tuple(caption))


def _sides(body: Sequence[Column]) -> dict[str, Side]:
    sides: dict[str, Side] = {}
    for column in body:
        for terminal in column.tops:
            sides.setdefault(terminal, "top")
        for terminal in column.bottoms:
            sides.setdefault(terminal, "bottom")
    return sides


def _two(part: Part, glyph: Glyph, a: str, b: str, lines: Sequence[str], around: Around) -> Drawn:
    body = [_upright(part, glyph, a, b, around)]
    symbol = symbols.columns(part.kind, part.name, [*_label(part), *lines], body, sides=_sides(body))
    return _drawn(part, symbol, " ".join([part.kind, *lines]))


def _sensor(part: Sensor, signal: Pair, around: Around) -> Drawn:
    """A sensor between two leads of one unit hangs below it: both its leads come from above."""
    lines = _given(ohms(part.ohms))
    if not all(End(part.name, terminal) in around.currents.still for terminal in signal):
        return _two(part, symbols.sensor(), *signal, lines, around)
    body = [Column(symbols.sensor(), (signal[0],), (signal[1],))]
    sides: dict[str, Side] = {signal[0]: "top", signal[1]: "top"}
    symbol = symbols.columns(part.kind, part.name, [*_label(part), *lines], body, sides=sides)
    return _drawn(part, symbol, " ".join([part.kind, *lines]))


# --- machines --------------------------------------------------------------------------------------------------------
def _source(part: Source, around: Around) -> Drawn:
    if part.what == "battery":
        lines = _given(_unit(part.volts, "V"), _unit(part.amp_hours, "Ah"), "lithium" if part.lithium else "")
        body = [_upright(part, symbols.battery(), "+", "-", around)]
        symbol = symbols.columns("battery", part.name, [*_label(part), *lines], body, sides=_sides(body))
        return _drawn(part, symbol, "battery")
    body = []
    lines = []
    if part.phases:
        phases = tuple(around.in_order(part, part.phases))
        body.append(Column(symbols.phase_machine(len(phases)), phases, ()))
    if part.output:
        positive = _first(part, part.output.plus, part.output.minus, around)
        glyph = symbols.machine("G", "=") if part.what == "dynamo" else symbols.machine_with_diodes("~", positive)
        body.append(_upright(part, glyph, part.output.plus, part.output.minus, around))
        lines += _given(_unit(part.output.watts, "W"))
    if part.field_winding:
        own = part.field_winding
        caption = _given("field", ohms(own.ohms))
        body.append(_upright(part, symbols.winding(), own.plus, own.minus, around, caption))
    for winding in part.windings:
        caption = _given(winding.name, _unit(winding.watts, "W"), "floating" if winding.floating else "")
        if len(winding.terminals) == 2:
            body.append(_upright(part, symbols.winding(), *winding.terminals, around, caption))
        else:
            first, tap, last = winding.terminals
            glyph = symbols.tapped_winding()
            body.append(Column(glyph, (first, tap), (last,), tuple(caption)))
    lines += _given(_unit(part.regulated, "V"))
    outline: Dash | None = "" if len(body) > 1 else None
    symbol = symbols.columns(part.what, part.name, [*_label(part), *lines], body, sides=_sides(body), outline=outline)
    return _drawn(part, symbol, part.what)


def _rectifier(part: Rectifier, around: Around) -> Drawn:
    tops: list[str] = []
    bottoms = list(part.phases)
    positive = True
    if part.output:
        positive = _first(part, part.output.plus, part.output.minus, around)
        tops.append(part.output.plus if positive else part.output.minus)
        bottoms.append(part.output.minus if positive else part.output.plus)
    if part.trio:
        tops.append(part.trio)
    tops, bottoms = around.in_order(part, tops), around.in_order(part, bottoms)
    body = [Column(symbols.rectifier(len(tops), len(bottoms), positive), tuple(tops), tuple(bottoms))]
    lines = _given(
        _unit(part.output.watts, "W") if part.output else "",
        _unit(part.amps, "A"),
        "shunt" if part.shunt else "",
        _unit(part.regulated, "V"),
    )
    symbol = symbols.columns("rectifier", part.name, [*_label(part), *lines], body, sides=_sides(body))
    return _drawn(part, symbol, "rectifier")


def _side(part: Part, terminal: str, against: float, around: Around) -> Side:
    return "top" if around.place(End(part.name, terminal)) < against else "bottom"


def _by_side(part: Part, words: Mapping[str, Sequence[str]], around: Around) -> list[Pin]:
    """Pins of a box: those that current reaches before the middle of the box at its head, the others at its foot."""
    places = sorted(around.place(End(part.name, terminal)) for terminal in words)
    middle = (places[0] + places[-1]) / 2 + 0.5 if places else 0.0
    return [Pin(t, _side(part, t, middle, around), tuple(words[t])) for t in around.in_order(part, words)]


def _regulator(part: Regulator, around: Around) -> Drawn:
    words: dict[str, list[str]] = {}
    for pair, names in (
        (part.passes, ("field in", "field out")),
        (part.cut_out, ("cut-out in", "cut-out out")),
        (part.shunts, ("shunts", "return")),
        (part.sense, ("sense +", "sense -")),
    ):
        for terminal, name in zip(pair or (), names, strict=bool(pair)):
            words.setdefault(terminal, []).append(name)
    volts = part.regulated if part.regulated is not None else part.shunt_volts
    lines = _given(f"U = {number(volts)} V" if volts is not None else "U =")
    cut = f"cut-out {number(part.cut_out_volts)} V" if part.cut_out_volts is not None else ""
    symbol = symbols.pin_box(
        "regulator", part.name, [*_label(part), *lines, *_given(cut)], _by_side(part, words, around)
    )
    return _drawn(part, symbol, "regulator")


# --- contacts --------------------------------------------------------------------------------------------------------
_WORKED: dict[str, Actuator] = {
    "front-brake": "lever",
    "rear-brake": "pedal",
    "clutch": "lever",
    "oil-pressure": "pressure",
    "temperature": "heat",
}


def _poles(pairs: Sequence[Pair]) -> list[list[Pair]]:
    """Pairs of a contact table that share terminals belong to one pole."""
    poles: list[tuple[set[str], list[Pair]]] = []
    for pair in pairs:
        touching = [pole for pole in poles if pole[0] & set(pair)]
        terminals = set(pair).union(*(pole[0] for pole in touching))
        joined = [p for pole in touching for p in pole[1]] + [pair]
        poles = [pole for pole in poles if pole not in touching] + [(terminals, joined)]
    return [sorted(pole[1], key=list(pairs).index) for pole in poles]


def _pole_sides(part: Part, pairs: Sequence[Pair], around: Around) -> dict[str, Side]:
    """On which edge each terminal of a pole leaves: what feeds on top, a common terminal apart from the others."""
    terminals = list(dict.fromkeys(t for pair in pairs for t in pair))

    def place(terminal: str) -> int:
        return around.place(End(part.name, terminal))

    commons = [t for t in terminals if all(t in pair for pair in pairs)]
    if commons and len(terminals) > 2:
        common = commons[0]
        sides: dict[str, Side] = {t: "top" if place(t) < place(common) else "bottom" for t in terminals if t != common}
        sides[common] = "top" if "bottom" in sides.values() else "bottom"
        return {t: sides[t] for t in terminals}
    halves = _two_sides(pairs)
    if halves is not None:
        first, second = halves
        if sum(map(place, first)) / len(first) > sum(map(place, second)) / len(second):
            first, second = second, first
        return {t: "top" if t in first else "bottom" for t in terminals}
    ranked = sorted(terminals, key=place)
    return {t: "top" if ranked.index(t) < len(ranked) / 2 else "bottom" for t in terminals}


def _two_sides(pairs: Sequence[Pair]) -> tuple[set[str], set[str]] | None:
    """The terminals in two sets such that every contact joins one to the other; ``None`` where there is no such way."""
    side: dict[str, int] = {pairs[0][0]: 0}
    changed = True
    while changed:
        changed = False
        for a, b in pairs:
            for known, other in ((a, b), (b, a)):
                if known in side and other not in side:
                    side[other] = 1 - side[known]
                    changed = True
    if any(side[a] == side[b] for a, b in pairs):
        return None
    return {t for t, s in side.items() if s == 0}, {t for t, s in side.items() if s == 1}


def _contact(part: Part, pair: Pair, sides: Mapping[str, Side], glyph: Glyph, around: Around, caption: str) -> Column:
    a, b = pair
    if sides[a] != sides[b]:
        top, bottom = (a, b) if sides[a] == "top" else (b, a)
    else:
        top, bottom = (a, b) if _first(part, a, b, around) else (b, a)
    return Column(glyph, (top,), (bottom,), (caption,) if caption else ())


def _reference(what: str, keys: Sequence[str], around: Around) -> str:
    """Where other symbols of the same part stand, ``coil in 12``; as wide as it can get before that is known."""
    if around.tracks is None:
        known, elsewhere = f"{what} in {', '.join(NO_TRACKS for _ in keys)}", f"{what} elsewhere"
        return max(known, elsewhere, key=lambda text: lettering.width(text, symbols.INFO_SIZE))
    there = sorted({around.tracks[key] for key in keys if key in around.tracks})
    return f"{what} in {', '.join(map(str, there))}" if there else f"{what} elsewhere"


def _switch(part: Switch, around: Around) -> Iterator[Drawn]:
    pairs = list(dict.fromkeys(_sorted_pair(pair) for position in part.positions for pair in position.pairs))
    closed = {
        pair: [p.name for p in part.positions if pair in [_sorted_pair(own) for own in p.pairs]] for pair in pairs
    }
    worked: Actuator
    if part.senses:
        worked = _WORKED.get(part.senses, "cam")
    else:
        worked = "key" if part.key else "push" if part.momentary else "hand"
    poles = _poles(pairs)
    keys = [f"{part.name}" if len(poles) == 1 else f"{part.name} pole {i + 1}" for i in range(len(poles))]
    for key, pole in zip(keys, poles, strict=True):
        sides = _pole_sides(part, pole, around)
        table = len(pole) > 1 or len(part.positions) > 2
        body = [
            _contact(
                part,
                pair,
                sides,
                symbols.break_contact() if part.rests in closed[pair] else symbols.make_contact(),
                around,
                "" if table else ", ".join(closed[pair]),
            )
            for pair in sorted(pole, key=lambda pair: _across(part, pair, sides, around))
        ]
        rows = []
        if table:
            ordered = sorted(pole, key=lambda pair: _across(part, pair, sides, around))
            rows = [
                (p.name, frozenset(i for i, pair in enumerate(ordered) if p.name in closed[pair]))
                for p in part.positions
            ]
        others = [other for other in keys if other != key]
        also = _reference("also", others, around) if others else ""
        lines = _given(_unit(part.amps, "A"), part.senses, also)
        symbol = symbols.columns(
            "switch",
            part.name,
            [*_label(part), *lines],
            body,
            sides=sides,
            outline="" if len(pole) > 1 else None,
            worked=worked,
            rows=rows,
        )
        positions = "; ".join(
            f"{p.name}: {' '.join('-'.join(pair) for pair in p.pairs) or 'open'}" for p in part.positions
        )
        yield _drawn(part, symbol, f"switch, {positions}", key)


def _sorted_pair(pair: Pair) -> Pair:
    return (pair[0], pair[1]) if pair[0] <= pair[1] else (pair[1], pair[0])


def _across(part: Part, pair: Pair, sides: Mapping[str, Side], around: Around) -> tuple[float, float, int, int]:
    """Contacts of one terminal stand side by side, so that the bar that joins them is short."""
    names = list(sides)
    tops = [t for t in pair if sides[t] == "top"]
    bottoms = [t for t in pair if sides[t] == "bottom"]

    def right(terminals: Sequence[str]) -> float:
        return min((around.across.get(End(part.name, t), 0.0) for t in terminals), default=0.0)

    def number_of(terminals: Sequence[str]) -> int:
        return min((names.index(t) for t in terminals), default=len(names))

    return right(tops), right(bottoms), number_of(tops), number_of(bottoms)


def _relay(part: Relay, around: Around) -> Iterator[Drawn]:
    pairs = list(dict.fromkeys(_sorted_pair(pair) for pair in (*part.released, *part.pulled)))
    released = {_sorted_pair(pair) for pair in part.released}
    poles = _poles(pairs)
    contact_keys = [
        f"{part.name} contact" if len(poles) == 1 else f"{part.name} contact {i + 1}" for i in range(len(poles))
    ]
    coil_key = coil_of(part.name)
    if part.coil:
        yield _relay_coil(part, part.coil, coil_key, contact_keys, around)
    for key, pole in zip(contact_keys, poles, strict=True):
        sides = _pole_sides(part, pole, around)
        body = [
            _contact(
                part,
                pair,
                sides,
                symbols.break_contact() if pair in released else symbols.make_contact(),
                around,
                "",
            )
            for pair in sorted(pole, key=lambda pair: _across(part, pair, sides, around))
        ]
        coil = _reference("coil", [coil_key], around) if part.coil else ""
        lines = [*_label(part), *_given(_unit(part.amps, "A"), coil)]
        outline: Dash | None = "" if len(pole) > 1 else None
        symbol = symbols.columns("relay contact", part.name, lines, body, sides=sides, outline=outline)
        yield _drawn(part, symbol, "relay contact", key)


def _relay_coil(
    part: Relay,
    coil: Coil,
    key: str,
    contact_keys: Sequence[str],
    around: Around,
) -> Drawn:
    body = [_upright(part, symbols.coil(), coil.plus, coil.minus, around)]
    contacts = _reference("contact", contact_keys, around) if contact_keys else ""
    lines = _given(
        ohms(coil.ohms),
        _unit(coil.watts, "W"),
        _unit(coil.amps, "A"),
        "clamped" if part.clamped else "",
        contacts,
    )
    symbol = symbols.columns("relay coil", part.name, [*_label(part), *lines], body, sides=_sides(body))
    return _drawn(part, symbol, "relay coil", key)


def _flasher(part: Flasher, around: Around) -> Drawn:
    watts = ""
    if part.watts:
        low, high = part.watts
        watts = f"{number(low)} W" if low == high else f"{number(low)} to {number(high)} W"
    lines = [*_label(part), *_given(watts, part.how)]
    if part.flash and not part.pilot and not part.supply:
        body = [_upright(part, symbols.flasher(), *part.flash, around)]
        symbol = symbols.columns("flasher", part.name, lines, body, sides=_sides(body))
    else:
        words: dict[str, list[str]] = {}
        for terminal, word in (
            *zip(part.flash or (), ("in", "flashes"), strict=bool(part.flash)),
            *([(part.pilot, "pilot")] if part.pilot else []),
            *zip(part.supply or (), ("supply +", "supply -"), strict=bool(part.supply)),
        ):
            words.setdefault(terminal, []).append(word)
        symbol = symbols.pin_box("flasher", part.name, ["flasher", *lines], _by_side(part, words, around))
    return _drawn(part, symbol, "flasher")


# --- consumers -------------------------------------------------------------------------------------------------------
def _element_glyph(element: Element) -> Glyph:
    match element.what:
        case "lamp":
            return symbols.lamp()
        case "led":
            return symbols.led()
        case "motor" | "pump":
            return symbols.machine("M", "=")
        case "horn":
            return symbols.horn()
        case "solenoid":
            return symbols.solenoid()
        case "heater":
            return symbols.heater()
        case "ignition":
            return symbols.ignition_coil() if element.ohms is not None else symbols.ignition_box()
        case _:
            return symbols.electronics()


def _rating(element: Element) -> str:
    own = (_unit(element.watts, "W"), _unit(element.amps, "A"), ohms(element.ohms))
    made_for = f" at {number(element.rated_volts)} V" if element.rated_volts is not None else ""
    return next((text + made_for for text in own if text), "")


def _load(part: Load, around: Around) -> Iterator[Drawn]:
    if part.stop_lead:
        yield _stopped_box(part, part.stop_lead, around)
        return
    bulbs = [element for element in part.elements if element.what == "lamp"]
    if len(part.elements) == len(bulbs) == 2:
        shared = {bulbs[0].plus, bulbs[0].minus} & {bulbs[1].plus, bulbs[1].minus}
        common = next((t for t in (bulbs[0].minus, bulbs[0].plus) if t in shared), None)
        if common is not None and (bulbs[0].minus == common) == (bulbs[1].minus == common):
            yield _two_filaments(part, bulbs, common, around)
            return
    for element in part.elements:
        alone = len(part.elements) == 1
        body = [_upright(part, _element_glyph(element), element.plus, element.minus, around)]
        lines = [*_label(part), f"{element.name} {_rating(element)}".strip()]
        if element.what in ("pump", "solenoid", "electronics", "heater") and element.what != element.name:
            lines.append(element.what)
        symbol = symbols.columns(element.what, part.name, lines, body, sides=_sides(body))
        yield _drawn(part, symbol, f"{element.what} {lines[-1]}", "" if alone else inside(part.name, element.name))


def _free_end(bulb: Element, common: str) -> str:
    return bulb.plus if bulb.minus == common else bulb.minus


def _two_filaments(part: Load, bulbs: Sequence[Element], common: str, around: Around) -> Drawn:
    bulbs = sorted(bulbs, key=lambda bulb: around.across.get(f"{part.name}.{_free_end(bulb, common)}", 0.0))
    ends = [_free_end(bulb, common) for bulb in bulbs]
    below = all(_first(part, end, common, around) for end in ends)
    if below:
        body = [Column(symbols.two_lamps("bottom"), tuple(ends), (common,))]
    else:
        body = [Column(symbols.two_lamps("top"), (common,), tuple(ends))]
    lines = [*_label(part), *(f"{bulb.name} {_rating(bulb)}".strip() for bulb in bulbs)]
    symbol = symbols.columns("two-filament lamp", part.name, lines, body, sides=_sides(body))
    return _drawn(part, symbol, "lamp with two filaments, " + ", ".join(lines[-2:]))


def _stopped_box(part: Load, stop_lead: Pair, around: Around) -> Drawn:
    words: dict[str, list[str]] = {}
    lines = _label(part)
    for element in part.elements:
        words.setdefault(element.plus, []).append("+")
        words.setdefault(element.minus, []).append("-")
        lines += _given(f"{element.name} {_rating(element)}".strip())
    words.setdefault(stop_lead[0], []).append("stop")
    words.setdefault(stop_lead[1], [])
    symbol = symbols.pin_box(
        part.what or "load", part.name, [part.what or "box", *lines], _by_side(part, words, around)
    )
    return _drawn(part, symbol, "box with a stop lead")


def _unit_box(part: Unit, around: Around) -> Drawn:
    words: dict[str, list[str]] = {}
    for supply in part.supplies:
        words.setdefault(supply.plus, []).extend(_given(f"{supply.name} +".strip()))
        words.setdefault(supply.minus, []).extend(_given(f"{supply.name} -".strip()))
    for given in part.inputs:
        words.setdefault(given.terminal, []).extend([given.name, given.mode])
        if given.back:
            words.setdefault(given.back, []).append("return")
    for output in part.outputs:
        limit = f"trips {number(output.trips)} A" if output.trips is not None else _unit(output.amps, "A")
        how = "flashing" if output.flashing else "grounds" if output.grounded else ""
        words.setdefault(output.terminal, []).extend(_given(output.name, limit, how))
    for common in part.commons:
        words.setdefault(common, []).append("common")
    if part.stop_lead:
        words.setdefault(part.stop_lead[0], []).append("stop")
        words.setdefault(part.stop_lead[1], [])
    shown = around.pins.get(part.name, frozenset(words))
    pins = _unit_sides(part, {t: text for t, text in words.items() if t in shown}, around)
    some = [] if len(shown) == len(words) else ["other terminals elsewhere"]
    lines = [*_label(part), *some]
    decides = tuple(logic(part, shown))
    symbol = symbols.pin_box("control unit", part.name, lines, pins, outline="dash-dot", logic=decides)
    return _drawn(part, symbol, "control unit")


def _unit_sides(part: Unit, words: Mapping[str, Sequence[str]], around: Around) -> list[Pin]:
    """Supplies, fed inputs and outputs that ground stand at the head of a unit; all else at its foot."""
    heads = {given.terminal for given in part.inputs if given.mode == "fed"}
    heads |= {output.terminal for output in part.outputs if output.grounded}
    for supply in part.supplies:
        fed, other = supply.plus, supply.minus
        if not _first(part, fed, other, around):  # a positive ground
            fed, other = other, fed
        heads.add(fed)
        heads.discard(other)
    return [Pin(t, "top" if t in heads else "bottom", tuple(words[t])) for t in around.in_order(part, words)]
