"""Bare symbols, drawn after the shapes that IEC 60617 describes in words.

A :class:`Glyph` is on a vertical axis: x is 0 on the axis, y runs from 0 (its upper end) down to its height. Where IEC
60617 has no symbol (flasher, regulator, control unit) a box with letters stands, as is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, pi, sin

from ...drawing.primitives import Arc, Circle, Keyed, Keys, Point, Shape, Stroke, moved
from .glyph import Glyph, Side, arrow, centred, polyline, rectangle, upside_down


def battery() -> Glyph:
    """Two cells of a battery, positive (long) plate on top (IEC 60617 6.15)."""
    return Glyph(
        (
            polyline((-11, 0), (11, 0)),
            polyline((-5, 5), (5, 5), weight=2.6),
            polyline((0, 7), (0, 15), dash="dotted"),
            polyline((-11, 16), (11, 16)),
            polyline((-5, 21), (5, 21), weight=2.6),
        ),
        11,
        11,
        21,
        polar=True,
    )


def fuse() -> Glyph:
    return Glyph((rectangle(-4, 0, 4, 24), polyline((0, 0), (0, 24))), 4, 4, 24)


def resistor() -> Glyph:
    return Glyph((rectangle(-4, 0, 4, 24),), 4, 4, 24)


def heater() -> Glyph:
    return Glyph((rectangle(-4, 0, 4, 24), *(polyline((-4, y), (4, y)) for y in (6, 12, 18))), 4, 4, 24)


def capacitor() -> Glyph:
    return Glyph((polyline((-9, 0), (9, 0), weight=1.8), polyline((-9, 6), (9, 6), weight=1.8)), 9, 9, 6)


def diode() -> Glyph:
    """Anode on top: current runs down, to the bar."""
    return Glyph((Stroke(((-7, 0), (7, 0), (0, 12)), closed=True), polyline((-7, 12), (7, 12))), 7, 7, 12, polar=True)


def led() -> Glyph:
    rays = (*arrow((8, 7), (15, 1), 3), *arrow((8, 13), (15, 7), 3))
    return Glyph((*diode().shapes, *rays), 7, 15, 12, polar=True)


def _cross(x: float, y: float, radius: float) -> tuple[Shape, ...]:
    d = radius * 0.7071
    return (polyline((x - d, y - d), (x + d, y + d)), polyline((x - d, y + d), (x + d, y - d)))


def lamp() -> Glyph:
    return Glyph((Circle((0, 9), 9), *_cross(0, 9, 9)), 9, 9, 18)


def two_lamps(shared: Side, left: Keys = (), right: Keys = ()) -> Glyph:
    """Two filaments in one bulb, with a common lead on the ``shared`` side; not in the standard, common practice.

    ``left`` and ``right`` are the keys of the two.
    """
    bulb = Stroke(_stadium(-22, 0, 22, 20), closed=True)

    def filament(x: float, keys: Keys) -> Keyed:
        return Keyed("element", keys, (Circle((x, 10), 6.5), *_cross(x, 10, 6.5)))

    glyph = Glyph(
        (
            bulb,
            filament(-13, left),
            filament(13, right),
            polyline((-13, 0), (-13, 3.5)),
            polyline((13, 0), (13, 3.5)),
            polyline((-13, 16.5), (-13, 24), (13, 24), (13, 16.5)),
            Circle((0, 24), 1.4, filled=True),
        ),
        22,
        22,
        24,
        (-13, 13),
        (0,),
    )
    return glyph if shared == "bottom" else upside_down(glyph)


def _stadium(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    """A rectangle with round ends, as points."""
    r, y = (bottom - top) / 2, (top + bottom) / 2
    turns = [i * pi / 12 for i in range(13)]
    east = tuple((round(right - r + r * sin(t), 3), round(y - r * cos(t), 3)) for t in turns)
    west = tuple((round(left + r - r * sin(t), 3), round(y + r * cos(t), 3)) for t in turns)
    return (*east, *west)


def machine(letter: str, kind: str = "") -> Glyph:
    """A rotating machine: ``G`` or ``M`` in a circle, with ``=`` or ``3~`` below it."""
    middle = 9.5 if kind else 13.0
    words = [centred(letter, middle, 11)]
    if kind:
        words.append(centred(kind, 19.5, 8.5, bold=False))
    return Glyph((Circle((0, 13), 13), *words), 13, 13, 26)


def phase_machine(phases: int) -> Glyph:
    """An alternator whose phases leave it at the top."""
    xs = (-18.0, 0.0, 18.0) if phases == 3 else (-10.0, 10.0)
    leads = []
    for x in xs:
        if x == 0:
            leads.append(polyline((0, 0), (0, 8)))
        else:
            touch = 11.0 if phases == 3 else 8.0
            leads.append(polyline((x, 0), (x, 5), (touch if x > 0 else -touch, 23 - (225 - touch**2) ** 0.5)))
    kind = f"{phases}~" if phases == 3 else "~"
    circle = (Circle((0, 23), 15), centred("G", 19, 11), centred(kind, 30, 8.5, bold=False))
    return Glyph((*circle, *leads), 18, 18, 38, tops=xs, bottoms=())


def machine_with_diodes(kind: str, positive: bool = True) -> Glyph:
    """An alternator with its diodes built in: direct current leaves at the top, or enters there."""
    foot, tip = (13.0, 5.0) if positive else (5.0, 13.0)
    return Glyph(
        (
            rectangle(-10, 0, 10, 18),
            Stroke(((-5.5, foot), (5.5, foot), (0, tip)), closed=True),
            polyline((-5.5, tip), (5.5, tip)),
            Circle((0, 31), 13),
            centred("G", 27.5, 11),
            centred(kind, 37.5, 8.5, bold=False),
        ),
        13,
        13,
        44,
    )


def rectifier(tops: int, bottoms: int, positive: bool = True) -> Glyph:
    """A rectifier as a box with a diode in it, phases and return below; direct current leaves at the top, or enters."""
    foot, tip = (22.0, 10.0) if positive else (10.0, 22.0)
    pitch = 18.0
    reach = max(tops, bottoms) * pitch / 2 + 2
    ups = tuple(pitch * (i - (tops - 1) / 2) for i in range(tops))
    downs = tuple(pitch * (i - (bottoms - 1) / 2) for i in range(bottoms))
    inside = (
        Stroke(((-7, foot), (7, foot), (0, tip)), closed=True),
        polyline((-7, tip), (7, tip)),
        polyline((0, 5), (0, 10)),
        polyline((0, 22), (0, 27)),
        centred("=", 8, 9, x=-reach + 8),
        centred("~", 26, 10, x=-reach + 8),
    )
    return Glyph((rectangle(-reach, 0, reach, 32), *inside), reach, reach, 32, ups, downs)


def winding() -> Glyph:
    arcs = tuple(Arc((0, 8 * i), (0, 8 * i + 8)) for i in range(3))
    return Glyph(arcs, 2, 5, 24)


def tapped_winding() -> Glyph:
    """A winding with a tap; the tap leaves at the top, to the right."""
    return Glyph(
        (*(Arc((0, 8 * i), (0, 8 * i + 8)) for i in range(4)), polyline((0, 16), (16, 16), (16, 0))),
        2,
        18,
        32,
        (0, 16),
        (0,),
    )


def coil() -> Glyph:
    """The coil of a relay; its leads are at the middles of the long sides."""
    return Glyph((rectangle(-12, 0, 12, 12),), 12, 12, 12)


def solenoid() -> Glyph:
    """A coil that moves something: a dashed link to the thing moved."""
    return Glyph(
        (rectangle(-12, 0, 12, 12), polyline((12, 6), (20, 6), dash="dashed"), polyline((20, 1), (20, 11))), 12, 20, 12
    )


def contact(rests: str, closed: Mapping[str, bool], now: str = "") -> Glyph:
    """A contact with a blade for each position, whether it is closed in it; that of ``now`` is seen, or of ``rests``.

    One that is open at rest makes: a blade beside a straight stub. One that is closed at rest breaks: its blade touches
    a stub that is bent aside.
    """
    breaks = closed.get(rests, False)
    stub = polyline((0, 0), (0, 4), (8, 4)) if breaks else polyline((0, 0), (0, 4))
    blades = []
    for position, shut in closed.items():
        tip = ((8.5, 2.0) if breaks else (0.0, 4.0)) if shut else (-9.0, 3.0)
        keys = (("position", position), ("closed", "yes" if shut else "no"))
        blades.append(Keyed("blade", keys, (polyline((0, 22), (0, 19), tip),), hidden=position != (now or rests)))
    return Glyph((stub, *blades), 9, 9 if breaks else 2, 22)


def horn() -> Glyph:
    return Glyph((rectangle(-4, 0, 4, 20), Stroke(((4, 5), (13, -1), (13, 21), (4, 15)), closed=True)), 4, 13, 20)


def meter(letter: str) -> Glyph:
    return Glyph((Circle((0, 11), 11), centred(letter, 11, 11)), 11, 11, 22)


def flasher() -> Glyph:
    """A box with the square wave that a flashing light has."""
    wave = polyline((-8, 13), (-4, 13), (-4, 6), (0, 6), (0, 13), (4, 13), (4, 6), (8, 6))
    return Glyph((rectangle(-12, 0, 12, 19), wave), 12, 12, 19)


def electronics() -> Glyph:
    """Something with electronics in it: a box with a transistor."""
    inside = (
        polyline((-5, 11), (-2, 11)),
        polyline((-2, 6), (-2, 16), weight=2),
        polyline((-2, 9), (5, 4)),
        *arrow((-2, 13), (5, 18), 3.5),
    )
    return Glyph((rectangle(-11, 0, 11, 22), *inside), 11, 11, 22)


def _spark_gap(x: float, top: float) -> tuple[Shape, ...]:
    """Two arrow heads point to point and the frame below: a sparking plug."""
    return (
        Stroke(((x - 2.5, top), (x + 2.5, top), (x, top + 5)), closed=True, filled=True, weight=0.6),
        Stroke(((x - 2.5, top + 12), (x + 2.5, top + 12), (x, top + 7)), closed=True, filled=True, weight=0.6),
        polyline((x, top + 12), (x, top + 15)),
        *(moved(shape, x, top + 15) for shape in frame_bar(5)),
    )


def ignition_coil() -> Glyph:
    """Primary, core and secondary; the high-tension lead ends in a spark gap against the frame."""
    primary = tuple(Arc((0, 2 + 8 * i), (0, 10 + 8 * i)) for i in range(3))
    secondary = tuple(Arc((15, 2 + 6 * i), (15, 8 + 6 * i), bulge="right") for i in range(4))
    return Glyph(
        (
            polyline((0, 0), (0, 2)),
            *primary,
            polyline((0, 26), (0, 50)),
            polyline((7.5, 2), (7.5, 26)),
            *secondary,
            polyline((0, 0), (15, 0), (15, 2)),
            polyline((15, 26), (15, 28)),
            *_spark_gap(15, 28),
        ),
        2,
        21,
        50,
    )


def ignition_box() -> Glyph:
    """An ignition that is a box: the spark as a bent arrow."""
    bolt = (polyline((1, 4), (-4, 12), (3, 11)), *arrow((3, 11), (-2, 19), 4))
    return Glyph((rectangle(-11, 0, 11, 23), *bolt), 11, 11, 23)


def frame_bar(half: float) -> tuple[Shape, ...]:
    return (
        polyline((-half, 0), (half, 0)),
        *(polyline((x, 0), (x - half / 2, half * 0.75)) for x in (-half, 0, half)),
    )


def frame() -> Glyph:
    """A body of metal used as a return: a bar with three slanted strokes."""
    return Glyph(frame_bar(8), 12, 8, 6, bottoms=())


def way(socket_above: bool) -> Glyph:
    """A pin in a socket. The cup is the socket, the filled bar the pin."""
    glyph = Glyph(
        (
            polyline((0, 0), (0, 3)),
            Arc((-5, 8), (5, 8)),
            Stroke(((-1.5, 6), (1.5, 6), (1.5, 14), (-1.5, 14)), closed=True, filled=True, weight=0.5),
            polyline((0, 14), (0, 17)),
        ),
        5,
        5,
        17,
    )
    return glyph if socket_above else upside_down(glyph)
