"""Lines of text on leaves: in columns from the top down, from leaf to leaf."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, Literal

from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour
from ..drawing import lettering
from ..drawing.primitives import Rect, Shape, Text
from .frame import EM, LINE, shortened
from .marks import swatch

GUTTER: Final = 6.0
"""mm between columns."""
INDENT: Final = 3.0
SWATCH: Final = 5.0
"""mm of a wire's colour at the start of a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line in one column. ``cells`` are words and the share of the column at which they begin; a heading is bold and
    stays with what follows, as does a line to ``keep``. ``strong``: the first cell is bold. ``colour``: a wire's, shown
    at the start of the line. ``under``: the heads of its table, said again where a column begins with it.
    """

    cells: tuple[tuple[str, float], ...]
    heading: bool = False
    faint: bool = False
    keep: bool = False
    strong: bool = False
    colour: Colour | None = None
    under: Line | None = None


def lines_of(words: str, width: float, *, heading: bool = False, faint: bool = False) -> Iterator[Line]:
    """``words`` on as many lines as they need, later ones indented."""
    wrapped = lettering.wrapped(visible(words), EM, width - 2 * INDENT)
    for number, part in enumerate(wrapped):
        start = INDENT / width if number and not heading else 0.0
        yield Line(cells=((part, start),), heading=heading, faint=faint)


def width_of(room: Rect, columns: int) -> float:
    """mm of one column."""
    return (room.width - GUTTER * (columns - 1)) / columns


def flowed(lines: Sequence[Line], rooms: Iterable[Rect], columns: int, em: float = EM) -> Iterator[tuple[Shape, ...]]:
    """The shapes of each leaf, as long as there are lines; ``rooms`` gives the room on each, the last one for good.

    On the last leaf the columns are about as long as each other. ``em`` is that of the lettering, in mm.
    """
    pitch = LINE / EM * em
    waiting = list(lines)
    room = None
    given = iter(rooms)
    while waiting:
        room = next(given, room)
        if room is None:
            return
        most = int(room.height // pitch)
        if most < 3:
            yield ()
            continue
        rows = min(most, max(3, -(-len(waiting) // columns) + 1))
        shapes: list[Shape] = []
        width = width_of(room, columns)
        for column in range(columns):
            here = _column(waiting, rows if column < columns - 1 else most)
            left = room.left + column * (width + GUTTER)
            for number, line in enumerate(here):
                shapes += _drawn(line, left, room.top + pitch * number + em * 0.95, width, em)
        yield tuple(shapes)


def _column(waiting: list[Line], rows: int) -> list[Line]:
    """Takes what is in one column off the lines; a heading is not left alone at its foot."""
    if waiting and (heads := waiting[0].under):
        waiting.insert(0, heads)
    taken = waiting[:rows]
    if len(waiting) > rows:
        while len(taken) > 1 and (taken[-1].heading or taken[-1].keep):
            taken.pop()
    del waiting[: len(taken)]
    return taken


def _drawn(line: Line, left: float, base: float, width: float, em: float) -> Iterator[Shape]:
    starts = [start for _, start in line.cells]
    tone: Literal["ink", "faint"] = "faint" if line.faint else "ink"
    if line.colour is not None:
        yield from swatch(line.colour, left, base - em * 0.72, left + SWATCH, base)
    for place, ((words, start), end) in enumerate(zip(line.cells, [*starts[1:], 1.0][: len(starts)], strict=True)):
        if words:
            room = (end - start) * width - (1.0 if end < 1.0 else 0.0)
            bold = line.heading or (line.strong and place == 0)
            yield Text(shortened(words, room, em, bold), (left + start * width, base), em, bold=bold, tone=tone)
