"""The legs of a place as a comb: parallel, square to the loom, apart from each other and clear of all else."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, zip_longest
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from .blocks import Block, Direction, Point, Taken, block, block_between

if TYPE_CHECKING:
    from .frame import Frame
    from .tree import Course, Leg


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A tooth that a comb is to have: a leg, or the stub of an opened stretch. ``length`` in mm as it is drawn,
    ``words`` the mm that its label takes behind its end.
    """

    of: Leg | Course
    length: float
    words: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tooth:
    """A leg in a comb: it runs along the loom from its place's peg to ``foot``, and there off to ``tip``.

    ``over`` is by how many mm that is longer than the leg: there was no room nearer to the peg.
    """

    wanted: Wanted
    place: str
    foot: Point
    tip: Point
    direction: Direction
    over: float = 0.0
    labelled: bool = True

    def moved(self, move: Callable[[Point], Point]) -> Tooth:
        return replace(self, foot=move(self.foot), tip=move(self.tip))


@dataclass(frozen=True, slots=True, kw_only=True)
class Comb:
    """How combs are made: mm from tooth to tooth, how long a tooth is at least, and from where on it keeps clear.

    ``true``: the way along the loom is part of a leg's length. ``reach`` gives for a place and a direction how far its
    teeth may be from its peg; ``seats`` are tried to each side at most.
    """

    seats: int
    pitch: float
    shortest: float
    clear: float
    true: bool
    reach: Callable[[str, Direction], float]


def combed(
    laid: Frame, wanted: Mapping[str, Sequence[Wanted]], comb: Comb, taken: Iterable[Block]
) -> tuple[tuple[Tooth, ...], Mapping[str, tuple[Wanted, ...]]]:
    """The teeth of all places, and for each place those for which there was no room.

    The places take turns, a tooth each, the most crowded one first: so none takes all the room between two.
    """
    full = _Full(Taken(taken), Taken())
    rank = {place: number for number, place in enumerate(laid.pegs)}
    places = sorted(wanted, key=lambda place: (-len(wanted[place]), rank[place]))
    turns = [_of_place(laid, place, wanted[place], comb, full) for place in places]
    found: dict[str, list[Tooth]] = {place: [] for place in places}
    left: dict[str, list[Wanted]] = {}
    for each in (one for one in chain.from_iterable(zip_longest(*turns)) if one is not None):
        if isinstance(each, Tooth):
            found[each.place].append(each)
        else:
            left.setdefault(each[0], []).append(each[1])
    return tuple(tooth for place in places for tooth in found[place]), {
        place: tuple(lacking) for place, lacking in left.items()
    }


@dataclass(frozen=True, slots=True)
class _Full:
    """What is taken: ``all`` that a leg keeps clear of, and of that the ``legs``, which no way to a leg may cross."""

    all: Taken
    legs: Taken


def _of_place(
    laid: Frame, place: str, wanted: Sequence[Wanted], comb: Comb, full: _Full
) -> Iterator[Tooth | tuple[str, Wanted]]:
    """Each leg of a place in its seat, or with the place where it has none. Short legs come first and near the peg,
    long ones far from it: so all have their lengths as far as can be.
    """
    seats = list(_seats(laid, place, comb, alone=len(wanted) <= len(laid.free[place])))
    for each in sorted(wanted, key=lambda each: each.length):
        found = (
            _seated(each, place, laid.pegs[place], seats, comb, full, attempt)
            for attempt in (_ON_A_BOARD if comb.true else _ON_PAPER)
        )
        seated = next((one for one in found if one is not None), None)
        if seated is None:
            yield place, each
            continue
        tooth, seat = seated
        room = room_of(tooth, comb)
        full.all.add(room)
        full.legs.add(room)
        full.all.add(_way_to(tooth.foot, laid.pegs[place], comb))
        seats.remove(seat)
        yield tooth


@dataclass(frozen=True, slots=True, kw_only=True)
class _Attempt:
    """What a seat may be like: ``longer`` than its leg, without ``words``, the way to it ``crossed`` by other legs."""

    longer: bool
    words: bool = True
    crossed: bool = False


_ON_PAPER: Final = (_Attempt(longer=True),)
_ON_A_BOARD: Final = (
    _Attempt(longer=False),
    _Attempt(longer=True),
    _Attempt(longer=True, words=False),
    _Attempt(longer=True, words=False, crossed=True),
)
"""A board has a seat for each leg."""


def _way_to(foot: Point, peg: Point, comb: Comb) -> Block:
    """What a leg takes along the loom before it leaves that."""
    return block_between(peg, foot, comb.pitch / 10)


_Seat = tuple[Point, Direction, float]
"""Where a tooth may leave the loom, where to, and how many mm of the loom are between the peg and that."""


def _seats(laid: Frame, place: str, comb: Comb, *, alone: bool) -> Iterator[_Seat]:
    """All seats at a place, the nearest first, upper and lower ones in turn; ``alone``: straight on before them."""
    x, y = laid.pegs[place]
    ux, uy = laid.along[place]
    if alone:
        for free in laid.free[place]:
            yield (x, y), free, 0.0
    for number in range(comb.seats + 1):
        for sign in (1.0, -1.0) if number else (1.0,):
            distance = number * comb.pitch
            if distance > comb.reach(place, (ux * sign, uy * sign)):
                continue
            foot = x + ux * sign * distance, y + uy * sign * distance
            for across in ((-uy, ux), (uy, -ux)):
                yield foot, across, distance


def _seated(
    wanted: Wanted,
    place: str,
    peg: Point,
    seats: Sequence[_Seat],
    comb: Comb,
    full: _Full,
    attempt: _Attempt,
) -> tuple[Tooth, _Seat] | None:
    """The first seat where a tooth is clear."""
    for seat in seats:
        foot, direction, distance = seat
        if not attempt.longer and distance and distance + comb.shortest > wanted.length:
            break
        length = max(wanted.length - (distance if comb.true else 0.0), comb.shortest)
        tooth = Tooth(
            wanted=wanted,
            place=place,
            foot=foot,
            tip=(foot[0] + direction[0] * length, foot[1] + direction[1] * length),
            direction=direction,
            over=distance + length - wanted.length if comb.true else 0.0,
            labelled=attempt.words,
        )
        if full.all.clashes(room_of(tooth, comb)):
            continue
        if not distance or attempt.crossed or not full.legs.clashes(_way_to(foot, peg, comb)):
            return tooth, seat
    return None


def room_of(tooth: Tooth, comb: Comb) -> Block:
    """The room of a tooth with its label, from where it keeps clear of the loom that it leaves."""
    (x, y), (ux, uy) = tooth.foot, tooth.direction
    length = math.dist(tooth.foot, tooth.tip) + (tooth.wanted.words if tooth.labelled else 0.0)
    start = x + ux * comb.clear, y + uy * comb.clear
    return block(start, tooth.direction, length - comb.clear, comb.pitch / 2 - 0.05)
