"""The looms that a harness falls into: what is one piece on the bench, before its plugs are pushed together.

A connector is two halves of two looms. What ends in one half, in one splice or on one part is one loom; a ground and
a kept wire tie nothing together. What no half of a connector parts from another loom that it runs beside is of that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from ...lang.model.parts import Connector, Ground
from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from .pieces import Piece, PieceEnd

MAIN: Final = "main"
"""The name of the loom with the most pieces."""


@dataclass(frozen=True, slots=True)
class Half:
    """A half of a connector: ``C-TAIL pin``."""

    connector: str
    which: Literal["socket", "pin"]

    @property
    def name(self) -> str:
        return f"{self.connector} {self.which}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loom:
    """``halves`` are the halves of connectors that it ends in."""

    name: str
    pieces: tuple[Piece, ...]
    halves: tuple[Half, ...] = ()


def looms(harness: Harness, pieces: Iterable[Piece]) -> tuple[Loom, ...]:
    """The looms of the new pieces, the largest first; kept pieces are of none."""
    new = [piece for piece in pieces if not piece.kept]
    together: DisjointSet[str] = DisjointSet(f"piece {piece.name}" for piece in new)
    for piece in new:
        for end in piece.ends:
            for knot in _knots(harness, end):
                together.merge(knot, f"piece {piece.name}")
    groups: dict[str, list[Piece]] = {}
    for piece in new:
        groups.setdefault(together.leader(f"piece {piece.name}"), []).append(piece)
    found = _joined_beside(harness, list(groups.values()))
    order = {piece.name: number for number, piece in enumerate(new)}
    found.sort(key=lambda group: (-len(group), order[group[0].name]))
    names: list[str] = []
    made = []
    for number, group in enumerate(found):
        halves = tuple(dict.fromkeys(half for piece in group for end in piece.ends for half in halves_of(harness, end)))
        name = MAIN if number == 0 else _name(halves, group, names)
        names.append(name)
        made.append(Loom(name=name, pieces=tuple(group), halves=halves))
    return tuple(made)


def halves_of(harness: Harness, end: PieceEnd) -> Iterator[Half]:
    """The half of a connector that an end is in; none where it is in no connector."""
    if end.end is not None and isinstance(harness.parts[end.end.part], Connector):
        yield Half(end.end.part, "socket" if end.end.half == "s" else "pin")


def _knots(harness: Harness, end: PieceEnd) -> Iterator[str]:
    """What ties an end to others: a half of a connector, a splice, a part."""
    if end.end is None or isinstance(harness.parts[end.end.part], Ground):
        return
    halves = tuple(halves_of(harness, end))
    yield f"half {halves[0].name}" if halves else f"part {end.end.part}"


def _joined_beside(harness: Harness, groups: list[list[Piece]]) -> list[list[Piece]]:
    """Groups that end in no half of a connector go into the one that they run beside for the longest."""
    parted = [
        group for group in groups if any(halves_of(harness, end) for p in group for end in _connected(harness, p))
    ]
    others = [group for group in groups if group not in parted]
    lengths = {frozenset((route.a, route.b)): route.length for route in harness.routes}
    largest = max(groups, key=len, default=None)
    made = [list(group) for group in parted] or ([list(largest)] if largest is not None else [])
    for group in others:
        if not parted and group is largest:
            continue
        stretches = _stretches(group)
        beside = max(made, key=lambda each: (sum(lengths[s] for s in stretches & _stretches(each)), len(each)))
        beside += group
    return made


def _connected(harness: Harness, piece: Piece) -> Iterator[PieceEnd]:
    for end in piece.ends:
        if end.end is not None and isinstance(harness.parts[end.end.part], Connector):
            yield end


def _stretches(group: Iterable[Piece]) -> set[frozenset[str]]:
    return {frozenset(pair) for piece in group for pair in pairwise(piece.route)}


def _name(halves: tuple[Half, ...], group: list[Piece], taken: list[str]) -> str:
    """After the first half that no other loom is named after; after a part where it ends in no half."""
    ends = [each.end.part for piece in group for each in piece.ends if each.end is not None]
    plugs = [*(half.connector for half in halves), *(half.name for half in halves)]
    choices = [*plugs, *ends, *(piece.name for piece in group)]
    return next((choice for choice in choices if choice not in taken), f"loom {len(taken) + 1}")
