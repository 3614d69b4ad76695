"""Where wires cross: the one on top has a gap on each side of it, so that black over black is no joint."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from ..drawing.primitives import Point, Run
from ..drawing.svg import widths

_GAP = 1.2
"""Beyond the edge of the wire below, in pixels."""

_Stretch = tuple[int, Point, Point]


def with_gaps(runs: Sequence[Run]) -> tuple[Run, ...]:
    """The runs, each with the places at which it passes over an earlier one."""
    level: list[_Stretch] = []
    upright: list[_Stretch] = []
    for number, run in enumerate(runs):
        for line in run.lines:
            for a, b in pairwise(line):
                (upright if a[0] == b[0] else level).append((number, a, b))
    over: dict[int, list[tuple[Point, Point]]] = {}
    for upper, at, steps in _crossed(level, upright):
        below = steps[0] if steps[0] != upper else steps[1]
        reach = widths(runs[below].step)[0] / 2 + _GAP
        dx, dy = (0.0, reach) if steps[0] == upper else (reach, 0.0)
        over.setdefault(upper, []).append(((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)))
    return tuple(replace(run, over=tuple(over.get(number, ()))) for number, run in enumerate(runs))


def _crossed(level: Sequence[_Stretch], upright: Sequence[_Stretch]) -> Iterator[tuple[int, Point, tuple[int, int]]]:
    """Each crossing: the run that is drawn later, the place, and the upright and the level run there."""
    by_height = sorted(range(len(level)), key=lambda place: level[place][1][1])
    heights = [level[place][1][1] for place in by_height]
    for number, (x, y1), (_, y2) in upright:
        passed = by_height[bisect_right(heights, min(y1, y2)) : bisect_left(heights, max(y1, y2))]
        for other, (x1, y), (x2, _) in (level[place] for place in sorted(passed)):
            if number != other and min(x1, x2) < x < max(x1, x2):
                yield max(number, other), (x, y), (number, other)
