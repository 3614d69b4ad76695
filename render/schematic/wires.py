"""The courses of all lines: from the lug of every net a lane to each of its other ends, in level and upright stretches.

Each wire is one line from terminal to terminal, in its own colour throughout. Lanes of one net that run together lie
side by side, in an order in which they part without crossing: of those that turn off to one side, the one that goes
farthest lies nearest to the lug. What is metal and no wire (a mount, the lead to a bar) is a thin black line.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from itertools import pairwise

from ...lang.records import dataclass
from ..drawing.primitives import Point
from .lugs import LANE, Net, Pin, nets_of, reaches
from .placement import Layout, Placed
from .routing import Crossing, Routed, Trunk, route
from .symbols.glyph import Side

LEVEL = 8.0
"""Between two level lines of a channel, in pixels, where they are not lanes of one net."""
_AIR = 7.0
"""Between the outermost level line of a channel and the row next to it."""
_QUIET = 5.0
"""Height of a channel without level lines."""
_LUG = 2.4
"""How far the bar on which several lanes end reaches beyond the outermost of them."""

_CROSSED, _BENT, _RIGHT_HANDED = 1.0, 0.3, 4.0
"""What a crossing, a bend, and a battery on the right-hand half of the sheet count for; 150 pixels across count 1."""


@dataclass(frozen=True, slots=True)
class Course:
    """``tops``: the upper edge of each item; ``wires``: the line of each wire item from its upper to its lower end;
    ``joints``: the lines of each net that are no wires, and ``bars`` on which several lanes of it end.
    """

    tops: Mapping[str, float]
    wires: Mapping[str, tuple[Point, ...]]
    joints: Mapping[str, tuple[tuple[Point, ...], ...]]
    bars: Mapping[str, tuple[Point, Point]]
    bottom: float


@dataclass(frozen=True, slots=True)
class _Hop:
    """What a lane does in a channel, in the direction away from the lug."""

    channel: int
    enters: tuple[float, Side]
    leaves: tuple[float, Side]

    def crossing(self, name: str) -> Crossing:
        ends = (self.enters, self.leaves)
        return Crossing(name, *(tuple(sorted({x for x, at in ends if at == side})) for side in ("top", "bottom")))


@dataclass(frozen=True, slots=True)
class _Lane:
    net: Net
    end: Pin
    hops: tuple[_Hop, ...]


# --- lanes -----------------------------------------------------------------------------------------------------------
@dataclass(slots=True)
class _Bundle:
    """The lanes of a net as they are spread out, from the ends towards the lug."""

    net: Net
    places: Mapping[str, Placed]
    passes: Mapping[tuple[str, int], float]
    lanes: Mapping[str, int]
    hops: dict[int, list[_Hop]] = field(default_factory=dict)

    def x(self, pin: Pin) -> float:
        return self.places[pin.item.key].x(pin.socket)

    def channel(self, pin: Pin) -> int:
        return self.places[pin.item.key].row - (pin.socket.side == "top")

    def spread(
        self, channel: int, entry: tuple[float, Side], ends: Sequence[int], room: tuple[float, float]
    ) -> tuple[tuple[int, float], ...]:
        """From left to right, which lanes enter a channel at ``entry`` and at which x; ``ends`` are those that do.

        ``room`` is how far to the left and to the right of the entry they may lie.
        """
        at, side = entry
        exits: list[tuple[float, Side, tuple[tuple[int, float], ...]]] = []
        for end in ends:
            pin = self.net.ends[end]
            if self.channel(pin) == channel:
                goal = self.x(pin)
                exits.append((goal, _edge(pin.socket.side), ((end, goal),)))
        for onward, row in ((channel - 1, channel), (channel + 1, channel + 1)):
            beyond = [end for end in ends if (self.channel(self.net.ends[end]) - channel) * (onward - channel) > 0]
            if beyond:
                goal = self.passes[self.net.name, row]
                wide = LANE * (len(beyond) - 1)
                there = self.spread(onward, (goal, "bottom" if onward < channel else "top"), beyond, (wide, wide))
                exits.append((goal, "top" if onward < channel else "bottom", there))
        ordered: list[tuple[int, float, Side]] = []
        for _, out, group in sorted(exits, key=lambda each: _turn(at, side, each[0], each[1])):
            ordered += [(end, x, out) for end, x in (group if out != side else group[::-1])]
        entered = _positions(at, [x for _, x, out in ordered], [out != side for *_, out in ordered], room)
        for (end, x, out), start in zip(ordered, entered, strict=True):
            self.hops.setdefault(end, []).insert(0, _Hop(channel, (start, side), (x, out)))
        return tuple((end, start) for (end, *_), start in zip(ordered, entered, strict=True))


def _edge(side: Side) -> Side:
    """The edge of a channel on which a port lies that leaves its item on ``side``."""
    return "bottom" if side == "top" else "top"


def _turn(at: float, side: Side, goal: float, out: Side) -> tuple[int, int, float]:
    """Where a lane lies among those that start together, from left to right, so that none crosses another.

    To the right: what goes through, the nearest first, then what turns back, the nearest last. To the left mirrored.
    """
    back = out == side
    if goal == at:
        return (1, 0, 0.0)
    if goal > at:
        return (2, int(back), at - goal if back else goal - at)
    return (0, int(not back), at - goal if back else goal - at)


def _positions(at: float, goals: Sequence[float], through: Sequence[bool], room: tuple[float, float]) -> list[float]:
    """The x of each lane where they start: about ``at``, and so that one that can go straight on does."""
    count = len(goals)
    pitch = LANE if count < 2 else min(LANE, (room[0] + room[1]) / (count - 1))
    width = pitch * (count - 1)
    least, most = at - min(room[0], width), at + min(room[1], width) - width
    first = min(max(at - width / 2, least), most)
    straight = [
        goal - pitch * index
        for index, (goal, goes) in enumerate(zip(goals, through, strict=True))
        if goes and least - 0.01 <= goal - pitch * index <= most + 0.01
    ]
    if straight:
        first = min(straight, key=lambda start: abs(start - first))
    return [round(first + pitch * index, 1) for index in range(count)]


def _lanes(layout: Layout) -> list[_Lane]:
    """Every lane with its way through the channels."""
    places = {placed.item.key: placed for placed in layout.items}
    nets = nets_of(placed.item for placed in layout.items)
    counts = {name: len(net.ends) for name, net in nets.items()}
    found = []
    for net in nets.values():
        if not net.ends:
            continue
        bundle = _Bundle(net, places, layout.passes, counts)
        entry = bundle.x(net.lug), _edge(net.lug.socket.side)
        bundle.spread(bundle.channel(net.lug), entry, range(len(net.ends)), reaches(net.lug, counts))
        found += [_Lane(net, end, tuple(bundle.hops[number])) for number, end in enumerate(net.ends)]
    return found


def _crossings(layout: Layout, lanes: Sequence[_Lane]) -> dict[int, list[Crossing]]:
    """What every lane does in every channel that it needs; lanes go by their number."""
    found: dict[int, list[Crossing]] = {channel: [] for channel in range(-1, layout.rows)}
    for number, lane in enumerate(lanes):
        for hop in lane.hops:
            found[hop.channel].append(hop.crossing(str(number)))
    return found


# --- heights ---------------------------------------------------------------------------------------------------------
def courses(layout: Layout, margin: float) -> Course:
    """Heights of rows and channels, and every line. ``margin`` is added on the left and at the head."""
    lanes = _lanes(layout)
    frame = _frame(layout, lanes, margin)
    lines = [_line(number, lane, frame) for number, lane in enumerate(lanes)]
    parts: dict[str, dict[str, tuple[Point, ...]]] = {}
    joints: dict[str, list[tuple[Point, ...]]] = {}
    ends: dict[str, list[Point]] = {}
    for lane, line in zip(lanes, lines, strict=True):
        ends.setdefault(lane.net.name, []).append(line[0])
        if lane.end.item.wire:
            parts.setdefault(lane.end.item.key, {})[lane.end.socket.terminal] = line
        else:
            joints.setdefault(lane.net.name, []).append(line)
    wires = {key: _plain((*both["a"], *both["b"][::-1])) for key, both in parts.items()}
    bars = {}
    for net, points in ends.items():
        if len(points) > 1:
            xs, y = [x for x, _ in points], points[0][1]
            bars[net] = (round(min(xs) - _LUG, 1), y), (round(max(xs) + _LUG, 1), y)
    return Course(frame.tops, wires, {net: tuple(each) for net, each in joints.items()}, bars, frame.bottom)


def trouble(layout: Layout) -> float:
    """How hard a layout is to follow: what crosses, what bends, how far lines run across, whether it begins left."""
    total = 0.0
    for crossings in _crossings(layout, _lanes(layout)).values():
        routed = route(crossings)
        total += routed.crossed * _CROSSED
        for trunk in routed.trunks:
            total += (trunk.right - trunk.left) / 150 + 2 * _BENT
    width = max((p.left + p.item.symbol.width for p in layout.items), default=0.0)
    heads = [p.left for p in layout.items if p.item.tied == "head"]
    return total + (_RIGHT_HANDED if heads and heads[0] > width / 2 else 0.0)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Heights: the upper edge of each item, and the level lines of each lane in each channel, from the head down."""

    tops: Mapping[str, float]
    levels: Mapping[tuple[int, str], tuple[tuple[float, Trunk], ...]]
    bottom: float
    margin: float


def _frame(layout: Layout, lanes: Sequence[_Lane], margin: float) -> _Frame:
    y = margin
    rows: dict[int, tuple[float, float]] = {}
    levels: dict[tuple[int, str], tuple[tuple[float, Trunk], ...]] = {}
    crossings = _crossings(layout, lanes)
    for channel in range(-1, layout.rows):
        if channel >= 0:
            height = max(placed.item.symbol.height for placed in layout.items if placed.row == channel)
            rows[channel] = (y, y + height)
            y += height
        routed = route(crossings[channel])
        heights = _heights(routed, lanes)
        for height, trunk in heights:
            at = round(y + _AIR + height, 1)
            levels[channel, trunk.net] = (*levels.get((channel, trunk.net), ()), (at, trunk))
        y += 2 * _AIR + max(height for height, _ in heights) if heights else _QUIET
    tops = {}
    for placed in layout.items:
        head, foot = rows[placed.row]
        spare = 0.0 if placed.item.tied in ("foot", "mount") else (foot - head - placed.item.symbol.height) / 2
        tops[placed.item.key] = round(head + spare, 1)
    return _Frame(tops, levels, y, margin)


def _heights(routed: Routed, lanes: Sequence[_Lane]) -> list[tuple[float, Trunk]]:
    """How far below the first level line of a channel each one lies: lanes of one net lie closer than others."""
    found: list[tuple[float, Trunk]] = []
    for trunk in sorted(routed.trunks, key=lambda trunk: trunk.level):
        over = [
            height + (LANE if lanes[int(other.net)].net is lanes[int(trunk.net)].net else LEVEL)
            for height, other in found
            if other.level < trunk.level and trunk.left < other.right + LEVEL and other.left < trunk.right + LEVEL
        ]
        found.append((max(over, default=0.0), trunk))
    return found


# --- lines -----------------------------------------------------------------------------------------------------------
def _line(number: int, lane: _Lane, frame: _Frame) -> tuple[Point, ...]:
    """A lane from the lug to its end."""
    points = [_edge_of(lane.net.lug, lane.hops[0].enters[0], frame)]
    for hop in lane.hops:
        trunks = frame.levels.get((hop.channel, str(number)), ())
        x = hop.enters[0]
        down = hop.enters[1] == "top"
        for place, (y, trunk) in enumerate(trunks if down else trunks[::-1]):
            last = place == len(trunks) - 1
            goal = hop.leaves[0] if last else (trunk.bottoms if down else trunk.tops)[0]
            points += [(x + frame.margin, y), (goal + frame.margin, y)]
            x = goal
    points.append(_edge_of(lane.end, lane.hops[-1].leaves[0], frame))
    return _plain([(round(x, 1), round(y, 1)) for x, y in points])


def _edge_of(pin: Pin, x: float, frame: _Frame) -> Point:
    """The point at x on the edge of an item that a port is on."""
    y = frame.tops[pin.item.key] + (pin.item.symbol.height if pin.socket.side == "bottom" else 0.0)
    return x + frame.margin, y


def _plain(points: Sequence[Point]) -> tuple[Point, ...]:
    """A line without points on the straight."""
    kept = [points[0]]
    for point, after in pairwise(points[1:]):
        if point != kept[-1] and not _straight(kept[-1], point, after):
            kept.append(point)
    return (*kept, points[-1])


def _straight(a: Point, b: Point, c: Point) -> bool:
    return (a[0] == b[0] == c[0]) or (a[1] == b[1] == c[1])
