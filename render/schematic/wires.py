"""The courses of all lines: every net as a tree of level and upright stretches between the ports of the items.

A stretch that one wire has to itself is drawn in that wire's colour. What several share, or what is no wire (the inside
of a part, a mount), is one terminal: a thin line, with dots where lines meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from itertools import pairwise

from ...lang.records import dataclass
from ...lang.search.walks import shortest
from ..drawing.primitives import Point
from .placement import Layout
from .routing import Crossing, Routed, Trunk, route

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
    frame = _frame(layout, routed, margin)
    trees = _trees(layout, routed, frame)
    own: dict[str, list[Stretch]] = {}
    for placed in layout.items:
        if placed.item.wire:
            x, y = placed.x(placed.item.sockets[0]) + margin, frame.tops[placed.item.key]
            own[placed.item.key] = [((x, y), (x, y + placed.item.symbol.height))]
    joints: dict[str, tuple[tuple[Point, ...], ...]] = {}
    dots: dict[str, tuple[Point, ...]] = {}
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
    wires = {key: tuple(_joined(stretches)) for key, stretches in own.items()}
    return Course(frame.tops, wires, joints, dots, frame.bottom)


def trouble(layout: Layout) -> float:
    """How hard a layout is to follow: what crosses, what bends, how far lines run across, whether it begins left."""
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


@dataclass(frozen=True, slots=True)
class _Frame:
    """Heights: where each channel and row begins, how high each row is, and the upper edge of each item."""

    channels: Mapping[int, float]
    rows: Mapping[int, tuple[float, float]]
    tops: Mapping[str, float]
    bottom: float
    margin: float


def _frame(layout: Layout, routed: Mapping[int, Routed], margin: float) -> _Frame:
    y = margin
    channels: dict[int, float] = {}
    rows: dict[int, tuple[float, float]] = {}
    for channel in range(-1, layout.rows):
        if channel >= 0:
            height = max(placed.item.symbol.height for placed in layout.items if placed.row == channel)
            rows[channel] = (y, y + height)
            y += height
        channels[channel] = y
        levels = routed[channel].levels
        y += 2 * _AIR + LEVEL * (levels - 1) if levels else _QUIET
    tops = {}
    for placed in layout.items:
        head, foot = rows[placed.row]
        spare = 0.0 if placed.item.tied == "foot" else (foot - head - placed.item.symbol.height) / 2
        tops[placed.item.key] = round(head + spare, 1)
    return _Frame(channels, rows, tops, y, margin)


@dataclass(slots=True)
class _Tree:
    """A net's stretches, what lies around each point, and where wires and symbols are on it."""

    stretches: dict[Stretch, None] = field(default_factory=dict)
    around: dict[Point, list[Point]] = field(default_factory=dict)
    wires: dict[str, Point] = field(default_factory=dict)
    anchors: set[Point] = field(default_factory=set)

    def add(self, a: Point, b: Point) -> None:
        stretch = _stretch(a, b)
        if a != b and stretch not in self.stretches:
            self.stretches[stretch] = None
            self.around.setdefault(a, []).append(b)
            self.around.setdefault(b, []).append(a)


def _stretch(a: Point, b: Point) -> Stretch:
    return (a, b) if a <= b else (b, a)


@dataclass(slots=True)
class _Pins:
    """Where the lines of a net end above and below a channel: x, and the height at which each begins."""

    above: dict[float, float] = field(default_factory=dict)
    below: dict[float, float] = field(default_factory=dict)


def _trees(layout: Layout, routed: Mapping[int, Routed], frame: _Frame) -> dict[str, _Tree]:
    trees: dict[str, _Tree] = {}
    pins: dict[tuple[int, str], _Pins] = {}

    def pins_of(channel: int, net: str) -> _Pins:
        return pins.setdefault((channel, net), _Pins())

    for placed in layout.items:
        for socket in placed.item.sockets:
            x, y = placed.x(socket) + frame.margin, frame.tops[placed.item.key]
            if socket.side == "top":
                pins_of(placed.row - 1, socket.net).below[x] = y
            else:
                y = round(y + placed.item.symbol.height, 1)
                pins_of(placed.row, socket.net).above[x] = y
            tree = trees.setdefault(socket.net, _Tree())
            if placed.item.wire:
                tree.wires[placed.item.key] = (x, y)
            else:
                tree.anchors.add((x, y))
    for (net, row), x in layout.passes.items():
        head, foot = (round(y, 1) for y in frame.rows[row])
        x += frame.margin
        pins_of(row - 1, net).below[x] = head
        pins_of(row, net).above[x] = foot
        trees[net].add((x, head), (x, foot))
    for (channel, net), found in sorted(pins.items(), key=lambda item: item[0]):
        trunks = sorted((t for t in routed[channel].trunks if t.net == net), key=lambda trunk: trunk.level)
        _lines_in_channel(trees[net], found, trunks, frame.channels[channel], frame.margin)
    return trees


def _lines_in_channel(tree: _Tree, pins: _Pins, trunks: Sequence[Trunk], top: float, margin: float) -> None:
    """The lines of one net in one channel: straight through, or by the level lines that were found for it."""
    if not trunks:
        for x in sorted(pins.above.keys() & pins.below.keys()):
            tree.add((x, pins.above[x]), (x, pins.below[x]))
        return
    heights = [round(top + _AIR + LEVEL * trunk.level, 1) for trunk in trunks]
    for trunk, y in zip(trunks, heights, strict=True):
        xs = sorted({x + margin for x in (*trunk.tops, *trunk.bottoms)})
        for left, right in pairwise(xs):
            tree.add((left, y), (right, y))
        for x in xs:
            if x - margin in trunk.tops and x in pins.above:
                tree.add((x, pins.above[x]), (x, y))
            if x - margin in trunk.bottoms and x in pins.below:
                tree.add((x, y), (x, pins.below[x]))
    for (upper, y1), (lower, y2) in pairwise(zip(trunks, heights, strict=True)):  # the halves of a parted line
        for x in sorted(set(upper.bottoms) & set(lower.tops)):
            tree.add((x + margin, y1), (x + margin, y2))


def _users(tree: _Tree) -> dict[Stretch, tuple[str, ...]]:
    """Which wires use each stretch on their way to the terminal of the net."""
    users: dict[Stretch, dict[str, None]] = {}
    for wire, start in tree.wires.items():
        goals = tree.anchors or {point for other, point in tree.wires.items() if other != wire}
        for stretch in _path(tree, start, goals):
            users.setdefault(stretch, {})[wire] = None
    return {stretch: tuple(by) for stretch, by in users.items()}


def _path(tree: _Tree, start: Point, goals: set[Point]) -> Iterable[Stretch]:
    def step(point: Point) -> list[tuple[Point, Stretch]]:
        return [(other, _stretch(other, point)) for other in tree.around.get(point, ())]

    return shortest([start], goals.__contains__, step) or ()


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
