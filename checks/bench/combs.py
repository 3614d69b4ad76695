"""The legs of a place as a comb: parallel, square to the loom, apart from each other and clear of all else."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from .blocks import Block, Direction, Point, Taken, block

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
    """The teeth of all places, the most crowded place first, and for each place those for which there was no room."""
    there = Taken(taken)
    found: list[Tooth] = []
    left: dict[str, tuple[Wanted, ...]] = {}
    for place in sorted(wanted, key=lambda place: (-len(wanted[place]), list(laid.pegs).index(place))):
        here, lacking = _of_place(laid, place, wanted[place], comb, there)
        found += here
        if lacking:
            left[place] = tuple(lacking)
    return tuple(found), left


def _of_place(
    laid: Frame, place: str, wanted: Sequence[Wanted], comb: Comb, there: Taken
) -> tuple[list[Tooth], list[Wanted]]:
    """Short legs near the peg, long ones far from it: so all have their lengths as far as can be."""
    seats = list(_seats(laid, place, comb, alone=len(wanted) <= len(laid.free[place])))
    tries = ((False, True), (True, True), (True, False)) if comb.true else ((True, True),)
    teeth: list[Tooth] = []
    lacking: list[Wanted] = []
    for each in sorted(wanted, key=lambda each: each.length):
        found = (_seated(each, place, seats, comb, there, longer=longer, words=words) for longer, words in tries)
        seated = next((one for one in found if one is not None), None)
        if seated is None:
            lacking.append(each)
            continue
        tooth, seat = seated
        teeth.append(tooth)
        there.add(room_of(tooth, comb))
        seats.remove(seat)
    return teeth, lacking


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
    seats: Sequence[_Seat],
    comb: Comb,
    there: Taken,
    *,
    longer: bool,
    words: bool,
) -> tuple[Tooth, _Seat] | None:
    """The first seat where a tooth is clear; ``longer``: even where it is then longer than its leg."""
    for seat in seats:
        foot, direction, distance = seat
        if not longer and distance and distance + comb.shortest > wanted.length:
            break
        length = max(wanted.length - (distance if comb.true else 0.0), comb.shortest)
        tooth = Tooth(
            wanted=wanted,
            place=place,
            foot=foot,
            tip=(foot[0] + direction[0] * length, foot[1] + direction[1] * length),
            direction=direction,
            over=distance + length - wanted.length if comb.true else 0.0,
            labelled=words,
        )
        if not there.clashes(room_of(tooth, comb)):
            return tooth, seat
    return None


def room_of(tooth: Tooth, comb: Comb) -> Block:
    """The room of a tooth with its label, from where it keeps clear of the loom that it leaves."""
    (x, y), (ux, uy) = tooth.foot, tooth.direction
    length = math.dist(tooth.foot, tooth.tip) + (tooth.wanted.words if tooth.labelled else 0.0)
    start = x + ux * comb.clear, y + uy * comb.clear
    return block(start, tooth.direction, length - comb.clear, comb.pitch / 2 - 0.05)
