"""Where the places of a loom are when it lies flat: the trunk level, branches off it to alternate sides. mm, y up."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from .blocks import Direction, Point, block_between

if TYPE_CHECKING:
    from .tree import Course, Limb, LoomTree

APART: Final = 360.0
"""mm between the lowest place of one part of a loom and the highest of the next that no routes join to it (ours)."""
ANGLES: Final = (90.0, 60.0, 120.0, 45.0, 135.0, 30.0, 150.0)
"""Degrees at which a branch may leave: the first at which it is clear of what lies there."""
CLEARANCES: Final = (90.0, 50.0, 25.0, 8.0)
"""mm that a branch keeps free, half on each side, as far as that can be (ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidCourse:
    """A stretch from peg to peg, and the places of these, the one that is nearer to the trunk's beginning first."""

    course: Course
    places: tuple[str, str]
    a: Point
    b: Point

    def moved(self, move: Callable[[Point], Point]) -> LaidCourse:
        return LaidCourse(course=self.course, places=self.places, a=move(self.a), b=move(self.b))


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The places of a loom. ``along`` is the direction of the limb that a place lies on; ``free`` are the directions
    along it in which the loom does not go on. ``crossing`` are ends of branches that could not be laid clear.
    """

    pegs: Mapping[str, Point]
    along: Mapping[str, Direction]
    free: Mapping[str, tuple[Direction, ...]]
    courses: tuple[LaidCourse, ...]
    crossing: tuple[str, ...] = ()

    def on_paper(self, scale: float = 1.0, height: float = 0.0) -> Frame:
        """The same at 1 : ``scale``, with y running down from ``height`` mm of the board."""

        def moved(point: Point) -> Point:
            return point[0] / scale, (height - point[1]) / scale

        return Frame(
            pegs={place: moved(point) for place, point in self.pegs.items()},
            along={place: (ux, -uy) for place, (ux, uy) in self.along.items()},
            free={place: tuple((ux, -uy) for ux, uy in ways) for place, ways in self.free.items()},
            courses=tuple(each.moved(moved) for each in self.courses),
            crossing=self.crossing,
        )


@dataclass(slots=True)
class _Laying:
    """A frame that is being made."""

    lengths: Mapping[frozenset[str], Course]
    pegs: dict[str, Point] = field(default_factory=dict)
    along: dict[str, Direction] = field(default_factory=dict)
    free: dict[str, tuple[Direction, ...]] = field(default_factory=dict)
    courses: list[LaidCourse] = field(default_factory=list)
    crossing: list[str] = field(default_factory=list)

    def straight(self, way: Sequence[str], start: Point, along: Direction, *, trunk: bool) -> None:
        """Pegs along a way. The first place of a branch has its peg already."""
        here = start
        for number, place in enumerate(way):
            if number:
                course = self.lengths[frozenset((way[number - 1], place))]
                step = course.length * 1000.0
                there = here[0] + along[0] * step, here[1] + along[1] * step
                self.courses.append(LaidCourse(course=course, places=(way[number - 1], place), a=here, b=there))
                here = there
            if number or trunk:
                self.pegs[place] = here
                self.along[place] = along
                self.free[place] = ()
        back = (-along[0], -along[1])
        if trunk:
            self.free[way[0]] = (back, along) if len(way) == 1 else (back,)
        if len(way) > 1:
            self.free[way[-1]] = (along,)

    def length(self, way: Sequence[str]) -> float:
        return sum(self.lengths[frozenset(pair)].length * 1000.0 for pair in pairwise(way))


def frame(tree: LoomTree) -> Frame:
    """Where the places of a loom are: its trunk level, then branch by branch, those nearest to the trunk first."""
    laying = _Laying({frozenset((course.a, course.b)): course for course in tree.courses})
    top = 0.0
    for trunk in tree.trunks:
        before = set(laying.pegs)
        laid = len(laying.courses)
        laying.straight(trunk.way, (0.0, 0.0), (1.0, 0.0), trunk=True)
        waiting: list[tuple[Limb, Direction]] = [(branch, (1.0, 0.0)) for branch in trunk.branches]
        side = 1.0
        while waiting:
            branch, from_ = waiting.pop(0)
            direction = _direction(laying, laying.courses[laid:], branch, from_, side)
            laying.straight(branch.way, laying.pegs[branch.way[0]], direction, trunk=False)
            waiting += ((each, direction) for each in branch.branches)
            side = -side
        new = [place for place in laying.pegs if place not in before]
        low = min(laying.pegs[place][1] for place in new)
        high = max(laying.pegs[place][1] for place in new)
        lift = top - high if before else 0.0

        def lifted(point: Point, lift: float = lift) -> Point:
            return point[0], point[1] + lift

        laying.pegs.update({place: lifted(laying.pegs[place]) for place in new})
        laying.courses[laid:] = [each.moved(lifted) for each in laying.courses[laid:]]
        top = low + lift - APART
    return Frame(
        pegs=laying.pegs,
        along=laying.along,
        free=laying.free,
        courses=tuple(laying.courses),
        crossing=tuple(laying.crossing),
    )


def _direction(
    laying: _Laying, courses: Sequence[LaidCourse], branch: Limb, from_: Direction, side: float
) -> Direction:
    """Where a branch goes: square to what it leaves, to this side or else to the other, where it is clear there."""
    start = laying.pegs[branch.way[0]]
    length = laying.length(branch.way)
    choices = [_turned(from_, angle * way) for angle in ANGLES for way in (side, -side)]
    for clearance in CLEARANCES:
        others = [block_between(each.a, each.b, clearance / 2) for each in courses]
        for choice in choices:
            # Beside the peg itself nothing is clear of what it leaves.
            slope = abs(choice[0] * from_[1] - choice[1] * from_[0])
            cut = (clearance + 2.0) / max(slope, 0.1)
            cut = min(cut, length * 0.9)
            end = start[0] + choice[0] * length, start[1] + choice[1] * length
            own = block_between(start, end, clearance / 2, cut)
            if not any(own.clashes(each) for each in others):
                return choice
    laying.crossing.append(branch.way[-1])
    return choices[0]


def _turned(direction: Direction, degrees: float) -> Direction:
    """A direction turned against the clock; that of a right angle is exact."""
    ux, uy = direction
    if degrees == 90.0:
        return -uy, ux
    if degrees == -90.0:
        return uy, -ux
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return ux * cos - uy * sin, ux * sin + uy * cos
