"""Stage 1: each loom on the table, its plugs apart, before anything is fitted to it.

A point is what a probe can touch: a crimp, whatever wires are in it, or a bare end. Each net is tested in one go: the
black lead on its reference point, every other point of it beeps; the bar, on which all earlier nets are clipped, stays
silent; then it is clipped on as well. So a loom of n points takes n - 1 rows. Each open, join or swap changes one of
them, but for what looks the same to every meter, which is stated.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Literal

from ....lang.records import dataclass
from ....lang.search.disjoint_set import DisjointSet
from ....lang.search.walks import shortest
from ..pieces import ALONE
from .points import Point, touched

if TYPE_CHECKING:
    from ....lang.model.harness import Harness
    from ..looms import Loom
    from ..pieces import Piece, PieceEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """Points that copper joins, the reference first. ``splices`` are buried in it: no probe reaches them."""

    points: tuple[Point, ...]
    pieces: tuple[str, ...]
    splices: tuple[str, ...] = ()

    @property
    def reference(self) -> Point:
        return self.points[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """One row: black on ``reference``, red on ``point``, or on the bar where that is ``None`` (silence)."""

    net: int
    reference: Point
    point: Point | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """One thing wrong with a loom: a piece is open, two points are joined, or two ends have changed places."""

    sort: Literal["open", "join", "swap"]
    pieces: tuple[tuple[str, int], ...] = ()
    points: tuple[Point, ...] = ()

    @property
    def words(self) -> str:
        if self.sort == "open":
            return f"wire {self.pieces[0][0]} is open, or not in its crimp"
        if self.sort == "join":
            return f"{self.points[0].name} is connected to {self.points[1].name}"
        (a, _), (b, _) = self.pieces
        return f"wires {a} and {b} have changed places at {self.points[0].seat}"


class TableLoom:
    """One loom on the table. ``joins``: at each point or splice, the kept wires that are joined there later."""

    def __init__(self, harness: Harness, loom: Loom) -> None:
        self.harness = harness
        self.loom = loom
        self.pieces: Mapping[str, Piece] = {piece.name: piece for piece in loom.pieces}
        self._points, self._node = touched(harness, loom)

    # --- points
    def node(self, piece: str, side: int) -> str:
        """The point or the splice at an end of a piece."""
        return self._node[piece, side]

    @property
    def points(self) -> tuple[Point, ...]:
        return tuple(self._points.values())

    # --- nets and rows
    @cached_property
    def nets(self) -> tuple[Net, ...]:
        """The nets in the order of the test: those of one seat together, so that the black lead moves little."""
        leaders = self._leaders(self._edges())
        groups: dict[str, list[Point]] = {}
        for name, point in self._points.items():
            groups.setdefault(leaders[name], []).append(point)
        members = {leader: dict.fromkeys(point.seat for point in group) for leader, group in groups.items()}
        found: list[Net] = []
        left = dict(groups)
        while left:
            counts: dict[str, int] = {}
            for leader in left:
                for seat in members[leader]:
                    counts[seat] = counts.get(seat, 0) + 1
            best = max(counts, key=lambda seat: counts[seat])
            for leader in [leader for leader in left if best in members[leader]]:
                points = left.pop(leader)
                first = next(point for point in points if point.seat == best)
                found.append(self._net(leaders, leader, (first, *(p for p in points if p is not first))))
        return tuple(found)

    def _net(self, leaders: Mapping[str, str], leader: str, points: tuple[Point, ...]) -> Net:
        return Net(
            points=points,
            pieces=tuple(name for name in self.pieces if leaders[self._node[name, 0]] == leader),
            splices=tuple(
                dict.fromkeys(n for n in self._node.values() if n not in self._points and leaders[n] == leader)
            ),
        )

    @cached_property
    def touches(self) -> tuple[Touch, ...]:
        """The rows in their order: points - 1 of them."""
        found: list[Touch] = []
        for number, net in enumerate(self.nets):
            found += [Touch(net=number, reference=net.reference, point=point) for point in net.points[1:]]
            if number:
                found.append(Touch(net=number, reference=net.reference, point=None))
        return tuple(found)

    def along(self, net: Net, point: Point) -> tuple[str, ...]:
        """The pieces between a net's reference and one of its points: what a row that stays silent speaks of."""
        near: dict[str, list[tuple[str, str]]] = {}
        for name in net.pieces:
            a, b = self._node[name, 0], self._node[name, 1]
            near.setdefault(a, []).append((b, name))
            near.setdefault(b, []).append((a, name))
        return shortest([net.reference.name], lambda node: node == point.name, lambda node: near.get(node, [])) or ()

    @property
    def kautz(self) -> int:
        """How few tests suffice for a tester that joins any points at once: p - 1 + ceil(log2 q), p the points of the
        largest net and q the number of nets (Kautz 1974).
        """
        if not self.nets:
            return 0
        return max(len(net.points) for net in self.nets) - 1 + math.ceil(math.log2(len(self.nets)))

    @property
    def moves(self) -> int:
        """How often the black lead moves to another seat."""
        seats = [net.reference.seat for net in self.nets]
        return sum(a != b for a, b in pairwise(seats))

    @cached_property
    def joins(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Where kept wires are connected to this loom, and which: they come after its test."""
        here = {
            end.end: None for piece in self.loom.pieces for end in piece.ends
            if end.end is not None and (end.is_splice or self._shares_crimp(end))
        }  # fmt: skip
        kept: dict[str, list[str]] = {}
        for wire in self.harness.wires.values():
            for segment in wire.segments if wire.kept else ():
                for end in (segment.a, segment.b):
                    if end in here:
                        kept.setdefault(end, []).append(segment.name)
        return tuple((end, tuple(dict.fromkeys(kept[end]))) for end in here if end in kept)

    def _shares_crimp(self, end: PieceEnd) -> bool:
        return end.crimp is not None and end.crimp.sort not in ALONE and bool(set(end.beside) - set(self.pieces))

    # --- what is wrong
    def _edges(self) -> dict[str, tuple[str, str]]:
        return {name: (self._node[name, 0], self._node[name, 1]) for name in self.pieces}

    def _leaders(self, edges: Mapping[str, tuple[str, str]], more: Iterable[tuple[str, str]] = ()) -> dict[str, str]:
        together: DisjointSet[str] = DisjointSet((*self._points, *self._node.values()))
        for a, b in (*edges.values(), *more):
            together.merge(a, b)
        return {name: together.leader(name) for name in tuple(together.leaders)}

    def shows(self, wrong: Wrong | None) -> tuple[bool, ...]:
        """What each row shows with this wrong: whether it beeps; of a sound loom for ``None``."""
        edges = self._edges()
        more: list[tuple[str, str]] = []
        match wrong:
            case Wrong(sort="open"):
                del edges[wrong.pieces[0][0]]
            case Wrong(sort="join"):
                more.append((wrong.points[0].name, wrong.points[1].name))
            case Wrong(sort="swap"):
                (a, side), (b, other) = wrong.pieces
                there = {a: self._node[b, other], b: self._node[a, side]}
                for name, place in ((a, side), (b, other)):
                    left, right = edges[name]
                    edges[name] = (there[name], right) if place == 0 else (left, there[name])
        leaders = self._leaders(edges, more)
        bar: set[str] = set()
        shown = []
        net = 0
        for touch in self.touches:
            if touch.net != net:
                bar.add(leaders[self.nets[net].reference.name])
                net = touch.net
            reference = leaders[touch.reference.name]
            shown.append(reference in bar if touch.point is None else reference == leaders[touch.point.name])
        return tuple(shown)

    @cached_property
    def sound(self) -> tuple[bool, ...]:
        return self.shows(None)

    def opens(self) -> Iterator[Wrong]:
        for name in self.pieces:
            yield Wrong(sort="open", pieces=((name, 0),))

    def pairs(self) -> Iterator[Wrong]:
        """Each join of two nets, one pair of points for each two of them."""
        for a, b in combinations(self.nets, 2):
            yield Wrong(sort="join", points=(a.reference, b.reference))

    def swaps(self) -> Iterator[Wrong]:
        """Each two ends at one part or half of a plug that may have changed places."""
        seats: dict[str, list[tuple[Point, tuple[str, int]]]] = {}
        for point in self.points:
            seats.setdefault(point.seat, []).extend((point, end) for end in point.ends)
        for here in seats.values():
            for (point, end), (other, there) in combinations(here, 2):
                if point is not other and end[0] != there[0]:
                    yield Wrong(sort="swap", pieces=(end, there), points=(point, other))

    @cached_property
    def unseen(self) -> tuple[Wrong, ...]:
        """Opens and swaps that change no row: by eye only. Joins change one each."""
        besides = (wrong for wrong in self.opens() if self.shows(wrong) == self.sound)  # another way leads beside it
        return (*besides, *(wrong for wrong in self.swaps() if self._is_alike(wrong)))

    def _is_alike(self, wrong: Wrong) -> bool:
        """Whether a swap leaves each point where it was: only within one net can it."""
        net_of = self._net_of
        if net_of[wrong.points[0].name] != net_of[wrong.points[1].name]:
            return False
        return self.shows(wrong) == self.sound

    @cached_property
    def _net_of(self) -> dict[str, int]:
        return {point.name: number for number, net in enumerate(self.nets) for point in net.points}

    @cached_property
    def alike(self) -> tuple[Net, ...]:
        """The nets of which ends can change places and no meter tells: several pieces meet in them."""
        return tuple(net for net in self.nets if len(net.pieces) > 1)

    def explains(self, shown: Sequence[bool | None]) -> tuple[Wrong, ...]:
        """The single wrongs that show exactly this; ``None`` for a row without a reading."""
        return tuple(
            wrong
            for wrong in (*self.opens(), *self.pairs(), *self.swaps())
            if all(s is None or s == w for s, w in zip(shown, self.shows(wrong), strict=True))
        )


def table_looms(harness: Harness, looms: Sequence[Loom]) -> tuple[TableLoom, ...]:
    """The looms that are tested on the table."""
    return tuple(TableLoom(harness, loom) for loom in looms)
