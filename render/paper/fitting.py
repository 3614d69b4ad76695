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
from ..schematic.placement import Layout
from ..schematic.symbols.drawn import Around
from ..schematic.wires import courses
from .assignment import SUPPLY
from .sheets import Book

Things = frozenset[str]
_LEAST: Final = 0.2
"""The smaller half of a parted sheet has at least this share of its things (ours)."""
_FULL: Final = 1.05
"""Sheets whose drawings together cover more than this share of the room are not tried together (ours)."""


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

    # --- parting ---
    def parted(self, things: Things) -> Iterator[Things]:
        """A sheet as it is, or in as many as it takes."""
        laid = self.laid(things)
        if self.fits(laid) or len(things) < 2:
            yield things
            return
        for half in self._halves(laid):
            yield from self.parted(half)

    def _halves(self, laid: Laid) -> tuple[Things, Things]:
        """The things of a sheet in two, with the fewest wires between them: a line across it, or one down it."""
        at: dict[str, tuple[float, float]] = {}
        for placed in laid.layout.items:
            for thing in self._things_of(placed.item.key, [socket.at for socket in placed.item.sockets]):
                if thing in laid.things:
                    at.setdefault(thing, (float(placed.row), placed.left))
        best: tuple[float, Things] | None = None
        for axis in (0, 1):
            ordered = sorted(laid.things, key=lambda thing: (at.get(thing, (0.0, 0.0))[axis], thing))
            least = max(1, int(len(ordered) * _LEAST))
            for count in range(least, len(ordered) - least + 1):
                half = frozenset(ordered[:count])
                cut = self._between(half, laid.things - half) + abs(count / len(ordered) - 0.5)
                if best is None or cut < best[0]:
                    best = cut, half
        if best is None:
            half = frozenset(sorted(laid.things)[:1])
            return half, laid.things - half
        return best[1], laid.things - best[1]

    def _things_of(self, key: str, nodes: list[str]) -> list[str]:
        return nodes if key in self.book.wiring.parted else [key]

    def _between(self, one: Things, other: Things) -> float:
        return sum(
            (link.upper in one and link.lower in other) or (link.upper in other and link.lower in one)
            for link in self.book.wiring.links
        )

    # --- putting together ---
    def together(self, sheets: Iterable[Things]) -> list[Things]:
        """Sheets that fit together as one, those first that spare the most flags."""
        left = list(sheets)
        refused: set[Things] = set()
        while True:
            saved = Counter({pair: self._between(*pair) for pair in combinations(left, 2)})
            for one, other in sorted(saved, key=lambda pair: (-saved[pair], self._size(pair), *map(sorted, pair))):
                both = one | other
                if both in refused or self._size((one, other)) > self.room.area * _FULL:
                    continue
                if self.fits(self.laid(both)):
                    left = [sheet for sheet in left if sheet not in (one, other)] + [both]
                    break
                refused.add(both)
            else:
                return left

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
