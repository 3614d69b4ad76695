"""A bare symbol as data, and the strokes that all of them are drawn with."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from ....lang.records import dataclass
from ...drawing.primitives import Dash, Point, Shape, Stroke, Text, turned_over

Side = Literal["top", "bottom"]


@dataclass(frozen=True, slots=True)
class Glyph:
    """A bare symbol. ``left`` and ``right``: its reach from the axis; ``tops`` and ``bottoms``: its ends' x."""

    shapes: tuple[Shape, ...]
    left: float
    right: float
    height: float
    tops: tuple[float, ...] = (0.0,)
    bottoms: tuple[float, ...] = (0.0,)
    polar: bool = False
    """Whether it must be turned over where current reaches its lower end first."""


def upside_down(glyph: Glyph) -> Glyph:
    return replace(
        glyph,
        shapes=tuple(turned_over(shape, glyph.height) for shape in glyph.shapes),
        tops=glyph.bottoms,
        bottoms=glyph.tops,
    )


def rectangle(left: float, top: float, right: float, bottom: float, dash: Dash = "") -> Stroke:
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom)), closed=True, dash=dash)


def polyline(*points: Point, weight: float = 1.2, dash: Dash = "") -> Stroke:
    return Stroke(points, weight=weight, dash=dash)


def centred(words: str, y: float, size: float, bold: bool = True, x: float = 0.0) -> Text:
    """A text whose capitals are centred on height ``y``."""
    return Text(words, (x, y + size * 0.365), size, bold=bold, anchor="middle")


def arrow(start: Point, end: Point, head: float = 3.5) -> tuple[Shape, ...]:
    """A line with a filled head at ``end``."""
    (x1, y1), (x2, y2) = start, end
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    foot = (x2 - ux * head, y2 - uy * head)
    sides = tuple((foot[0] + s * -uy * head / 2.4, foot[1] + s * ux * head / 2.4) for s in (1, -1))
    return (polyline(start, foot), Stroke((end, *sides), closed=True, filled=True, weight=0.6))
