"""The board on which a loom is laid: where each place, the end of each leg and each splice is, in true lengths.

The trunk lies level, branches leave it to alternate sides. The legs of a place are a comb: parallel, at least
``PITCH`` mm apart, square to the loom, clear of branches. What a leg runs along the loom before it leaves it counts, so
that from the peg of its place to its end it has its length. mm; x to the right, y up, from the lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ..tables.bench import bench_figure
from .blocks import Block, Point, block, block_between
from .combs import Comb, Tooth, Wanted, combed
from .frame import Frame, frame

if TYPE_CHECKING:
    from .tree import Course, Leg, LoomTree

PITCH: Final = 15.0
"""mm between the legs of a comb (ours)."""
SHORTEST: Final = 15.0
"""mm that the part of a leg beside the loom is long at least, so that it can be held (ours)."""
NOTE: Final = 40.0
"""mm that are kept free of legs for the name of a place or a splice, square to the loom (ours)."""
STUB: Final = 60.0
"""mm that is drawn of an opened stretch at each of its ends (ours)."""
EDGE: Final = 60.0
"""mm between the board's edge and what lies on it (ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidSplice:
    """A splice in the loom, ``along`` mm from the peg of its place."""

    name: str
    place: str
    at: Point
    along: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A loom on its board of ``width`` by ``height`` mm."""

    tree: LoomTree
    frame: Frame
    teeth: tuple[Tooth, ...]
    splices: tuple[LaidSplice, ...]
    width: float
    height: float


def board(tree: LoomTree, words: Callable[[Leg | Course], float] = lambda _of: 0.0) -> Board:
    """A loom as it is laid; ``words`` gives the mm that the label behind the end of a leg or stub takes."""
    laid = frame(tree)
    wanted = {
        place: [Wanted(of=of, length=length, words=words(of)) for of, length in wanted_at(tree, place)]
        for place in laid.pegs
    }
    # Beyond the end of everything there is room: this many seats always hold them all.
    metres = sum(course.length for course in tree.courses)
    longest = max((each.length + each.words for here in wanted.values() for each in here), default=0.0)
    seats = sum(map(len, wanted.values())) + math.ceil((metres * 1000.0 + longest) / PITCH) + 10
    comb = Comb(
        seats=seats,
        pitch=PITCH,
        shortest=SHORTEST,
        clear=PITCH / 2 + 1.0,
        true=True,
        reach=lambda *_: math.inf,
    )
    splices = [splice for place in laid.pegs for splice in _splices(tree, laid, place)]
    taken = [block_between(each.a, each.b, 4.0) for each in laid.courses]
    taken += (_note(laid, splice.place, splice.at) for splice in splices)
    taken += (_note(laid, place, note_at(laid, place)) for place in laid.pegs)
    teeth, _ = combed(laid, wanted, comb, taken)
    points = [*laid.pegs.values(), *(tooth.tip for tooth in teeth), *(s.at for s in splices)]
    points += (tooth.foot for tooth in teeth)
    left = math.floor(min(x for x, _ in points)) - EDGE
    bottom = math.floor(min(y for _, y in points)) - EDGE
    right = math.ceil(max(x for x, _ in points)) + EDGE
    top = math.ceil(max(y for _, y in points)) + EDGE

    def moved(point: Point) -> Point:
        return point[0] - left, point[1] - bottom

    return Board(
        tree=tree,
        frame=Frame(
            pegs={place: moved(point) for place, point in laid.pegs.items()},
            along=laid.along,
            free=laid.free,
            courses=tuple(each.moved(moved) for each in laid.courses),
            crossing=laid.crossing,
        ),
        teeth=tuple(tooth.moved(moved) for tooth in teeth),
        splices=tuple(replace(splice, at=moved(splice.at)) for splice in splices),
        width=right - left,
        height=top - bottom,
    )


def note_at(laid: Frame, place: str) -> Point:
    """Where the name of a place is beside its peg: half a pitch on, between two legs."""
    (x, y), (ux, uy) = laid.pegs[place], laid.along[place]
    sign = 1.0 if laid.free[place] == ((ux, uy),) else -1.0
    return x + ux * sign * PITCH / 2, y + uy * sign * PITCH / 2


def _note(laid: Frame, place: str, at: Point) -> Block:
    """What keeps legs half a pitch away from words that stand square to the loom."""
    ux, uy = laid.along[place]
    return block((at[0], at[1]), (-uy, ux), NOTE, 0.01)


def wanted_at(tree: LoomTree, place: str) -> Iterator[tuple[Leg | Course, float]]:
    """The legs of a place, and the stubs of stretches that are opened there, each with its true mm."""
    for leg in tree.spots[place].legs if place in tree.spots else ():
        yield leg, leg.length * 1000.0
    for course in tree.opened:
        if place in (course.a, course.b):
            yield course, STUB


def _splices(tree: LoomTree, laid: Frame, place: str) -> Iterator[LaidSplice]:
    """The splices of a place along the loom, one behind the other and between its legs; on both sides of its peg in
    turn, or where the loom comes to an end, on the side that it comes from.
    """
    names = tree.spots[place].splices if place in tree.spots else ()
    apart = bench_figure("between_splices").value * 1000.0
    (x, y), (ux, uy) = laid.pegs[place], laid.along[place]
    free = laid.free[place]
    signs = (1.0, -1.0) if len(free) != 1 else (-1.0,) if free[0] == (ux, uy) else (1.0,)
    for number, name in enumerate(names):
        sign = signs[number % len(signs)]
        along = apart * (number // len(signs)) + (apart / 4 if number % 2 == 0 or len(signs) == 1 else 3 * apart / 4)
        yield LaidSplice(name=name, place=place, at=(x + ux * sign * along, y + uy * sign * along), along=along)
