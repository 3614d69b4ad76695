"""The legend of a schematic: what lines and signs mean that are not symbols of parts."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.quantities.quantity import shown
from ..drawing import lettering
from ..drawing.primitives import Circle, Dash, Shape, Stroke, Text, extent, moved
from ..drawing.svg import MARKS, widths
from .symbols.drawn import Now
from .symbols.glyph import polyline, rectangle
from .symbols.glyphs import frame, way

THICK = (1.0, 4.0)
"""mm² above which a wire is drawn a step thicker (ours)."""
AT_REST = "Drawn at rest, ignition off."

_SIZE = 8.0
_LINE = 20.0
_BETWEEN = 16.0


def _wire(step: int) -> tuple[Shape, ...]:
    return (polyline((0, 0), (24, 0), weight=widths(step)[0]),)


def _signs(now: Now | None) -> Iterator[tuple[tuple[Shape, ...], str]]:
    """Each sign about the height 0, and what it means."""
    small, large = map(shown, THICK)
    yield _wire(0), f"wire to {small} mm²"
    yield _wire(1), f"to {large} mm²"
    yield _wire(2), f"over {large} mm²"
    edge = widths(0)[0]
    crossing = (
        polyline((0, 0), (8, 0), weight=edge),
        polyline((16, 0), (24, 0), weight=edge),
        polyline((12, -7), (12, 7), weight=edge),
    )
    yield crossing, "crossing, not joined"
    lanes = (
        polyline((2, -6), (11, -6), weight=2.8),
        polyline((4, -6), (4, 7), weight=edge),
        polyline((9, -6), (9, 7), weight=edge),
    )
    yield lanes, "wires on one terminal"
    yield (polyline((4, -7), (4, 7)), Circle((4, 0), 2.6, filled=True)), "splice"
    yield tuple(moved(shape, 6, -8) for shape in way(True).shapes), "plug: cup the socket, bar the pin"
    yield tuple(moved(shape, 12, -3) for shape in frame().shapes), "metal of the motorcycle"
    flag = (rectangle(0, -6, 20, 6), Text("→", (6, 3), _SIZE))
    yield flag, "goes on at the terminal named, with the current"
    cross = (polyline((0, -3), (6, 3), weight=1.5), polyline((0, 3), (6, -3), weight=1.5))
    yield cross, "contact closed in this position"
    if now and now.marks:
        for mark, (colour, dashes) in MARKS.items():
            dash: Dash = "" if not dashes else "dashed" if mark == "removed" else "dotted"
            yield (polyline((0, 0), (24, 0), weight=edge), Stroke(((0, 6), (24, 6)), 2.0, dash, colour=colour)), mark
    if now and now.active is not None:
        broken = (polyline((0, 0), (24, 0), weight=1.6, dash="dashed"),)
        yield broken, "pale and broken: no feed, no current"


def legend(left: float, top: float, right: float, now: Now | None = None) -> tuple[list[Shape], float]:
    """The legend in lines as wide as there is room; and where it ends. ``now`` is the moment drawn, if one is."""
    first = now.says if now else AT_REST
    x, y = left, top + _LINE / 2
    shapes: list[Shape] = [Text(first, (x, y + 3), _SIZE, bold=True)]
    x += lettering.width(first, _SIZE, True) + _BETWEEN
    for sign, words in _signs(now):
        reach = extent(sign).right + 5
        wide = reach + lettering.width(words, _SIZE)
        if x > left and x + wide > right:
            x, y = left, y + _LINE
        shapes += [moved(shape, x, y) for shape in sign]
        shapes.append(Text(words, (x + reach, y + 3), _SIZE))
        x += wide + _BETWEEN
    return shapes, y + _LINE / 2
