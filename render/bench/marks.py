"""What the drawings of a loom share: words along a line, signs at the ends of legs, kept wires, openings of loops."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal

from ...checks.bench.blocks import Direction, Point, block
from ...checks.bench.frame import LaidCourse
from ...checks.bench.tree import Course, Leg
from ...lang.quantities.quantity import Quantity, shown
from ...lang.vocabulary.colours import Colour
from ..drawing import lettering
from ..drawing.colours import base_and_stripe
from ..drawing.primitives import Circle, Shape, Stroke, Text
from ..report.findings import counted
from .frame import EM, box
from .sheets import millimetres

SIGN: Final = 3.4
"""mm that the sign at the end of a leg takes."""
GREY: Final = "#8c8c8c"
"""Of kept wires: dashed as well, so that the shade alone does not tell them."""
WHITE: Final = "#ffffff"


def along_text(
    words: str,
    start: Point,
    way: Direction,
    *,
    bold: bool = False,
    faint: bool = False,
    middle: bool = False,
    line: float = 0.0,
) -> Text:
    """Words that begin (or have their ``middle``) at a point and run in a direction, never upside down.

    They are on the middle of their line; ``line`` em below it, as one reads.
    """
    degrees = math.degrees(math.atan2(-way[1], way[0]))
    turned = not -90.0 + 1e-6 < degrees <= 90.0 + 1e-6
    turn = round(degrees - math.copysign(180.0, degrees) if turned else degrees, 3) + 0.0
    down = EM * ((lettering.ASCENT - lettering.DESCENT) / 2 + line)
    sin, cos = math.sin(math.radians(turn)), math.cos(math.radians(turn))
    anchor: Literal["start", "middle", "end"] = "middle" if middle else "end" if turned else "start"
    tone: Literal["ink", "faint"] = "faint" if faint else "ink"
    return Text(words, (start[0] + down * sin, start[1] + down * cos), EM, bold, anchor, tone, turn)


def way_between(a: Point, b: Point) -> Direction:
    length = math.dist(a, b) or 1.0
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def off(point: Point, way: Direction, by: float, across: float = 0.0) -> Point:
    """A point ``by`` mm on in a direction, and ``across`` mm square to that."""
    return point[0] + way[0] * by - way[1] * across, point[1] + way[1] * by + way[0] * across


def thickness(course: Course) -> float:
    """mm across a bundle: in its sleeve where it has one, else pulled tight; 0 without a new wire of known size."""
    if course.new is None:
        return 0.0
    return course.new.loose if course.new.cover in ("braid", "tube") else course.new.tight


def across(course: Course) -> str:
    """The same in words; empty without one."""
    thick = thickness(course)
    return f"\u2300 {shown(Quantity(thick, 'mm'), 2)}" if thick else ""


def kept_line(each: LaidCourse, aside: float) -> Stroke:
    """The kept wires of a stretch, ``aside`` mm from its middle."""
    way = way_between(each.a, each.b)
    points = off(each.a, way, 0.0, aside), off(each.b, way, 0.0, aside)
    return Stroke(points, weight=0.5, dash="dashed", colour=GREY)


def opened_words(course: Course, place: str) -> str:
    """What both ends of an opened stretch say."""
    other = course.b if course.a == place else course.a
    count = len(course.new.pieces) if course.new is not None else len(course.kept)
    return f"opened: to {other}, {millimetres(course.length)}, {counted(count, 'wire')}"


def sign(of: Leg | Course, tip: Point, way: Direction) -> Iterator[Shape]:
    """What a leg ends in: an open box for a socket half, a filled one for pins, a bar for a ground, a ring else."""
    colour = GREY if isinstance(of, Leg) and of.kept else ""
    if isinstance(of, Course):
        yield Stroke((off(tip, way, 0.0, -1.2), off(tip, way, 0.8), off(tip, way, 0.0, 1.2)), weight=0.3)
    elif of.sort == "half":
        filled = of.name.endswith(" pin")
        corners = block(tip, way, 2.6, 0.9).corners
        yield Stroke(corners, weight=0.3, closed=True, colour=colour, fill=(colour or "#111111") if filled else WHITE)
    elif of.sort == "ground":
        yield Stroke((off(tip, way, 0.0, -1.3), off(tip, way, 0.0, 1.3)), weight=0.5, colour=colour)
        yield Stroke((off(tip, way, 0.8, -0.7), off(tip, way, 0.8, 0.7)), weight=0.4, colour=colour)
    else:
        yield Circle(off(tip, way, 0.9), 0.9, 0.3, colour=colour)


def swatch(colour: Colour | None, left: float, top: float, right: float, bottom: float) -> Iterator[Shape]:
    """A bit of wire in its colours: the stripe along the middle, an ink edge so that white shows."""
    if colour is not None:
        base, stripe = base_and_stripe(colour)
        yield box(left, top, right, bottom, weight=0.0, fill=base, colour=base)
        if stripe:
            third = (bottom - top) / 3
            yield box(left, top + third, right, bottom - third, weight=0.0, fill=stripe, colour=stripe)
    yield box(left, top, right, bottom, weight=0.25)
