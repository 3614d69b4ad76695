"""Stage 1, the ends of it: a pull for each kind of crimp, and a current through each thick wire."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from ....lang.records import dataclass
from ....lang.search.cheapest import cheapest
from ...tables.conductors import resistance_per_metre
from ...tables.crimps import Pull, pull
from ...tables.proving import proving

if TYPE_CHECKING:
    from ..looms import Loom
    from ..pieces import Piece
    from .points import Point
    from .table import TableLoom

_UNKNOWN: Final = 1.0
"""m that a wire of unknown length counts when the nearest point is looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """A crimp of one kind on wire of one size: ``pull`` is ``None`` for a wire that the table does not have."""

    crimp: str
    size: str
    pull: Pull | None
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Thick:
    """A thick wire under current, between two points that a probe reaches: at most ``volts`` lost in all ``pieces``.

    ``volts`` is ``None`` where a length or a size is owed.
    """

    a: Point
    b: Point
    pieces: tuple[str, ...]
    volts: float | None


def samples(looms: Sequence[Loom]) -> tuple[Sample, ...]:
    """Each kind of crimp on each size of wire, kept wires left out; bare strands are not pulled."""
    counts: dict[tuple[str, str], tuple[float, int]] = {}
    for piece in (piece for loom in looms for piece in loom.pieces):
        for end in piece.ends:
            if end.crimp is not None and end.crimp.sort != "bare" and piece.size is not None:
                kind = end.crimp.name, piece.size.text
                counts[kind] = piece.size.area, counts.get(kind, (0.0, 0))[1] + 1
    return tuple(
        Sample(crimp=crimp, size=size, pull=pull(area), count=count)
        for (crimp, size), (area, count) in sorted(counts.items(), key=lambda item: (item[0][0], item[1][0]))
    )


def thick(loom: TableLoom) -> Iterator[Thick]:
    """The wires of 4 mm2 and more, each between the nearest points; those that one pair of points tells, once."""
    seen: set[frozenset[str]] = set()
    for piece in loom.loom.pieces:
        if piece.size is None or piece.size.area < proving("test_area"):
            continue
        found = _between(loom, piece.name)
        if found is None or frozenset((found[0].name, found[1].name)) in seen:
            continue
        a, b, pieces = found
        seen.add(frozenset((a.name, b.name)))
        yield Thick(a=a, b=b, pieces=pieces, volts=most_drop([loom.pieces[name] for name in pieces]))


def most_drop(pieces: Sequence[Piece]) -> float | None:
    """V that pieces in a row may lose at the test current; ``None`` where a length or a size is owed.

    By the size of each: a limit for each metre alone would pass a starter cable that is held by a few of its strands.
    The pieces in a row have one crimp, or splice, more than they are. Rounded up to what the meter reads.
    """
    ohms = 0.0
    for piece in pieces:
        if piece.size is None or piece.finished is None:
            return None
        ohms += resistance_per_metre(piece.size.area) * piece.finished
    volts = proving("test_amps") * ohms * proving("test_share") + proving("test_crimp") * (len(pieces) + 1)
    digit = proving("test_digit")
    return round(math.ceil(volts / digit - 1e-9) * digit, 6)


def _between(loom: TableLoom, name: str) -> tuple[Point, Point, tuple[str, ...]] | None:
    """The nearest point on each side of a piece, and the pieces between the two; ``None`` where a side has none."""
    sides = []
    for side in (0, 1):
        start = loom.node(name, side)
        found = _nearest(loom, start, name)
        if found is None:
            return None
        sides.append(found)
    (a, before), (b, after) = sides
    return a, b, (*before[::-1], name, *after)


def _nearest(loom: TableLoom, start: str, without: str) -> tuple[Point, tuple[str, ...]] | None:
    """The nearest point from a node along pieces, and these pieces in order."""
    points = {point.name: point for point in loom.points}

    def step(node: str) -> Iterator[tuple[str, str]]:
        for name in loom.pieces:
            if name != without and node in (ends := (loom.node(name, 0), loom.node(name, 1))):
                yield ends[node == ends[0]], name

    found = cheapest(
        [start], points.__contains__, step, lambda total, name: total + (loom.pieces[name].finished or _UNKNOWN)
    )
    if found is None:
        return None
    node = start
    for name in found[1]:
        ends = (loom.node(name, 0), loom.node(name, 1))
        node = ends[node == ends[0]]
    return points[node], found[1]
