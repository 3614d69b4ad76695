"""What switches: contacts with what works them, relays and flashers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ....lang.circuit.ids import BranchId, End, Role, coil_of
from ....lang.model.conditions import Pair
from ....lang.model.parts import Coil, Flasher, Part, Relay, Switch
from ....lang.records import dataclass
from ....lang.search.walks import hops
from ...drawing.primitives import Dash, Keyed
from . import glyphs
from .actuators import Actuator
from .columns import Column, columns
from .drawn import (
    Around,
    Drawn,
    by_side,
    drawn,
    first_up,
    label,
    number,
    ohms,
    reference,
    sides_of,
    stated,
    upright,
    with_unit,
)
from .glyph import Side
from .pin_box import pin_box

RELEASED, PULLED = "released", "pulled"
"""The two positions of a relay, by the language's words."""

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
    beside: dict[str, list[str]] = {}
    for a, b in pairs:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    side = {t: steps % 2 for t, steps in hops([pairs[0][0]], beside.__getitem__).items()}
    if any(side[a] == side[b] for a, b in pairs):
        return None
    return {t for t, s in side.items() if s == 0}, {t for t, s in side.items() if s == 1}


@dataclass(frozen=True, slots=True)
class _Table:
    """Which pairs of terminals each position joins, as the text writes them; and the position at rest."""

    rows: tuple[tuple[str, tuple[Pair, ...]], ...]
    rests: str

    @property
    def pairs(self) -> list[Pair]:
        """Each pair once, whichever way round it is written."""
        return list(dict.fromkeys(_sorted_pair(pair) for _, row in self.rows for pair in row))

    def closed(self, pair: Pair) -> list[str]:
        """The positions that join a pair."""
        return [name for name, row in self.rows if pair in map(_sorted_pair, row)]

    def keyed(self, part: Part, pair: Pair) -> Keyed:
        """The group of a contact: the branches that the circuit has of the pair."""
        written = dict.fromkeys(own for _, row in self.rows for own in row if _sorted_pair(own) == pair)
        branches = "|".join(BranchId(part.name, Role.CONTACT, f"{a}-{b}") for a, b in written)
        return Keyed("contact", (("branch", branches),), ())


def _contact(
    part: Part, pair: Pair, sides: Mapping[str, Side], table: _Table, around: Around, caption: str = ""
) -> Column:
    a, b = pair
    closed = table.closed(pair)
    now = around.position(part.name, table.rests)
    glyph = glyphs.contact(table.rests, {name: name in closed for name, _ in table.rows}, now)
    if sides[a] != sides[b]:
        top, bottom = (a, b) if sides[a] == "top" else (b, a)
    else:
        top, bottom = (a, b) if first_up(part, a, b, around) else (b, a)
    return Column(glyph, (top,), (bottom,), (caption,) if caption else (), table.keyed(part, pair))


def switch(part: Switch, around: Around) -> Iterator[Drawn]:
    contacts = _Table(tuple((p.name, p.pairs) for p in part.positions), part.rests)
    worked: Actuator
    if part.senses:
        worked = _WORKED.get(part.senses, "cam")
    else:
        worked = "key" if part.key else "push" if part.momentary else "hand"
    poles = _poles(contacts.pairs)
    keys = [f"{part.name}" if len(poles) == 1 else f"{part.name} pole {i + 1}" for i in range(len(poles))]
    for key, pole in zip(keys, poles, strict=True):
        sides = _pole_sides(part, pole, around)
        table = len(pole) > 1 or len(part.positions) > 2
        body = [
            _contact(part, pair, sides, contacts, around, "" if table else ", ".join(contacts.closed(pair)))
            for pair in sorted(pole, key=lambda pair: _across(part, pair, sides, around))
        ]
        rows = []
        if table:
            ordered = sorted(pole, key=lambda pair: _across(part, pair, sides, around))
            rows = [
                (p.name, frozenset(i for i, pair in enumerate(ordered) if p.name in contacts.closed(pair)))
                for p in part.positions
            ]
        others = [other for other in keys if other != key]
        also = reference("also", others, around) if others else ""
        lines = stated(with_unit(part.amps, "A"), part.senses, also)
        symbol = columns(
            "switch",
            part.name,
            [*label(part), *lines],
            body,
            sides=sides,
            outline="" if len(pole) > 1 else None,
            worked=worked,
            rows=rows,
        )
        positions = "; ".join(
            f"{p.name}: {' '.join('-'.join(pair) for pair in p.pairs) or 'open'}" for p in part.positions
        )
        yield drawn(part, symbol, f"switch, {positions}", key)


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


def relay(part: Relay, around: Around) -> Iterator[Drawn]:
    contacts = _Table(((RELEASED, part.released), (PULLED, part.pulled)), RELEASED)
    poles = _poles(contacts.pairs)
    contact_keys = [
        f"{part.name} contact" if len(poles) == 1 else f"{part.name} contact {i + 1}" for i in range(len(poles))
    ]
    coil_key = coil_of(part.name)
    if part.coil:
        yield _relay_coil(part, part.coil, coil_key, contact_keys, around)
    for key, pole in zip(contact_keys, poles, strict=True):
        sides = _pole_sides(part, pole, around)
        body = [
            _contact(part, pair, sides, contacts, around)
            for pair in sorted(pole, key=lambda pair: _across(part, pair, sides, around))
        ]
        coil = reference("coil", [coil_key], around) if part.coil else ""
        lines = [*label(part), *stated(with_unit(part.amps, "A"), coil)]
        outline: Dash | None = "" if len(pole) > 1 else None
        symbol = columns("relay contact", part.name, lines, body, sides=sides, outline=outline)
        yield drawn(part, symbol, "relay contact", key)


def _relay_coil(
    part: Relay,
    coil: Coil,
    key: str,
    contact_keys: Sequence[str],
    around: Around,
) -> Drawn:
    body = [upright(part, glyphs.coil(), coil.plus, coil.minus, around, branch=coil_of(part.name))]
    contacts = reference("contact", contact_keys, around) if contact_keys else ""
    lines = stated(
        ohms(coil.ohms),
        with_unit(coil.watts, "W"),
        with_unit(coil.amps, "A"),
        "clamped" if part.clamped else "",
        contacts,
        *around.note(key),
    )
    symbol = columns("relay coil", part.name, [*label(part), *lines], body, sides=sides_of(body))
    return drawn(part, symbol, "relay coil", key)


def flasher(part: Flasher, around: Around) -> Drawn:
    watts = ""
    if part.watts:
        low, high = part.watts
        watts = f"{number(low)} W" if low == high else f"{number(low)} to {number(high)} W"
    lines = [*label(part), *stated(watts, part.how), *around.note(part.name)]
    if part.flash and not part.pilot and not part.supply:
        body = [upright(part, glyphs.flasher(), *part.flash, around)]
        symbol = columns("flasher", part.name, lines, body, sides=sides_of(body))
    else:
        words: dict[str, list[str]] = {}
        branches: dict[str, list[str]] = {}
        for terminal, role in (
            *([(part.flash[0], Role.PART)] if part.flash else []),
            *([(part.pilot, Role.PILOT)] if part.pilot else []),
            *([(part.supply[0], Role.SUPPLY)] if part.supply else []),
        ):
            branches.setdefault(terminal, []).append(BranchId(part.name, role))
        for terminal, word in (
            *zip(part.flash or (), ("in", "flashes"), strict=bool(part.flash)),
            *([(part.pilot, "pilot")] if part.pilot else []),
            *zip(part.supply or (), ("supply +", "supply -"), strict=bool(part.supply)),
        ):
            words.setdefault(terminal, []).append(word)
        symbol = pin_box("flasher", part.name, ["flasher", *lines], by_side(part, words, around, branches))
    return drawn(part, symbol, "flasher")
