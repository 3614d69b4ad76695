"""Lines in a channel between two rows: one horizontal line a net, none on another, as few crossings as can be.

A net enters a channel from above and below at given x. Its horizontal line lies on a level; where a line from above and
one from below would meet at nearly the same x, the first must end higher than the second begins. Nets that want to be
both above and below each other are parted in two lines with a short vertical between them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import field

from ...lang.records import dataclass
from ...lang.search.walks import find_cycle

CLEARANCE = 7.0
"""Two vertical lines of different nets are at least this far apart, in pixels."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """What one net does in a channel: where it comes in from above and from below."""

    net: str
    tops: tuple[float, ...]
    bottoms: tuple[float, ...]

    @property
    def span(self) -> tuple[float, float]:
        xs = (*self.tops, *self.bottoms)
        return min(xs), max(xs)

    @property
    def straight(self) -> bool:
        left, right = self.span
        return left == right


@dataclass(frozen=True, slots=True)
class Trunk:
    """A horizontal line of a net on a level (0 is the highest), and the pins that end on it."""

    net: str
    level: int
    left: float
    right: float
    tops: tuple[float, ...]
    bottoms: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Routed:
    trunks: tuple[Trunk, ...]
    levels: int
    crossed: int
    """How often a line of one net crosses a line of another."""


@dataclass(slots=True)
class _Order:
    """Which line must be above which, and what each order of two costs in crossings."""

    must: dict[int, set[int]] = field(default_factory=dict)
    cost: dict[tuple[int, int], int] = field(default_factory=dict)


def route(crossings: Sequence[Crossing]) -> Routed:
    """Levels for all nets of a channel; what passes straight through needs none."""
    lines = [c for c in crossings if not c.straight]
    fixed = [c for c in crossings if c.straight]
    half = [False] * len(lines)  # a net may cross a channel twice: its number of lines does not tell
    while True:
        order = _constraints(lines)
        below = {i: sorted(others) for i, others in order.must.items()}
        loop = find_cycle(range(len(lines)), below.__getitem__)
        if loop is None:
            break
        parted = next(i for i in loop if not half[i])  # halves alone are never in a ring
        lines[parted : parted + 1] = _parted(lines[parted], [*lines, *fixed])
        half[parted : parted + 1] = [True, True]
    sequence = _improved(_sorted(order, len(lines)), order)
    levels: dict[int, int] = {}
    for position, i in enumerate(sequence):
        above = [levels[j] for j in sequence[:position] if _near(lines[i], lines[j])]
        levels[i] = max(above, default=-1) + 1
    trunks = tuple(
        Trunk(lines[i].net, levels[i], *lines[i].span, lines[i].tops, lines[i].bottoms) for i in range(len(lines))
    )
    return Routed(trunks, max(levels.values(), default=-1) + 1, _crossed(trunks, fixed))


def _crossed(trunks: Sequence[Trunk], fixed: Sequence[Crossing]) -> int:
    count = 0
    for trunk in trunks:
        count += sum(trunk.left < line.span[0] < trunk.right for line in fixed)
        for other in trunks:
            if other.net != trunk.net:
                passing = (
                    other.tops if other.level > trunk.level else other.bottoms if other.level < trunk.level else ()
                )
                count += sum(trunk.left < x < trunk.right for x in passing)
    return count


def _near(a: Crossing, b: Crossing) -> bool:
    (left, right), (other_left, other_right) = a.span, b.span
    return left < other_right + CLEARANCE and other_left < right + CLEARANCE


def _constraints(lines: Sequence[Crossing]) -> _Order:
    order = _Order({i: set() for i in range(len(lines))})
    for i, a in enumerate(lines):
        for j, b in enumerate(lines):
            if i == j or not _near(a, b):
                continue
            if a.net == b.net:  # the two halves of a parted line, the upper one first
                if i < j and set(a.bottoms) & set(b.tops):
                    order.must[i].add(j)
                continue
            if any(abs(x - y) < CLEARANCE for x in a.tops for y in b.bottoms):
                order.must[i].add(j)  # a ends, from above, over the place where b begins
            left, right = a.span
            other_left, other_right = b.span
            through_a = sum(left - 1 < x < right + 1 for x in b.tops)
            through_b = sum(other_left - 1 < x < other_right + 1 for x in a.bottoms)
            order.cost[i, j] = through_a + through_b
    return order


def _parted(line: Crossing, others: Sequence[Crossing]) -> list[Crossing]:
    """A line in two: what comes from above, what goes below, and a free place between to join them."""
    taken = [x for other in others for x in (*other.tops, *other.bottoms)]
    left, right = line.span
    middle = (left + right) / 2
    step = 0
    while True:
        for x in (middle + step, middle - step):
            if all(abs(x - pin) >= CLEARANCE for pin in taken):
                return [Crossing(line.net, line.tops, (x,)), Crossing(line.net, (x,), line.bottoms)]
        step += 2


def _sorted(order: _Order, count: int) -> list[int]:
    """An order that keeps every must, the cheaper first where there is a choice."""
    above = Counter(j for below in order.must.values() for j in below)
    free = {i for i in range(count) if not above[i]}
    waiting = set(range(count))
    price, against = _prices(order, count)
    sequence: list[int] = []
    while waiting:
        chosen = min(free, key=lambda i: (price[i], i))
        sequence.append(chosen)
        waiting.remove(chosen)
        free.remove(chosen)
        for j, cost in against[chosen]:
            price[j] += cost
        for j in order.must[chosen]:
            above[j] -= 1
            if not above[j]:
                free.add(j)
    return sequence


def _prices(order: _Order, count: int) -> tuple[list[int], list[list[tuple[int, int]]]]:
    """What each line costs before all others, and by how much that grows once another one is set.

    Kept up by what changes: adding up all of it again for each line that is set takes the cube of their number.
    """
    price = [0] * count
    against: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for (i, j), cost in order.cost.items():
        if cost:
            price[i] += cost
            price[j] -= cost
            against[i].append((j, cost))
            against[j].append((i, -cost))
    return price, against


def _improved(sequence: list[int], order: _Order) -> list[int]:
    """Move single lines up or down while that saves crossings and breaks no must."""
    cost: Callable[[int, int], int] = lambda i, j: order.cost.get((i, j), 0)  # noqa: E731
    changed = True
    while changed:
        changed = False
        for i in list(sequence):
            at = sequence.index(i)
            best, gain = at, 0
            for direction in (-1, 1):
                saved, k = 0, at
                while 0 <= k + direction < len(sequence):
                    j = sequence[k + direction]
                    if (i in order.must[j]) if direction < 0 else (j in order.must[i]):
                        break
                    saved += (cost(j, i) - cost(i, j)) * (1 if direction < 0 else -1)
                    k += direction
                    if saved > gain:
                        best, gain = k, saved
            if best != at:
                sequence.pop(at)
                sequence.insert(best, i)
                changed = True
    return sequence
