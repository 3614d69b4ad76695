"""A drawing as data: what is drawn where, before it becomes SVG. Pixels of 1/96 inch on a schematic, mm on a leaf for
the bench; y runs down.

Tests judge pictures here: what overlaps, what leaves the sheet, which wire runs where.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Literal

from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour
from . import lettering

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rect:
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    def moved(self, dx: float, dy: float) -> Rect:
        return Rect(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def overlaps(self, other: Rect, by: float = 0.0) -> bool:
        """Whether the two share an area more than ``by`` pixels wide and high."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by
            and min(self.bottom, other.bottom) - max(self.top, other.top) > by
        )

    def contains(self, other: Rect) -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )


Dash = Literal["", "dashed", "dash-dot", "dotted"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through ``points``; ``closed`` joins the last to the first, ``filled`` fills it with ink.

    ``colour`` (``#rrggbb``) is that of the line where it is not ink, ``fill`` that of what a closed one encloses.
    """

    points: tuple[Point, ...]
    weight: float = 1.2
    dash: Dash = ""
    closed: bool = False
    filled: bool = False
    colour: str = ""
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    """``colour`` (``#rrggbb``) is that of its line where it is not ink."""

    centre: Point
    radius: float
    weight: float = 1.2
    filled: bool = False
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """Half a circle from ``start`` to ``end``, bulging to the left hand as one goes there, or to the right."""

    start: Point
    end: Point
    bulge: Literal["left", "right"] = "left"
    weight: float = 1.2


Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; ``at`` is on its base line. ``tone`` is ``ink``, or ``faint`` for what matters less.

    ``turn`` are degrees that it is turned about ``at``, against the clock.
    """

    words: str
    at: Point
    size: float = 8.0
    bold: bool = False
    anchor: Anchor = "start"
    tone: Literal["ink", "faint"] = "ink"
    turn: float = 0.0

    @property
    def width(self) -> float:
        return lettering.width(self.words, self.size, self.bold)

    @property
    def box(self) -> Rect:
        xs, ys = zip(*self.corners, strict=True)
        return Rect(min(xs), min(ys), max(xs), max(ys))

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Of the box that turns with it, round about."""
        x, y = self.at
        left = -{"start": 0.0, "middle": self.width / 2, "end": self.width}[self.anchor]
        right, top, bottom = left + self.width, -self.size * lettering.ASCENT, self.size * lettering.DESCENT
        if not self.turn:
            return (x + left, y + top), (x + right, y + top), (x + right, y + bottom), (x + left, y + bottom)
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))

        def turned(across: float, down: float) -> Point:
            return x + across * cos + down * sin, y - across * sin + down * cos

        return turned(left, top), turned(right, top), turned(right, bottom), turned(left, bottom)


Keys = tuple[tuple[str, str], ...]
"""What a group or an element of a drawing stands for: names and values of ``data-`` attributes."""


@dataclass(frozen=True, slots=True)
class Keyed:
    """Shapes that stand for one thing, so that whoever shows the drawing can find them: ``what`` is the class of the
    group. A ``hidden`` one is there to be shown later, such as the blade of a contact in another position.
    """

    what: Literal["element", "contact", "blade"]
    keys: Keys
    shapes: tuple[Shape, ...]
    hidden: bool = False


Shape = Stroke | Circle | Arc | Text | Keyed


def plain(shapes: Iterable[Shape]) -> Iterator[Stroke | Circle | Arc | Text]:
    """The shapes that are seen, those in groups too."""
    for shape in shapes:
        if not isinstance(shape, Keyed):
            yield shape
        elif not shape.hidden:
            yield from plain(shape.shapes)


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The same shape elsewhere."""
    match shape:
        case Stroke():
            return replace(shape, points=tuple((x + dx, y + dy) for x, y in shape.points))
        case Circle():
            return replace(shape, centre=(shape.centre[0] + dx, shape.centre[1] + dy))
        case Arc():
            return replace(
                shape,
                start=(shape.start[0] + dx, shape.start[1] + dy),
                end=(shape.end[0] + dx, shape.end[1] + dy),
            )
        case Text():
            return replace(shape, at=(shape.at[0] + dx, shape.at[1] + dy))
        case Keyed():
            return replace(shape, shapes=tuple(moved(each, dx, dy) for each in shape.shapes))


def scaled(shape: Shape, by: float, dx: float, dy: float) -> Shape:
    """The same shape in a unit of which one is ``by`` of the old, and moved by so much of the new."""

    def at(point: Point) -> Point:
        return point[0] * by + dx, point[1] * by + dy

    match shape:
        case Stroke():
            return replace(shape, points=tuple(map(at, shape.points)), weight=shape.weight * by)
        case Circle():
            return replace(shape, centre=at(shape.centre), radius=shape.radius * by, weight=shape.weight * by)
        case Arc():
            return replace(shape, start=at(shape.start), end=at(shape.end), weight=shape.weight * by)
        case Text():
            return replace(shape, at=at(shape.at), size=shape.size * by)
        case Keyed():
            return replace(shape, shapes=tuple(scaled(each, by, dx, dy) for each in shape.shapes))


def turned_over(shape: Shape, height: float) -> Shape:
    """The same shape upside down within ``height``; texts stay readable, at the mirrored place."""
    match shape:
        case Stroke():
            return replace(shape, points=tuple((x, height - y) for x, y in shape.points))
        case Circle():
            return replace(shape, centre=(shape.centre[0], height - shape.centre[1]))
        case Arc():
            return replace(
                shape,
                start=(shape.start[0], height - shape.start[1]),
                end=(shape.end[0], height - shape.end[1]),
                bulge="left" if shape.bulge == "right" else "right",
            )
        case Text():
            x, y = shape.at
            return replace(shape, at=(x, height - y + shape.size * (lettering.ASCENT - lettering.DESCENT)))
        case Keyed():
            return replace(shape, shapes=tuple(turned_over(each, height) for each in shape.shapes))


def extent(shapes: Iterable[Shape]) -> Rect:
    """The smallest box around shapes, line widths left out."""
    boxes = []
    for shape in shapes:
        match shape:
            case Stroke():
                xs, ys = zip(*shape.points, strict=True)
                boxes.append(Rect(min(xs), min(ys), max(xs), max(ys)))
            case Circle():
                (x, y), r = shape.centre, shape.radius
                boxes.append(Rect(x - r, y - r, x + r, y + r))
            case Arc():
                (x1, y1), (x2, y2) = shape.start, shape.end
                r = max(abs(x2 - x1), abs(y2 - y1)) / 2
                x, y = (x1 + x2) / 2, (y1 + y2) / 2
                boxes.append(Rect(x - r, y - r, x + r, y + r))
            case Text():
                boxes.append(shape.box)
            case Keyed():
                boxes.append(extent(shape.shapes))
    return Rect(
        min(b.left for b in boxes), min(b.top for b in boxes), max(b.right for b in boxes), max(b.bottom for b in boxes)
    )


Mark = Literal["", "added", "removed", "changed"]
"""How something differs from another harness that a drawing is held against."""


@dataclass(frozen=True, slots=True)
class Element:
    """A symbol on the sheet. ``key`` is unique; ``ports`` are where its terminals leave it, by node (``KEY.30``).

    ``part`` is the part of the harness that it belongs to; ``""`` for what only says where a wire goes.
    """

    key: str
    part: str
    symbol: str
    about: str
    box: Rect
    ports: tuple[tuple[str, Point], ...]
    shapes: tuple[Shape, ...]
    track: int = 0
    mark: Mark = ""

    @property
    def texts(self) -> tuple[Text, ...]:
        return tuple(shape for shape in plain(self.shapes) if isinstance(shape, Text))


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of wire. ``lines`` is its course in its own colour: one line, from terminal to terminal.

    ``keys``: its wire, its branch and the nodes at its ends. ``step`` is how thick it is drawn, 0 to 2. ``over`` are
    short lines at the places at which it passes over runs that come before it. A
    ``quiet`` one is dead: dashed and pale.
    """

    name: str
    about: str
    colour: Colour | None
    lines: tuple[tuple[Point, ...], ...]
    texts: tuple[Text, ...]
    keys: Keys = ()
    step: int = 0
    over: tuple[tuple[Point, Point], ...] = ()
    quiet: bool = False
    mark: Mark = ""


@dataclass(frozen=True, slots=True)
class Joint:
    """What is metal and no wire: a mount or the lead to a bar as thin lines, and the ``bar`` on which several wires
    end. A ``quiet`` one is dead: dashed and pale.
    """

    node: str
    lines: tuple[tuple[Point, ...], ...]
    bar: tuple[Point, Point] | None = None
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Track:
    number: int
    x: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """A sheet. ``frame`` holds the border, the numbers along the foot, the index and the title block."""

    width: float
    height: float
    title: str
    sheet: str
    about: str
    elements: tuple[Element, ...]
    runs: tuple[Run, ...]
    joints: tuple[Joint, ...]
    tracks: tuple[Track, ...]
    frame: tuple[Shape, ...]

    @property
    def texts(self) -> tuple[Text, ...]:
        """Every text on the sheet."""
        found = [text for element in self.elements for text in element.texts]
        found += [text for run in self.runs for text in run.texts]
        return (*found, *(shape for shape in self.frame if isinstance(shape, Text)))
