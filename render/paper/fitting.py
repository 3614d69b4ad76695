"""Which things share a sheet: what fits together is put together, what does not fit is parted at its weakest cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from itertools import combinations
from typing import Final

from ...lang.records import dataclass
from ...lang.vocabulary.kinds import SYSTEMS
from ..drawing.layout_engine import Engine
from ..schematic.arranging import Make, first_layout, laid_out
from ..schematic.content import Content
from ..schematic.lugs import Net
from ..schematic.placement import Item, Layout
from ..schematic.symbols.drawn import Around
from ..schematic.wires import courses
from .assignment import SUPPLY
from .parting import Joins, Things
from .sheets import Book

_SPREAD: Final = 4.0
"""A drawing covers this many times what its symbols do, 3 to 6.6 on the demonstrations (ours)."""
_SPARE: Final = 0.7
"""A thing that is no wider than this share of the room is not tried by itself (ours)."""
_HOPELESS: Final = 2.0
"""A sheet that needs this many times the room is parted without a layout (ours)."""
_FULL: Final = 1.05
"""Sheets whose drawings together cover more than this share of the room are not tried together (ours)."""
_WIDE_TOGETHER: Final = 1.4
_WIDE_APART: Final = 1.15
"""Nor are those that are together this many times as wide as the room: with wires between them, or without (ours; those
that fitted were 1.16 and 1.1 times as wide at most).
"""


class TooLarge(ValueError):  # noqa: N818 (says what is wrong, as a user reads it)
    """A symbol for which there is no room on a sheet, with the wires at it."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A sheet with a layout, in pixels."""

    things: Things
    content: Content
    layout: Layout
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Room:
    """What a drawing may cover, in pixels: any of these widths and heights; on the first sheet less of the height."""

    sizes: tuple[tuple[float, float], ...]
    first: float

    def holds(self, laid: Laid, *, first: bool) -> bool:
        less = self.first if first else 0.0
        return any(laid.width <= width and laid.height <= height - less for width, height in self.sizes)

    @property
    def area(self) -> float:
        return max(width * height for width, height in self.sizes)


@dataclass(slots=True)
class Fitter:
    """Tries which things fit a sheet; each try is kept."""

    book: Book
    engine: Engine
    room: Room
    homes: Mapping[str, str]
    tried: dict[Things, Laid] = field(default_factory=dict)
    joins: Joins = field(init=False)
    numbers: dict[str, int] = field(init=False)
    """The items in the order of the text."""

    def __post_init__(self) -> None:
        self.numbers = {item.key: number for number, item in enumerate(self.book.wiring.items)}
        self.joins = Joins(self.book.wiring.links)

    def laid(self, things: Things) -> Laid:
        """A quick layout of a sheet."""
        if things not in self.tried:
            found = first_layout(self._make(things), self.book.around, self.engine)
            self.tried[things] = _measured(things, *found)
        return self.tried[things]

    def well_laid(self, things: Things) -> Laid:
        """A good layout of a sheet, where that still fits it."""
        found = _measured(things, *laid_out(self._make(things), self.book.around, self.engine))
        return found if self.fits(found) else self.laid(things)

    def _make(self, things: Things) -> Make:
        def make(around: Around) -> Content:
            return self.book.make(things, around)

        return make

    def fits(self, laid: Laid) -> bool:
        return self.room.holds(laid, first=self.is_first(laid.things))

    def is_first(self, things: Iterable[str]) -> bool:
        """Whether a sheet has to do with supply and distribution."""
        return any(self.homes[thing] == SUPPLY for thing in things)

    def too_large(self, things: Iterable[str]) -> list[str]:
        """Those of some things that no sheet holds, with the wires at them and nothing else."""
        widest = max(width for width, _ in self.room.sizes) * _SPARE
        wide = [thing for thing in things if self.book.width(thing) > widest]
        return [thing for thing in wide if not self.fits(self.laid(frozenset([thing])))]

    def order_of_wires(self, net: Net, wire: Item) -> tuple[int, ...]:
        """By the sheet of what a wire goes to, and in the order of the text."""
        far = next((socket.net for socket in wire.sockets if socket.net != net.name), net.name)
        thing = self.book.wiring.thing_at(far)
        system = self.homes.get(thing or "", SUPPLY)
        return (SYSTEMS.index(system) if system in SYSTEMS else -1, self.numbers[wire.key])

    # --- parting ---
    def parted(self, things: Things) -> Iterator[Things]:
        """A sheet as it is, or in as many as it takes. Raises :class:`TooLarge`."""
        if len(things) < 2:
            if not self.fits(self.laid(things)):
                raise TooLarge(min(things))
            yield things
            return
        if self._is_hopeless(things):  # no layout is needed to see that, and one of so much takes long
            halves = self.joins.halves([self.joins.in_reach(things)])
        else:
            laid = self.laid(things)
            if self.fits(laid):
                yield things
                return
            halves = self.joins.halves(self._across_and_down(laid))
        for half in halves:
            yield from self.parted(half)

    def _is_hopeless(self, things: Things) -> bool:
        """Whether what is on a sheet is far more than it can hold."""
        return self.book.area(things) * _SPREAD > self.room.area * _HOPELESS

    def _across_and_down(self, laid: Laid) -> Iterator[list[str]]:
        """The things of a sheet from its head down, and from left to right."""
        at: dict[str, tuple[float, float]] = {}
        for placed in laid.layout.items:
            for thing in self._things_of(placed.item.key, [socket.at for socket in placed.item.sockets]):
                if thing in laid.things:
                    at.setdefault(thing, (float(placed.row), placed.left))
        for axis in (0, 1):
            yield sorted(laid.things, key=lambda thing: (at.get(thing, (0.0, 0.0))[axis], thing))

    def _things_of(self, key: str, nodes: list[str]) -> list[str]:
        return nodes if key in self.book.wiring.parted else [key]

    # --- putting together ---
    def together(self, sheets: Iterable[Things]) -> list[Things]:
        """Sheets that fit together as one, those first that spare the most flags."""
        left = list(sheets)
        refused: set[Things] = set()
        while True:
            saved = self.joins.between(left)
            pairs = {frozenset(pair): (left[pair[0]], left[pair[1]]) for pair in combinations(range(len(left)), 2)}
            for numbers, pair in sorted(
                pairs.items(), key=lambda each: (-saved[each[0]], self._size(each[1]), *map(sorted, each[1]))
            ):
                both = pair[0] | pair[1]
                if both in refused or not self._may_fit(pair, saved[numbers]):
                    continue
                if self.fits(self.laid(both)):
                    left = [sheet for number, sheet in enumerate(left) if number not in numbers] + [both]
                    break
                refused.add(both)
            else:
                return left

    def _may_fit(self, pair: tuple[Things, Things], saved: int) -> bool:
        """Whether two sheets are worth a layout together."""
        wide = sum(self.laid(things).width for things in pair)
        widest = max(width for width, _ in self.room.sizes) * (_WIDE_TOGETHER if saved else _WIDE_APART)
        return wide <= widest and self._size(pair) <= self.room.area * _FULL

    def _size(self, pair: tuple[Things, Things]) -> float:
        return sum(self.laid(things).width * self.laid(things).height for things in pair)

    def in_order(self, sheets: Iterable[Things]) -> list[Things]:
        """Supply and distribution first, then in the order of the language's list of systems."""
        return sorted(sheets, key=lambda things: (self._rank(things), sorted(things)))

    def _rank(self, things: Things) -> tuple[int, int]:
        systems = Counter(self.homes[thing] for thing in things)
        if SUPPLY in systems:
            heads = {item.key for item in self.book.wiring.items if item.tied == "head"}
            return (-1 if heads & things else 0, -systems[SUPPLY])
        return (1, min(SYSTEMS.index(system) for system in systems))

    def systems(self, things: Things) -> tuple[str, ...]:
        """The systems of a sheet, that of most of its things first."""
        counted = Counter(self.homes[thing] for thing in things)
        return tuple(sorted(counted, key=lambda system: (system != SUPPLY, -counted[system], system)))


def _measured(things: Things, content: Content, layout: Layout) -> Laid:
    width = max((placed.left + placed.item.symbol.width for placed in layout.items), default=0.0)
    return Laid(things, content, layout, width, courses(layout, 0.0).bottom)
