"""The peg list: what stands where on the board that a loom is laid on, in mm from its lower left corner."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from .tree import Leg

if TYPE_CHECKING:
    from .blocks import Point
    from .board import Board

Sort = Literal["place", "splice", "leg end", "loop end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Peg:
    """``place`` is where a leg or splice belongs; ``note`` says what the drawing cannot show true."""

    number: int
    sort: Sort
    name: str
    place: str
    at: Point
    note: str = ""


def pegs(board: Board) -> tuple[Peg, ...]:
    """Place by place along the trunk, then along the branches: its peg, its splices, the ends of its legs."""
    return tuple(
        Peg(number=number, sort=sort, name=name, place=place, at=at, note=note)
        for number, (sort, name, place, at, note) in enumerate(_found(board), 1)
    )


def _found(board: Board) -> Iterator[tuple[Sort, str, str, Point, str]]:
    for place, at in board.frame.pegs.items():
        crossing = place in board.frame.crossing
        note = "its branch crosses what lies there: lay it last, or turn it" if crossing else ""
        yield "place", place, place, at, note
        for splice in board.splices:
            if splice.place == place:
                yield "splice", splice.name, place, splice.at, ""
        for tooth in board.teeth:
            if tooth.place != place:
                continue
            of = tooth.wanted.of
            if not isinstance(of, Leg):
                other = of.b if of.a == place else of.a
                note = f"{shown(round(of.length * 1000, 3), 4)} mm to {other} in all, opened here"
                yield "loop end", f"{of.a} - {of.b}", place, tooth.tip, note
                continue
            over = (
                f"drawn {shown(round(tooth.over, 3), 4)} mm too long for want of room: measure "
                f"{shown(round(of.length * 1000, 3), 4)} mm from the peg of {place}"
            )
            yield "leg end", of.name, place, tooth.tip, over if tooth.over > 0.5 else ""
