"""What a half of a survey can be on a diagram: halves of connectors, parts' plugs, studs of a ground, single ends."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum, unique
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.wires import Segment


@unique
class Sort(Enum):
    HALF = "half of a connector"
    PART = "plug of a part"
    STUD = "stud of a ground"
    END = "single end of a part"


@dataclass(frozen=True, slots=True)
class DrawnEnd:
    """An end of a candidate with the pieces of wire that are crimped into it, and their colours (``None``: not said).

    ``node`` names it on the diagram; ``explicit``: the diagram names this very half, and not only the way.
    """

    node: str
    segments: tuple[Segment, ...]
    explicit: bool

    @property
    def colours(self) -> tuple[Colour | None, ...]:
        return tuple(segment.colour for segment in self.segments)


@dataclass(frozen=True, slots=True)
class Candidate:
    """``name`` as a survey writes it: ``C-LEFT.p``, a part, a ground, ``KEY.30``. ``side``: ``s`` or ``p``."""

    name: str
    sort: Sort
    part: str
    ends: tuple[DrawnEnd, ...]
    places: tuple[str, ...]
    side: str = ""

    @property
    def is_drawn_half(self) -> bool:
        """Whether the diagram says which half its leads are in, for at least one of them."""
        return any(end.explicit for end in self.ends)

    @property
    def partner(self) -> str | None:
        """The other half of its connector."""
        return None if self.sort is not Sort.HALF else f"{self.part}.{'p' if self.side == 's' else 's'}"


def candidates(harness: Harness) -> tuple[Candidate, ...]:
    """Everything on a diagram that a half can be, in the order of the text."""
    at: dict[End, list[tuple[Segment, str | None]]] = {}
    for segment in harness.segments:
        for end, stud in ((segment.a, segment.studs[0]), (segment.b, segment.studs[1])):
            at.setdefault(end.node, []).append((segment, stud))
    drawn = {end.node for wire in harness.wires.values() for end in (wire.a, wire.b)}
    found: list[Candidate] = []
    for part in harness.parts.values():
        if isinstance(part, Connector):
            for side in "sp":
                nodes = [End(part.name, f"{way}{side}") for way in range(1, part.ways + 1)]
                _add(
                    found,
                    Candidate(f"{part.name}.{side}", Sort.HALF, part.name, _ends(nodes, at, drawn), part.places, side),
                )
        elif isinstance(part, Ground):
            for place in part.places or (None,):
                here = at.get(End(part.name), ())
                segments = tuple(segment for segment, stud in here if stud == place or place is None)
                ends: tuple[DrawnEnd, ...] = (DrawnEnd(part.name, segments, explicit=True),) if segments else ()
                name = part.name if len(part.places) < 2 else f"{part.name} at {place}"
                _add(found, Candidate(name, Sort.STUD, part.name, ends, (place,) if place else ()))
        elif not isinstance(part, Splice):
            ends = _ends([End(part.name, terminal) for terminal in part.terminals], at, drawn)
            _add(found, Candidate(part.name, Sort.PART, part.name, ends, part.places))
            if len(ends) > 1:
                for one in ends:
                    _add(found, Candidate(one.node, Sort.END, part.name, (one,), part.places))
    return tuple(found)


def _ends(
    nodes: Iterable[End], at: dict[End, list[tuple[Segment, str | None]]], drawn: set[End]
) -> tuple[DrawnEnd, ...]:
    return tuple(DrawnEnd(node, tuple(p for p, _ in at[node]), node in drawn) for node in nodes if node in at)


def _add(found: list[Candidate], candidate: Candidate) -> None:
    if candidate.ends:
        found.append(candidate)
