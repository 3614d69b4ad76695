"""Boxes that keep clear of each other: what a line, a leg or some words take on a board or on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from ...lang.records import dataclass

Point = tuple[float, float]
Direction = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Block:
    """A box of four ``corners`` round about. ``axes`` are its two directions, ``box`` is the upright one around it."""

    corners: tuple[Point, Point, Point, Point]
    axes: tuple[Direction, Direction]
    box: tuple[float, float, float, float]

    def clashes(self, other: Block) -> bool:
        """Whether the two share an area: no axis along or across one of them parts them."""
        left, low, right, high = self.box
        other_left, other_low, other_right, other_high = other.box
        if right <= other_left or other_right <= left or high <= other_low or other_high <= low:
            return False
        for ax, ay in (*self.axes, *other.axes):
            one = [x * ax + y * ay for x, y in self.corners]
            two = [x * ax + y * ay for x, y in other.corners]
            if max(one) <= min(two) + 1e-6 or max(two) <= min(one) + 1e-6:
                return False
        return True


def block(start: Point, along: Direction, length: float, half: float) -> Block:
    """The box that begins at ``start``, is ``length`` long in a direction and ``half`` wide to both sides of that."""
    (x, y), (ux, uy) = start, along
    wx, wy = -uy * half, ux * half
    ex, ey = x + ux * length, y + uy * length
    corners = (x + wx, y + wy), (ex + wx, ey + wy), (ex - wx, ey - wy), (x - wx, y - wy)
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return Block(corners, (along, (-uy, ux)), (min(xs), min(ys), max(xs), max(ys)))


def block_between(a: Point, b: Point, half: float, cut: float = 0.0) -> Block:
    """The box around a line, without ``cut`` mm at its beginning."""
    length = math.dist(a, b)
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length else (1.0, 0.0)
    cut = min(cut, length)
    return block((a[0] + along[0] * cut, a[1] + along[1] * cut), along, length - cut, half)


class Taken:
    """Blocks that are there, looked up by where they are: thousands of legs are seated among thousands."""

    CELL: Final = 40.0
    """mm of a cell of the grid by which they are looked up."""

    def __init__(self, blocks: Iterable[Block] = ()) -> None:
        self._cells: dict[tuple[int, int], list[Block]] = {}
        for each in blocks:
            self.add(each)

    def add(self, block: Block) -> None:
        for cell in self._under(block):
            self._cells.setdefault(cell, []).append(block)

    def clashes(self, block: Block) -> bool:
        """Whether a block shares an area with one that is there."""
        return any(block.clashes(other) for cell in self._under(block) for other in self._cells.get(cell, ()))

    def _under(self, block: Block) -> Iterator[tuple[int, int]]:
        left, low, right, high = (math.floor(side / self.CELL) for side in block.box)
        return ((x, y) for x in range(left, right + 1) for y in range(low, high + 1))
