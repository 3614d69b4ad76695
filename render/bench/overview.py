"""A loom on one leaf: trunk and branches to scale, the legs of each place as a comb, and what is in each stretch."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from ...checks.bench.blocks import Block, Direction, block
from ...checks.bench.board import wanted_at
from ...checks.bench.combs import Comb, Tooth, Wanted, combed
from ...checks.bench.frame import Frame, LaidCourse, frame
from ...checks.bench.tree import Course, Leg
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.primitives import Shape, Stroke, extent, moved
from ..report.findings import counted
from .frame import EM, shortened
from .marks import GREY, SIGN, WHITE, across, along_text, kept_line, off, opened_words, sign, way_between
from .sheets import millimetres

if TYPE_CHECKING:
    from ...checks.bench.tree import LoomTree

SCALES: Final = (2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 500, 1000, 5000, 20000)
"""A drawing shows this many mm in one: as large as fits (1, 2, 5, 10 … are those of ISO 5455, others are between)."""
PITCH: Final = 3.4
"""mm between legs on paper: that of their lettering."""
SHORTEST: Final = 7.0
LONGEST: Final = 30.0
"""mm of a leg on paper, at least and at most: its length is behind its name."""
NAME: Final = 38.0
"""mm of a leg's words at most; longer ones are cut short here, and are in full in the list."""
REACH: Final = 80.0
"""mm of a comb beyond the end of the loom, at most."""
PLATE: Final = 2.1
"""mm that half the plate of a place is high."""
WIDEST_PLATE: Final = 30.0
BLANK_PLATE: Final = 0.8
"""mm that a plate is long at most, and half of it at least."""
GAP: Final = 2.0
"""mm before and behind these words that are kept free."""
BESIDE: Final = 1.25
"""Em from the middle of a stretch to that of the words beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """``shapes`` from the upper left corner of ``width`` by ``height`` mm, at 1 : ``scale``."""

    shapes: tuple[Shape, ...]
    width: float
    height: float
    scale: float


def overview(tree: LoomTree, width: float, height: float) -> Overview:
    """The loom as large as it fits the given mm; at the smallest scale where it never does."""
    whole = frame(tree)
    reach = max(math.dist(a, b) for a in whole.pegs.values() for b in whole.pegs.values())
    made = None
    for scale in SCALES:
        if reach / scale <= math.hypot(width, height) or scale == SCALES[-1]:
            made = _at_scale(tree, whole.on_paper(scale), scale)
            if made.width <= width and made.height <= height:
                break
    if made is None:
        raise AssertionError("the smallest scale is always tried")
    return made


def _at_scale(tree: LoomTree, laid: Frame, scale: float) -> Overview:
    tags = tags_of(tree)
    plates = _plates(laid)
    stretches = {each: _stretch_block(each) for each in laid.courses}
    taken = [_plate_block(laid, place, half) for place, half in plates.items()]
    labels: list[_Label] = []
    for each in laid.courses:
        others = [room for other, room in stretches.items() if other is not each]
        legs = sum(PITCH * min(len(tree.spots[place].legs) / 4, 2.5) for place in each.places if place in tree.spots)
        for label in _stretch_labels(each, tags[_key(each.course)], plates, legs):
            if not any(label.room.clashes(room) for room in (*taken, *others)):
                labels.append(label)
                taken.append(label.room)
                break
    taken += stretches.values()
    wanted = {place: _wanted(tree, place, scale) for place in laid.pegs}
    comb = Comb(seats=30, pitch=PITCH, shortest=SHORTEST, clear=2.4, true=False, reach=_reach(laid))
    teeth, left = combed(laid, wanted, comb, taken)
    shapes: list[Shape] = []
    for place in laid.pegs:
        shapes += _spine(laid, place, [tooth for tooth in teeth if tooth.place == place])
    for each in laid.courses:
        shapes += _bundle(each)
    for tooth, rest in _with_rest(teeth, left):
        shapes += _tooth(tooth, rest)
    shapes += (shape for label in labels for shape in label.shapes)
    seated = {tooth.place for tooth in teeth}
    for place, half in plates.items():
        shapes += _plate(laid, place, half, 0 if place in seated else len(left.get(place, ())))
    around = extent(shapes)
    return Overview(
        shapes=tuple(moved(shape, 1.0 - around.left, 1.0 - around.top) for shape in shapes),
        width=around.width + 2.0,
        height=around.height + 2.0,
        scale=scale,
    )


# --- places ----------------------------------------------------------------------------------------------------------
def _plates(laid: Frame) -> dict[str, float]:
    """Half the mm of each place's plate along the loom: that of its name, less where its neighbours are near."""
    near: dict[str, float] = dict.fromkeys(laid.pegs, math.inf)
    for each in laid.courses:
        for place in each.places:
            near[place] = min(near[place], math.dist(each.a, each.b))
    found: dict[str, float] = {}
    rooms: list[Block] = []
    for place in laid.pegs:
        half = min(lettering.width(visible(place), EM, True) / 2 + 1.2, WIDEST_PLATE / 2, near[place] / 2 - 1)
        room = _plate_block(laid, place, max(half, BLANK_PLATE))
        # A place that another one covers is a blank plate: the list names it.
        found[place] = BLANK_PLATE if any(room.clashes(other) for other in rooms) else max(half, BLANK_PLATE)
        rooms.append(_plate_block(laid, place, found[place]))
    return found


def _plate_block(laid: Frame, place: str, half: float) -> Block:
    return block(off(laid.pegs[place], laid.along[place], -half), laid.along[place], 2 * half, PLATE)


def _plate(laid: Frame, place: str, half: float, hidden: int) -> Iterator[Shape]:
    """The name of a place on the loom; its peg is in the middle. Where none of its legs had room, how many they are."""
    yield Stroke(_plate_block(laid, place, half).corners, weight=0.35, closed=True, fill=WHITE)
    name = f"+{hidden}" if hidden else shortened(place, 2 * half - 1.0, EM, True)
    if hidden or len(name) >= min(3, len(place)):
        yield along_text(name, laid.pegs[place], laid.along[place], bold=True, middle=True)


def _reach(laid: Frame) -> Callable[[str, Direction], float]:
    """How far the comb of a place may go along the loom: half the way to the next place."""
    steps: dict[tuple[str, Direction], float] = {}
    for each in laid.courses:
        for place, here, there in zip(each.places, (each.a, each.b), (each.b, each.a), strict=True):
            steps[place, _rounded(way_between(here, there))] = math.dist(here, there) / 2 - PITCH / 2
    frees = {place: {_rounded(way) for way in ways} for place, ways in laid.free.items()}

    def reach(place: str, way: Direction) -> float:
        way = _rounded(way)
        return steps.get((place, way), REACH if way in frees[place] else 0.0)

    return reach


def _rounded(way: Direction) -> Direction:
    return round(way[0], 3) + 0.0, round(way[1], 3) + 0.0


# --- stretches -------------------------------------------------------------------------------------------------------
def _key(course: Course) -> frozenset[str]:
    return frozenset((course.a, course.b))


def tags_of(tree: LoomTree) -> dict[frozenset[str], str]:
    """A letter for each stretch, opened ones last: ``A`` to ``Z``, then ``AA`` and on."""
    found = {}
    for number, course in enumerate((*tree.courses, *tree.opened)):
        high, low = divmod(number, 26)
        found[_key(course)] = (chr(ord("A") + high - 1) if high else "") + chr(ord("A") + low)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Label:
    shapes: tuple[Shape, ...]
    room: Block


def _stretch_block(each: LaidCourse) -> Block:
    return block(each.a, way_between(each.a, each.b), math.dist(each.a, each.b), 1.6)


def _stretch_labels(each: LaidCourse, tag: str, plates: Mapping[str, float], legs: float) -> Iterator[_Label]:
    """Letter, length and cover on one side of a stretch, wires and diameter on the other; else letter and length, or
    the letter alone. What is too long for the stretch and the mm that ``legs`` need there is left out.
    """
    course = each.course
    way = way_between(each.a, each.b)
    a, b = (plates[place] for place in each.places)
    free = math.dist(each.a, each.b) - a - b - 2.0
    middle = off(each.a, way, (math.dist(each.a, each.b) + a - b) / 2)
    cover = course.new.cover if course.new is not None else None
    first = f"{tag}  {millimetres(course.length)}{f' {cover}' if cover else ''}"
    second = (
        ", ".join(filter(None, (counted(len(course.new.pieces), "wire"), across(course))))
        if course.new is not None
        else f"{counted(len(course.kept), 'kept wire')}"
    )
    half = BESIDE * EM + EM / 2
    short = f"{tag}  {millimetres(course.length)}"
    for words in (((first, -BESIDE), (second, BESIDE)), ((short, -BESIDE),), ((tag, -BESIDE),)):
        wide = max(lettering.width(said, EM) for said, _ in words)
        if wide + (1.0 if words[0][0] == tag else legs) <= free:
            yield _Label(
                shapes=tuple(along_text(said, middle, way, middle=True, line=line) for said, line in words),
                room=block(off(middle, way, -wide / 2 - GAP), way, wide + 2 * GAP, half),
            )


def _bundle(each: LaidCourse) -> Iterator[Shape]:
    """A stretch: a thick line where new wires lie, a grey dashed one where kept ones do, beside it where both do."""
    if each.course.kept:
        yield kept_line(each, 1.2 if each.course.new is not None else 0.0)
    if each.course.new is not None:
        yield Stroke((each.a, each.b), weight=1.3)


def _spine(laid: Frame, place: str, teeth: Sequence[Tooth]) -> Iterator[Shape]:
    """What goes on beyond the end of the loom for the legs that leave it there."""
    peg = laid.pegs[place]
    for way in laid.free[place]:
        ahead = [(t.foot[0] - peg[0]) * way[0] + (t.foot[1] - peg[1]) * way[1] for t in teeth]
        if (farthest := max(ahead, default=0.0)) > 0.01:
            yield Stroke((peg, off(peg, way, farthest)), weight=0.6)


# --- legs ------------------------------------------------------------------------------------------------------------
def _wanted(tree: LoomTree, place: str, scale: float) -> list[Wanted]:
    return [
        Wanted(
            of=of,
            length=min(max(length / scale, SHORTEST), LONGEST),
            words=SIGN + lettering.width(_words(of, place), EM),
        )
        for of, length in wanted_at(tree, place)
    ]


def _words(of: Leg | Course, place: str) -> str:
    """What is at the end of a leg: its name and its mm."""
    if isinstance(of, Course):
        return shortened(opened_words(of, place), 2 * NAME)
    length = f" {shown(round(of.length * 1000, 6), 4)}"
    return f"{shortened(of.name, NAME - lettering.width(length, EM))}{length}"


def _with_rest(teeth: Sequence[Tooth], left: Mapping[str, Sequence[Wanted]]) -> Iterator[tuple[Tooth, int]]:
    """The teeth, and how many legs the last one of its place stands for besides its own."""
    last = {tooth.place: tooth for tooth in teeth}
    for tooth in teeth:
        yield tooth, len(left.get(tooth.place, ())) if last[tooth.place] is tooth else 0


def _tooth(tooth: Tooth, rest: int) -> Iterator[Shape]:
    of, way = tooth.wanted.of, tooth.direction
    kept = isinstance(of, Leg) and of.kept
    opened = isinstance(of, Course)
    colour = GREY if kept else ""
    yield Stroke((tooth.foot, tooth.tip), weight=0.3, dash="dashed" if kept or opened else "", colour=colour)
    yield from sign(of, tooth.tip, way)
    words = _more(rest + 1, tooth.wanted.words - SIGN) if rest else _words(of, tooth.place)
    yield along_text(words, off(tooth.tip, way, SIGN), way, faint=kept)


def _more(count: int, room: float) -> str:
    """What is in place of the last leg that there was room for, and of those without."""
    said = f"{count} more: see the list"
    return said if lettering.width(said, EM) <= room else f"+{count}"
