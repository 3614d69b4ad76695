"""The courses of all lines: every net as a tree of level and upright stretches between the ports of the items.

A stretch that one wire has to itself is drawn in that wire's colour. What several share, or what is no wire (the inside
of a part, a mount), is one terminal: a thin line, with dots where lines meet.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .channels import Crossing, Routed, route
from .drawing import Point
from .layout import Layout, channels_of

LEVEL = 8.0
"""Between two level lines of a channel, in pixels."""
_AIR = 7.0
"""Between the outermost level line of a channel and the row next to it."""
_QUIET = 5.0
"""Height of a channel without level lines."""

_CROSSED, _BENT, _RIGHT_HANDED = 1.0, 0.3, 4.0
"""What a crossing, a bend, and a battery on the right-hand half of the sheet count for; 150 pixels across count 1."""

Stretch = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Course:
    """``tops``: the upper edge of each item; ``wires``: the lines of each wire item; ``joints`` and ``dots`` by net."""

    tops: Mapping[str, float]
    wires: Mapping[str, tuple[tuple[Point, ...], ...]]
    joints: Mapping[str, tuple[tuple[Point, ...], ...]]
    dots: Mapping[str, tuple[Point, ...]]
    bottom: float


def courses(layout: Layout, margin: float) -> Course:
    """Heights of rows and channels, and every line. ``margin`` is added on the left and at the head."""
    routed = {channel: route(list(crossings.values())) for channel, crossings in _crossings(layout).items()}
    channel_tops, row_tops, row_heights, bottom = _heights(layout, routed, margin)
    tops = {
        p.item.key: round(
            row_tops[p.row]
            + (0 if p.item.tied == "foot" else (row_heights[p.row] - p.item.symbol.height) / 2),
            1,
        )
        for p in layout.items
    }
    trees = _trees(layout, routed, channel_tops, row_tops, row_heights, tops, margin)
    wires: dict[str, list[tuple[Point, ...]]] = {}
    joints: dict[str, tuple[tuple[Point, ...], ...]] = {}
    dots: dict[str, tuple[Point, ...]] = {}
    own: dict[str, list[Stretch]] = {}
    for placed in layout.items:
        if placed.item.wire:
            x = placed.left + placed.item.sockets[0].x + margin
            y = tops[placed.item.key]
            own[placed.item.key] = [((x, y), (x, y + placed.item.symbol.height))]
    for net in sorted(trees):
        tree = trees[net]
        users = _users(tree)
        shared = []
        for stretch in tree.stretches:
            by = users.get(stretch, ())
            if len(by) == 1:
                own[by[0]].append(stretch)
            else:
                shared.append(stretch)
        joints[net] = tuple(_joined(shared))
        dots[net] = tuple(sorted(point for point, around in tree.around.items() if len(around) > 2))
    for key, stretches in own.items():
        wires[key] = _joined(stretches)
    return Course(tops, {k: tuple(v) for k, v in wires.items()}, joints, dots, bottom)


def trouble(layout: Layout) -> float:
    """How hard a layout is to follow: what crosses, what bends, how far lines run across, and whether it begins left."""
    total = 0.0
    for crossings in _crossings(layout).values():
        routed = route(list(crossings.values()))
        total += routed.crossed * _CROSSED
        for trunk in routed.trunks:
            bends = 2 if len(trunk.tops) == len(trunk.bottoms) == 1 else 1
            total += (trunk.right - trunk.left) / 150 + bends * _BENT
    width = max((p.left + p.item.symbol.width for p in layout.items), default=0.0)
    heads = [p.left for p in layout.items if p.item.tied == "head"]
    return total + (_RIGHT_HANDED if heads and heads[0] > width / 2 else 0.0)


def _crossings(layout: Layout) -> dict[int, dict[str, Crossing]]:
    """What every net does in every channel that it needs."""
    tops: dict[tuple[int, str], list[float]] = {}
    bottoms: dict[tuple[int, str], list[float]] = {}
    for placed in layout.items:
        for socket in placed.item.sockets:
            if socket.side == "top":
                bottoms.setdefault((placed.row - 1, socket.net), []).append(placed.x(socket))
            else:
                tops.setdefault((placed.row, socket.net), []).append(placed.x(socket))
    for (net, row), x in layout.passes.items():
        bottoms.setdefault((row - 1, net), []).append(x)
        tops.setdefault((row, net), []).append(x)
    found: dict[int, dict[str, Crossing]] = {channel: {} for channel in range(-1, layout.rows)}
    for channel, net in sorted({*tops, *bottoms}):
        key = (channel, net)
        found[channel][net] = Crossing(net, tuple(sorted(tops.get(key, ()))), tuple(sorted(bottoms.get(key, ()))))
    return found


def _heights(
    layout: Layout, routed: Mapping[int, Routed], margin: float
) -> tuple[dict[int, float], dict[int, float], dict[int, float], float]:
    y = margin
    channel_tops: dict[int, float] = {}
    row_tops: dict[int, float] = {}
    row_heights = {row: max(p.item.symbol.height for p in layout.items if p.row == row) for row in range(layout.rows)}
    for channel in range(-1, layout.rows):
        if channel >= 0:
            row_tops[channel] = y
            y += row_heights[channel]
        channel_tops[channel] = y
        levels = routed[channel].levels
        y += 2 * _AIR + LEVEL * (levels - 1) if levels else _QUIET
    return channel_tops, row_tops, row_heights, y


@dataclass(slots=True)
class _Tree:
    """A net's stretches, what lies around each point, and where wires and symbols stand on it."""

    stretches: list[Stretch]
    around: dict[Point, list[Point]]
    wires: dict[str, Point]
    anchors: list[Point]


def _stretch(a: Point, b: Point) -> Stretch:
    return (a, b) if a <= b else (b, a)


def _trees(
    layout: Layout,
    routed: Mapping[int, Routed],
    channel_tops: Mapping[int, float],
    row_tops: Mapping[int, float],
    row_heights: Mapping[int, float],
    tops: Mapping[str, float],
    margin: float,
) -> dict[str, _Tree]:
    points: dict[str, dict[tuple[float, float, float], None]] = {}
    pins: dict[tuple[int, str, bool], dict[float, float]] = {}  # (channel, net, from above) -> x -> where it starts
    trees: dict[str, _Tree] = {}

    def tree(net: str) -> _Tree:
        return trees.setdefault(net, _Tree([], {}, {}, []))

    uprights: list[tuple[str, float, float, float]] = []
    levels: list[tuple[str, float, list[float]]] = []
    for placed in layout.items:
        for socket in placed.item.sockets:
            x = placed.x(socket)
            y = tops[placed.item.key] + (0 if socket.side == "top" else placed.item.symbol.height)
            channel = placed.row - 1 if socket.side == "top" else placed.row
            pins.setdefault((channel, socket.net, socket.side == "bottom"), {})[x] = y
            point = (x + margin, y)
            if placed.item.wire:
                tree(socket.net).wires[placed.item.key] = point
            else:
                tree(socket.net).anchors.append(point)
    for (net, row), x in layout.passes.items():
        head, foot = row_tops[row], row_tops[row] + row_heights[row]
        pins.setdefault((row - 1, net, False), {})[x] = head
        pins.setdefault((row, net, True), {})[x] = foot
        uprights.append((net, x, head, foot))
    del points
    for channel, found in routed.items():
        by_net: dict[str, list[tuple[float, float, tuple[float, ...], tuple[float, ...]]]] = {}
        for trunk in found.trunks:
            y = channel_tops[channel] + _AIR + LEVEL * trunk.level
            by_net.setdefault(trunk.net, []).append((y, trunk.level, trunk.tops, trunk.bottoms))
        for net in sorted({net for c, net, _ in pins if c == channel}):
            above = pins.get((channel, net, True), {})
            below = pins.get((channel, net, False), {})
            if net not in by_net:
                xs = [*above, *below]
                ys = [*above.values(), *below.values()]
                if len(xs) > 1:
                    x = next(iter(above or below))
                    uprights.append((net, x, min(ys), max(ys)))
                continue
            trunks = sorted(by_net[net])
            for y, _, from_above, to_below in trunks:
                levels.append((net, y, sorted({*from_above, *to_below})))
                for x in from_above:
                    if x in above:
                        uprights.append((net, x, above[x], y))
                for x in to_below:
                    if x in below:
                        uprights.append((net, x, y, below[x]))
            for (y1, _, _, joint), (y2, _, other, _) in zip(trunks, trunks[1:], strict=False):
                for x in set(joint) & set(other):
                    uprights.append((net, x, y1, y2))
    for net, x, y1, y2 in uprights:
        _add(tree(net), (x + margin, y1), (x + margin, y2))
    for net, y, xs in levels:
        for left, right in zip(xs, xs[1:], strict=False):
            _add(tree(net), (left + margin, y), (right + margin, y))
    return trees


def _add(tree: _Tree, a: Point, b: Point) -> None:
    a, b = (round(a[0], 1), round(a[1], 1)), (round(b[0], 1), round(b[1], 1))
    stretch = _stretch(a, b)
    if a == b or stretch in tree.stretches:
        return
    tree.stretches.append(stretch)
    tree.around.setdefault(a, []).append(b)
    tree.around.setdefault(b, []).append(a)


def _users(tree: _Tree) -> dict[Stretch, tuple[str, ...]]:
    """Which wires use each stretch on their way to the terminal of the net."""
    users: dict[Stretch, list[str]] = {}
    anchors = {(round(x, 1), round(y, 1)) for x, y in tree.anchors}
    for wire, (x, y) in tree.wires.items():
        start = (round(x, 1), round(y, 1))
        goals = anchors or {(round(px, 1), round(py, 1)) for key, (px, py) in tree.wires.items() if key != wire}
        for stretch in _path(tree, start, goals):
            users.setdefault(stretch, []).append(wire)
    return {stretch: tuple(dict.fromkeys(by)) for stretch, by in users.items()}


def _path(tree: _Tree, start: Point, goals: set[Point]) -> Iterable[Stretch]:
    before: dict[Point, Point] = {start: start}
    queue = deque([start])
    while queue:
        point = queue.popleft()
        if point in goals:
            while before[point] != point:
                yield _stretch(before[point], point)
                point = before[point]
            return
        for other in tree.around.get(point, ()):
            if other not in before:
                before[other] = point
                queue.append(other)


def _joined(stretches: Sequence[Stretch]) -> list[tuple[Point, ...]]:
    """Stretches as lines as long as they can be, without points on the straight."""
    around: dict[Point, list[Point]] = {}
    for a, b in stretches:
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    left = {_stretch(a, b) for a, b in stretches}
    lines = []
    ends = sorted(point for point, others in around.items() if len(others) != 2) or sorted(around)
    for end in ends:
        for other in sorted(around[end]):
            if _stretch(end, other) not in left:
                continue
            line = [end]
            point, following = end, other
            while True:
                left.discard(_stretch(point, following))
                if len(line) > 1 and _straight(line[-2], line[-1], following):
                    line[-1] = following
                else:
                    line.append(following)
                onward = [p for p in around[following] if _stretch(following, p) in left]
                if len(around[following]) != 2 or not onward:
                    break
                point, following = following, onward[0]
            lines.append(tuple(line))
    return lines


def _straight(a: Point, b: Point, c: Point) -> bool:
    return (a[0] == b[0] == c[0]) or (a[1] == b[1] == c[1])


__all__ = ["Course", "channels_of", "courses"]
