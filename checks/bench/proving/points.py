"""What a probe touches on a loom that lies on the table: its crimps, and bare ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....lang.model.parts import Connector, Ground, Source
from ....lang.records import dataclass
from ..pieces import ALONE

if TYPE_CHECKING:
    from ....lang.model.harness import Harness
    from ..looms import Loom
    from ..pieces import Piece, PieceEnd

PieceSide = tuple[str, int]
"""A piece and which of its ends: 0 or 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """What a probe touches. ``seat``: the half of a plug or the part that it sits at; ``ends``: (piece, 0 or 1)."""

    name: str
    place: str
    seat: str
    ends: tuple[tuple[str, int], ...]


def touched(harness: Harness, loom: Loom) -> tuple[dict[str, Point], dict[PieceSide, str]]:
    """The points of a loom by name, and at each end of each piece the point or the buried splice that it comes to.

    Two wires at one terminal are in one crimp, but where they have ring terminals (``ringed``): there each wire has
    its own unless the text says otherwise. A splice at which but one piece of this loom ends is a point: its kept wires
    come later, and until then it is an end that a probe reaches.
    """
    at: dict[tuple[str, tuple[str, ...]], list[PieceSide]] = {}
    splices: dict[str, list[PieceSide]] = {}
    here = {piece.name: piece for piece in loom.pieces}
    for piece in loom.pieces:
        for side, end in enumerate(piece.ends):
            if end.is_splice and end.end is not None:
                splices.setdefault(end.end.part, []).append((piece.name, side))
            else:
                at.setdefault(_crimp(harness, here, piece, end), []).append((piece.name, side))
    crowded = {name for name, _ in at if sum(other == name for other, _ in at) > 1}
    named = {}
    for (name, _), sides in at.items():
        wires = ", ".join(dict.fromkeys(piece for piece, _ in sides))
        named[f"{name} ({wires})" if name in crowded else name] = sides
    named |= {name: sides for name, sides in splices.items() if len(sides) == 1}
    points = {name: _point(harness, here, name, sides) for name, sides in named.items()}
    nodes = {side: name for name, sides in (splices | named).items() for side in sides}
    return points, nodes


def _point(harness: Harness, here: dict[str, Piece], name: str, sides: list[PieceSide]) -> Point:
    piece, side = sides[0]
    end = here[piece].ends[side]
    return Point(name=name, place=end.place or "", seat=_seat(harness, end), ends=tuple(dict.fromkeys(sides)))


def _crimp(harness: Harness, here: dict[str, Piece], piece: Piece, end: PieceEnd) -> tuple[str, tuple[str, ...]]:
    """What tells crimps apart: the terminal, and where several sit on it the pieces in this one."""
    if end.end is None:
        return f"{piece.name} {end.name}", ()
    alone = ringed(harness, end)
    return end.end, tuple(sorted({piece.name, *end.beside} & here.keys())) if alone else ()


def ringed(harness: Harness, end: PieceEnd) -> bool:
    """Whether a ring terminal goes there: on a stud or under a screw, on a body of ground, at a battery's post.

    The last two hold where the text does not say what the terminal offers (common practice, no source).
    """
    if end.crimp is not None:
        return end.crimp.sort in ALONE
    part = None if end.end is None else harness.parts[end.end.part]
    return isinstance(part, Ground) or (isinstance(part, Source) and part.what == "battery")


def _seat(harness: Harness, end: PieceEnd) -> str:
    if end.end is None:
        return end.name
    if isinstance(harness.parts[end.end.part], Connector):
        return f"{end.end.part} {'socket' if end.end.half == 's' else 'pin'}"
    return end.end.part
