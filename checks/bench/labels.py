"""What is labelled: both ends of each new piece, both halves of each connector, fuses; and the words on each label."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final, Literal, get_args

from ...lang.model.parts import Connector, Fuse
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from .looms import Half, Loom
    from .pieces import Piece

Sort = Literal["wire", "connector", "fuse"]
SORTS: Final[tuple[Sort, ...]] = get_args(Sort)


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """``head`` is read first; ``line`` is below it. ``around`` is mm across what it goes round, 0 for a flat one.

    ``of`` names what it is stuck on; ``where`` its place, empty where none is stated.
    """

    sort: Sort
    of: str
    head: str
    line: str
    where: str
    around: float = 0.0


def labels(harness: Harness, looms: Sequence[Loom], sorts: Iterable[Sort] = SORTS) -> tuple[Label, ...]:
    """The labels in the order of the work: loom by loom the ends of its pieces and its plugs, then fuses."""
    wanted = set(sorts)
    found: list[Label] = []
    for loom in looms:
        if "wire" in wanted:
            found += [label for piece in loom.pieces for label in _ends(piece)]
        if "connector" in wanted:
            found += [_half(harness, half) for half in loom.halves]
    if "fuse" in wanted:
        found += [_fuse(part) for part in harness.parts.values() if isinstance(part, Fuse)]
    return tuple(found)


def _ends(piece: Piece) -> Iterator[Label]:
    """A label for each end: the wire, where this end goes, and where the other one is."""
    for here, there in (piece.ends, piece.ends[::-1]):
        yield (
            Label(
                sort="wire",
                of=f"{piece.name} at {here.name}",
                head=piece.name,
                line=here.name,
                where=here.place or "",
                around=piece.core or 0.0,
            )
            if piece.spare
            else Label(
                sort="wire",
                of=f"{piece.name} at {here.name}",
                head=f"{piece.name} {here.name}",
                line=f"to {there.name}",
                where=here.place or "",
                around=piece.core or 0.0,
            )
        )


def _half(harness: Harness, half: Half) -> Label:
    """A half of a connector: its name, which half it is, and how many ways."""
    part = harness.parts[half.connector]
    ways = f", {part.ways} ways" if isinstance(part, Connector) else ""
    return Label(
        sort="connector", of=half.name, head=half.connector, line=f"{half.which}{ways}", where=part.place or ""
    )


def _fuse(part: Fuse) -> Label:
    rated = shown(Quantity(part.amps, "A")) if part.amps is not None else ""
    said = ", ".join(word for word in (part.label, part.system) if word)
    return Label(sort="fuse", of=part.name, head=f"{part.name} {rated}".strip(), line=said, where=part.place or "")
