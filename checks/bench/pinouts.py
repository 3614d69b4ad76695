"""What is in each cavity of each plug: of both halves of every connector, and of the plugs that go onto units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Literal

from ...lang.model.parts import Connector, Unit
from ...lang.model.wires import End
from ...lang.records import dataclass
from ...lang.vocabulary.kinds import GAP

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from .pieces import Piece, PieceEnd

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CavityWire:
    """A piece in a cavity: its ``end`` here, and the ``other`` one. ``shared``: it is one of several in one crimp."""

    piece: Piece
    end: PieceEnd
    other: PieceEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavity:
    """``wires`` is empty where the cavity is; ``blank``: it then gets a blanking plug. ``spare``: meant to be empty."""

    name: str
    wires: tuple[CavityWire, ...] = ()
    blank: bool = False
    spare: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Plug:
    """A half of a connector, or what goes onto a unit.

    ``mating`` are the rows of its face as seen from its own mating side, top row first, empty where the text gives no
    face. ``ways`` is ``None`` for a unit whose housing the text does not state; ``unused`` are the ways of a housing
    that no terminal of the unit has.
    """

    name: str
    part: str
    half: Literal["socket", "pin", ""]
    cavities: tuple[Cavity, ...]
    ways: int | None
    place: str | None = None
    label: str | None = None
    sealed: bool = False
    kept: bool = False
    mating: tuple[Row, ...] = ()
    unused: int = 0

    @property
    def from_wires(self) -> tuple[Row, ...]:
        """The rows as seen from where the wires go in: left and right change places."""
        return mirrored(self.mating)


def mirrored(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Rows of a face as seen from its other side, turned about the upright: left is right, the top row stays on top.

    Short rows are first filled up on the right, so that each cavity stays below the one that it is below.
    """
    width = max(map(len, rows), default=0)
    return tuple((*row, *(GAP,) * (width - len(row)))[::-1] for row in rows)


def plugs(harness: Harness, pieces: Iterable[Piece]) -> tuple[Plug, ...]:
    """Both halves of each connector and the plug of each unit that wires end in, in the order of the text."""
    at: dict[End, list[CavityWire]] = {}
    for piece in pieces:
        for end, other in (piece.ends, piece.ends[::-1]):
            if end.end is not None:
                at.setdefault(end.end, []).append(CavityWire(piece=piece, end=end, other=other))
    reached = {end.part for end in at}
    found: list[Plug] = []
    for part in harness.parts.values():
        if part.name not in reached:
            continue
        if isinstance(part, Connector):
            found += [_half(part, which, at) for which in ("socket", "pin")]
        elif isinstance(part, Unit) or harness.fitting.housing(part.name) is not None:
            found.append(_unit(harness, part, at))
    return tuple(found)


def _half(part: Connector, which: Literal["socket", "pin"], at: Mapping[End, list[CavityWire]]) -> Plug:
    letter = "s" if which == "socket" else "p"
    cavities = []
    for number in part.numbers:
        wires = tuple(at.get(End(part.name, f"{number}{letter}"), ()))
        spare = str(number) in part.spare
        cavities.append(Cavity(name=str(number), wires=wires, blank=part.sealed and not wires, spare=spare))
    return Plug(
        name=f"{part.name} {which}",
        part=part.name,
        half=which,
        cavities=tuple(cavities),
        ways=part.ways,
        place=part.place,
        label=part.label,
        sealed=part.sealed,
        kept=part.kept,
        mating=part.face if which == "socket" else mirrored(part.face),
    )


def _unit(harness: Harness, part: Part, at: Mapping[End, list[CavityWire]]) -> Plug:
    """The plug of a unit: the text numbers no cavity of it, so these have the names of its terminals."""
    housing = harness.fitting.housing(part.name)
    sealed = housing is not None and housing.sealed
    wired = {name: tuple(at.get(End(part.name, name), ())) for name in part.terminals}
    return Plug(
        name=f"{part.name} plug",
        part=part.name,
        half="",
        cavities=tuple(
            Cavity(name=name, wires=wires, blank=sealed and not wires, spare=False) for name, wires in wired.items()
        ),
        ways=None if housing is None else housing.ways,
        place=part.place,
        label=part.label,
        sealed=sealed,
        kept=part.kept,
        unused=0 if housing is None else max(0, housing.ways - len(wired)),
    )
