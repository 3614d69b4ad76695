"""A symbol of a part, and what it needs to know of its surroundings: numbers, labels, sides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field

from ....lang.circuit.ids import End
from ....lang.model.parts import Part
from ....lang.records import dataclass
from ...drawing import lettering
from ...drawing.primitives import Keyed, Mark
from ..current_direction import Currents
from .columns import Column, columns
from .glyph import Glyph, Side, upside_down
from .pin_box import Pin
from .symbol import INFO_SIZE, NO_TRACKS, Symbol

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
    """A resistance with its unit; nothing without one, or none is given."""
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


def stated(*texts: str | None) -> list[str]:
    return [text for text in texts if text]


def with_unit(value: float | None, unit: str) -> str:
    return "" if value is None else f"{number(value)} {unit}"


def label(part: Part) -> list[str]:
    return lettering.wrapped(part.label, INFO_SIZE, _LABEL_WIDTH) if part.label else []


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """What is drawn of one moment: the position of each switch and relay by name, which branches of wires are
    ``active`` (connected to a feed, or carrying current; ``None``: not judged), which ``nodes`` are, what is noted at a
    branch, and in words which moment it is. Of two harnesses held against each other, ``marks`` says of wires (by
    branch) and of parts (by name) how they differ.
    """

    says: str
    positions: Mapping[str, str]
    active: frozenset[str] | None
    notes: Mapping[str, str]
    nodes: frozenset[str] = frozenset()
    marks: Mapping[str, Mark] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Around:
    """What decides how a part is drawn besides itself.

    ``across`` says how far to the right the lines of each node lie, once there is a layout: contacts and pins whose
    order is free are in that order. ``tracks`` says where each symbol stands by its key, once they are
    numbered: a track, or a sheet and a track. ``blank`` is as wide as that can get.
    """

    currents: Currents
    across: Mapping[str, float] = field(default_factory=dict)
    tracks: Mapping[str, str] | None = None
    blank: str = NO_TRACKS
    pins: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Which terminals of a control unit are on the sheet, by its name; all of one that is not named."""
    now: Now | None = None
    """The moment that is drawn; ``None``: everything at rest."""

    def note(self, branch: str) -> list[str]:
        """What there is to say of a branch at the moment that is drawn."""
        return stated(self.now.notes.get(branch)) if self.now else []

    def position(self, name: str, rests: str) -> str:
        """The position in which a switch or a relay is drawn."""
        return self.now.positions.get(name, rests) if self.now else rests

    def place(self, node: str) -> int:
        return self.currents.place(node)

    def in_order(self, part: Part, terminals: Iterable[str]) -> list[str]:
        """Terminals from left to right; those of which nothing is known yet stay as they were."""
        return sorted(terminals, key=lambda t: self.across.get(End(part.name, t), 0.0))


def _nodes(part: Part, symbol: Symbol) -> tuple[tuple[str, str], ...]:
    return tuple((port.terminal, End(part.name, port.terminal)) for port in symbol.ports)


def _about(part: Part, what: str, symbol: Symbol) -> str:
    terminals = ", ".join(port.terminal for port in symbol.ports)
    where = f" at {part.place}" if part.place else ""
    label = f" ({part.label})" if part.label else ""
    return f"{part.name}{label}: {what}{where}, terminals {terminals}"


def drawn(part: Part, symbol: Symbol, what: str, key: str = "") -> Drawn:
    """``key``: of one of several symbols of a part; else it is the part's name."""
    return Drawn(key or part.name, part.name, symbol, _about(part, what, symbol), _nodes(part, symbol))


def first_up(part: Part, a: str, b: str, around: Around) -> bool:
    """Whether current reaches terminal ``a`` before ``b``; where none flows at all, as the text has it."""
    nodes = End(part.name, a), End(part.name, b)
    if all(node in around.currents.adrift for node in nodes):
        return True
    return around.place(nodes[0]) <= around.place(nodes[1])


def standing_for(branch: str) -> Keyed:
    """The group of an element of a part: what is drawn of it is that branch of the circuit."""
    return Keyed("element", (("branch", branch),), ())


def upright(
    part: Part, glyph: Glyph, a: str, b: str, around: Around, caption: Sequence[str] = (), *, branch: str = ""
) -> Column:
    """A glyph from ``a`` to ``b``, or from ``b`` to ``a`` where current reaches that first.

    ``branch`` is what it stands for, where that is not the part itself.
    """
    group = standing_for(branch or part.name)
    if first_up(part, a, b, around):
        return Column(glyph, (a,), (b,), tuple(caption), group)
    return Column(upside_down(glyph) if glyph.polar else glyph, (b,), (a,), tuple(caption), group)


def sides_of(body: Sequence[Column]) -> dict[str, Side]:
    sides: dict[str, Side] = {}
    for column in body:
        for terminal in column.tops:
            sides.setdefault(terminal, "top")
        for terminal in column.bottoms:
            sides.setdefault(terminal, "bottom")
    return sides


def two_ended(part: Part, glyph: Glyph, a: str, b: str, lines: Sequence[str], around: Around) -> Drawn:
    body = [upright(part, glyph, a, b, around)]
    written = [*label(part), *lines, *around.note(part.name)]
    symbol = columns(part.kind, part.name, written, body, sides=sides_of(body))
    return drawn(part, symbol, " ".join([part.kind, *lines]))


def side_of(part: Part, terminal: str, against: float, around: Around) -> Side:
    return "top" if around.place(End(part.name, terminal)) < against else "bottom"


def by_side(
    part: Part, words: Mapping[str, Sequence[str]], around: Around, branches: Mapping[str, Sequence[str]]
) -> list[Pin]:
    """Pins of a box: those that current reaches before the middle of the box at its head, the others at its foot.

    ``branches`` says of which branches each terminal is the home.
    """
    places = sorted(around.place(End(part.name, terminal)) for terminal in words)
    middle = (places[0] + places[-1]) / 2 + 0.5 if places else 0.0
    return [
        Pin(t, side_of(part, t, middle, around), tuple(words[t]), "|".join(branches.get(t, ())))
        for t in around.in_order(part, words)
    ]


def reference(what: str, keys: Sequence[str], around: Around) -> str:
    """Where other symbols of the same part stand, ``coil in 12``; as wide as it can get before that is known."""
    if around.tracks is None:
        known, elsewhere = f"{what} in {', '.join(around.blank for _ in keys)}", f"{what} elsewhere"
        return max(known, elsewhere, key=lambda text: lettering.width(text, INFO_SIZE))
    there = sorted({around.tracks[key] for key in keys if key in around.tracks}, key=lambda place: (len(place), place))
    return f"{what} in {', '.join(there)}" if there else f"{what} elsewhere"
