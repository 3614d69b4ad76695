"""Circuit symbols, drawn after the shapes that IEC 60617 describes in words, and the frames that hold several of them.

A :class:`Glyph` is a bare symbol on a vertical axis: x is 0 on the axis, y runs from 0 (its upper end) down to its
height. A :class:`Symbol` is one or more glyphs with leads, terminal names, outline and lettering, ready to be placed.
Where IEC 60617 has no symbol (flasher, regulator, control unit) a box with letters stands, as is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import ceil, cos, pi, sin
from typing import Literal

from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.primitives import Arc, Circle, Dash, Point, Shape, Stroke, Text, extent, moved, turned_over

NAME_SIZE = 9.0
INFO_SIZE = 8.0
PIN_SIZE = 7.0
LINE = 10.0
"""Height of one line of lettering."""
PIN_ZONE = 10.0
"""Length of the lead beside which a terminal's name stands."""
BAR_PITCH = 7.0
EDGE = 4.0
"""Air on each side of a symbol."""
LOGIC = 220.0
"""As wide as a box becomes for what it decides."""
LEFT = 7.0
"""What single lines (wires, splices, ways) keep free to the left of them, all alike, so that they line up."""
ROW = 9.5
"""Height of a row of a contact table."""

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


def _rectangle(left: float, top: float, right: float, bottom: float, dash: Dash = "") -> Stroke:
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom)), closed=True, dash=dash)


def _line(*points: Point, weight: float = 1.2, dash: Dash = "") -> Stroke:
    return Stroke(points, weight=weight, dash=dash)


def _centred(words: str, y: float, size: float, bold: bool = True, x: float = 0.0) -> Text:
    """A text whose capitals are centred on height ``y``."""
    return Text(words, (x, y + size * 0.365), size, bold=bold, anchor="middle")


def _arrow(start: Point, end: Point, head: float = 3.5) -> tuple[Shape, ...]:
    """A line with a filled head at ``end``."""
    (x1, y1), (x2, y2) = start, end
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    foot = (x2 - ux * head, y2 - uy * head)
    sides = tuple((foot[0] + s * -uy * head / 2.4, foot[1] + s * ux * head / 2.4) for s in (1, -1))
    return (_line(start, foot), Stroke((end, *sides), closed=True, filled=True, weight=0.6))


# --- bare symbols ----------------------------------------------------------------------------------------------------
def battery() -> Glyph:
    """Two cells of a battery, positive (long) plate on top (IEC 60617 6.15)."""
    return Glyph(
        (
            _line((-11, 0), (11, 0)),
            _line((-5, 5), (5, 5), weight=2.6),
            _line((0, 7), (0, 15), dash="dotted"),
            _line((-11, 16), (11, 16)),
            _line((-5, 21), (5, 21), weight=2.6),
        ),
        11,
        11,
        21,
        polar=True,
    )


def fuse() -> Glyph:
    return Glyph((_rectangle(-4, 0, 4, 24), _line((0, 0), (0, 24))), 4, 4, 24)


def resistor() -> Glyph:
    return Glyph((_rectangle(-4, 0, 4, 24),), 4, 4, 24)


def heater() -> Glyph:
    return Glyph((_rectangle(-4, 0, 4, 24), *(_line((-4, y), (4, y)) for y in (6, 12, 18))), 4, 4, 24)


def sensor() -> Glyph:
    """A resistance that something else than current changes: a resistor with an arrow across it."""
    return Glyph((_rectangle(-4, 0, 4, 24), *_arrow((-10, 20), (10, 4), 4)), 10, 10, 24)


def capacitor() -> Glyph:
    return Glyph((_line((-9, 0), (9, 0), weight=1.8), _line((-9, 6), (9, 6), weight=1.8)), 9, 9, 6)


def diode() -> Glyph:
    """Anode on top: current runs down, to the bar."""
    return Glyph((Stroke(((-7, 0), (7, 0), (0, 12)), closed=True), _line((-7, 12), (7, 12))), 7, 7, 12, polar=True)


def led() -> Glyph:
    rays = (*_arrow((8, 7), (15, 1), 3), *_arrow((8, 13), (15, 7), 3))
    return Glyph((*diode().shapes, *rays), 7, 15, 12, polar=True)


def _cross(x: float, y: float, radius: float) -> tuple[Shape, ...]:
    d = radius * 0.7071
    return (_line((x - d, y - d), (x + d, y + d)), _line((x - d, y + d), (x + d, y - d)))


def lamp() -> Glyph:
    return Glyph((Circle((0, 9), 9), *_cross(0, 9, 9)), 9, 9, 18)


def two_lamps(shared: Side) -> Glyph:
    """Two filaments in one bulb, with a common lead on the ``shared`` side; not in the standard, common practice."""
    bulb = Stroke(_stadium(-22, 0, 22, 20), closed=True)
    glyph = Glyph(
        (
            bulb,
            Circle((-13, 10), 6.5),
            Circle((13, 10), 6.5),
            *_cross(-13, 10, 6.5),
            *_cross(13, 10, 6.5),
            _line((-13, 0), (-13, 3.5)),
            _line((13, 0), (13, 3.5)),
            _line((-13, 16.5), (-13, 24), (13, 24), (13, 16.5)),
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
    words = [_centred(letter, middle, 11)]
    if kind:
        words.append(_centred(kind, 19.5, 8.5, bold=False))
    return Glyph((Circle((0, 13), 13), *words), 13, 13, 26)


def phase_machine(phases: int) -> Glyph:
    """An alternator whose phases leave it at the top."""
    xs = (-18.0, 0.0, 18.0) if phases == 3 else (-10.0, 10.0)
    leads = []
    for x in xs:
        if x == 0:
            leads.append(_line((0, 0), (0, 8)))
        else:
            touch = 11.0 if phases == 3 else 8.0
            leads.append(_line((x, 0), (x, 5), (touch if x > 0 else -touch, 23 - (225 - touch**2) ** 0.5)))
    kind = f"{phases}~" if phases == 3 else "~"
    circle = (Circle((0, 23), 15), _centred("G", 19, 11), _centred(kind, 30, 8.5, bold=False))
    return Glyph((*circle, *leads), 18, 18, 38, tops=xs, bottoms=())


def machine_with_diodes(kind: str, positive: bool = True) -> Glyph:
    """An alternator with its diodes built in: direct current leaves at the top, or enters there."""
    foot, tip = (13.0, 5.0) if positive else (5.0, 13.0)
    return Glyph(
        (
            _rectangle(-10, 0, 10, 18),
            Stroke(((-5.5, foot), (5.5, foot), (0, tip)), closed=True),
            _line((-5.5, tip), (5.5, tip)),
            Circle((0, 31), 13),
            _centred("G", 27.5, 11),
            _centred(kind, 37.5, 8.5, bold=False),
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
        _line((-7, tip), (7, tip)),
        _line((0, 5), (0, 10)),
        _line((0, 22), (0, 27)),
        _centred("=", 8, 9, x=-reach + 8),
        _centred("~", 26, 10, x=-reach + 8),
    )
    return Glyph((_rectangle(-reach, 0, reach, 32), *inside), reach, reach, 32, ups, downs)


def winding() -> Glyph:
    arcs = tuple(Arc((0, 8 * i), (0, 8 * i + 8)) for i in range(3))
    return Glyph(arcs, 2, 5, 24)


def tapped_winding() -> Glyph:
    """A winding with a tap; the tap leaves at the top, to the right."""
    return Glyph(
        (*(Arc((0, 8 * i), (0, 8 * i + 8)) for i in range(4)), _line((0, 16), (16, 16), (16, 0))),
        2,
        18,
        32,
        (0, 16),
        (0,),
    )


def coil() -> Glyph:
    """The coil of a relay; its leads are at the middles of the long sides."""
    return Glyph((_rectangle(-12, 0, 12, 12),), 12, 12, 12)


def solenoid() -> Glyph:
    """A coil that moves something: a dashed link to the thing moved."""
    return Glyph(
        (_rectangle(-12, 0, 12, 12), _line((12, 6), (20, 6), dash="dashed"), _line((20, 1), (20, 11))), 12, 20, 12
    )


def make_contact() -> Glyph:
    """A contact that is open at rest."""
    return Glyph((_line((0, 0), (0, 4)), _line((0, 22), (0, 19), (-9, 3))), 9, 2, 22)


def break_contact() -> Glyph:
    """A contact that is closed at rest: the blade touches a stub."""
    return Glyph((_line((0, 0), (0, 4), (8, 4)), _line((0, 22), (0, 19), (8.5, 2))), 2, 9, 22)


def horn() -> Glyph:
    return Glyph((_rectangle(-4, 0, 4, 20), Stroke(((4, 5), (13, -1), (13, 21), (4, 15)), closed=True)), 4, 13, 20)


def meter(letter: str) -> Glyph:
    return Glyph((Circle((0, 11), 11), _centred(letter, 11, 11)), 11, 11, 22)


def flasher() -> Glyph:
    """A box with the square wave that a flashing light has."""
    wave = _line((-8, 13), (-4, 13), (-4, 6), (0, 6), (0, 13), (4, 13), (4, 6), (8, 6))
    return Glyph((_rectangle(-12, 0, 12, 19), wave), 12, 12, 19)


def electronics() -> Glyph:
    """Something with electronics in it: a box with a transistor."""
    inside = (
        _line((-5, 11), (-2, 11)),
        _line((-2, 6), (-2, 16), weight=2),
        _line((-2, 9), (5, 4)),
        *_arrow((-2, 13), (5, 18), 3.5),
    )
    return Glyph((_rectangle(-11, 0, 11, 22), *inside), 11, 11, 22)


def _spark_gap(x: float, top: float) -> tuple[Shape, ...]:
    """Two arrow heads point to point and the frame below: a sparking plug."""
    return (
        Stroke(((x - 2.5, top), (x + 2.5, top), (x, top + 5)), closed=True, filled=True, weight=0.6),
        Stroke(((x - 2.5, top + 12), (x + 2.5, top + 12), (x, top + 7)), closed=True, filled=True, weight=0.6),
        _line((x, top + 12), (x, top + 15)),
        *(moved(shape, x, top + 15) for shape in _frame_bar(5)),
    )


def ignition_coil() -> Glyph:
    """Primary, core and secondary; the high-tension lead ends in a spark gap against the frame."""
    primary = tuple(Arc((0, 2 + 8 * i), (0, 10 + 8 * i)) for i in range(3))
    secondary = tuple(Arc((15, 2 + 6 * i), (15, 8 + 6 * i), bulge="right") for i in range(4))
    return Glyph(
        (
            _line((0, 0), (0, 2)),
            *primary,
            _line((0, 26), (0, 50)),
            _line((7.5, 2), (7.5, 26)),
            *secondary,
            _line((0, 0), (15, 0), (15, 2)),
            _line((15, 26), (15, 28)),
            *_spark_gap(15, 28),
        ),
        2,
        21,
        50,
    )


def ignition_box() -> Glyph:
    """An ignition that is a box: the spark as a bent arrow."""
    bolt = (_line((1, 4), (-4, 12), (3, 11)), *_arrow((3, 11), (-2, 19), 4))
    return Glyph((_rectangle(-11, 0, 11, 23), *bolt), 11, 11, 23)


def _frame_bar(half: float) -> tuple[Shape, ...]:
    return (
        _line((-half, 0), (half, 0)),
        *(_line((x, 0), (x - half / 2, half * 0.75)) for x in (-half, 0, half)),
    )


def frame() -> Glyph:
    """A body of metal used as a return: a bar with three slanted strokes."""
    return Glyph(_frame_bar(8), 12, 8, 6, bottoms=())


def way(socket_above: bool) -> Glyph:
    """A pin in a socket. The cup is the socket, the filled bar the pin."""
    glyph = Glyph(
        (
            _line((0, 0), (0, 3)),
            Arc((-5, 8), (5, 8)),
            Stroke(((-1.5, 6), (1.5, 6), (1.5, 14), (-1.5, 14)), closed=True, filled=True, weight=0.5),
            _line((0, 14), (0, 17)),
        ),
        5,
        5,
        17,
    )
    return glyph if socket_above else upside_down(glyph)


# --- what works a switch ---------------------------------------------------------------------------------------------
Actuator = Literal["hand", "push", "key", "pedal", "lever", "pressure", "heat", "cam", "coil", ""]


def actuator(how: Actuator, y: float, right: float) -> tuple[tuple[Shape, ...], float]:
    """What works a contact, and the dashed link that ends at ``right``; and how far left of ``right`` it reaches."""
    link = _line((right - 12, y), (right, y), dash="dashed", weight=1.0)
    x = right - 12
    match how:
        case "hand":
            shapes: tuple[Shape, ...] = (link, _line((x, y - 5), (x, y + 5)))
            reach = 14.0
        case "push":
            shapes = (link, _line((x + 4, y - 5), (x, y - 5), (x, y + 5), (x + 4, y + 5)))
            reach = 14.0
        case "key":
            shapes = (
                link,
                Circle((x - 4, y), 4),
                _line((x, y), (x + 9, y), weight=1.6),
                _line((x + 5, y), (x + 5, y + 4)),
                _line((x + 8, y), (x + 8, y + 4)),
            )
            reach = 22.0
        case "pedal":
            shapes = (link, _line((x + 2, y - 6), (x - 4, y + 6), (x - 8, y + 6)))
            reach = 22.0
        case "lever":
            shapes = (link, _line((x, y), (x - 6, y - 5)), Circle((x - 7.5, y - 6.3), 2))
            reach = 23.0
        case "cam":
            shapes = (link, Circle((x - 4, y), 4))
            reach = 21.0
        case "pressure" | "heat":
            letter = "p" if how == "pressure" else "ϑ"
            box = _rectangle(x - 10, y - 5, x, y + 5)
            shapes = (link, box, _centred(letter, y + 1, 8, bold=False, x=x - 5))
            reach = 24.0
        case _:
            return (), 0.0
    return shapes, reach


# --- symbols ready to be placed --------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Port:
    terminal: str
    side: Side
    x: float


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol in a box of its own: x up to ``width``, y up to ``height``; ports on its upper and lower edge."""

    kind: str
    width: float
    height: float
    shapes: tuple[Shape, ...]
    ports: tuple[Port, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A glyph between terminals: the upper ends' names and the lower ones', as many as the glyph has."""

    glyph: Glyph
    tops: tuple[str, ...]
    bottoms: tuple[str, ...]
    caption: tuple[str, ...] = ()


_PLAIN = Glyph((_line((0, 0), (0, 10)),), 1, 1, 10)


@dataclass(frozen=True, slots=True)
class _Hook:
    terminal: str
    x: float
    upper: bool


def columns(
    kind: str,
    name: str,
    lines: Sequence[str],
    body: Sequence[Column],
    *,
    sides: Mapping[str, Side],
    outline: Dash | None = None,
    worked: Actuator = "",
    rows: Sequence[tuple[str, frozenset[int]]] = (),
) -> Symbol:
    """Glyphs side by side between terminals, with their lettering.

    ``sides`` says on which edge each terminal leaves. ``outline`` is a line around all (``""``: solid); ``None``: no
    outline. ``rows`` is a contact table: a position's name, and which columns are closed in it.
    """
    body = list(body)
    upper_hooks = {t for column in body for t in column.tops}
    lower_hooks = {t for column in body for t in column.bottoms}
    for terminal, side in sides.items():  # a terminal that is needed on the other side too is led through
        if (side == "top" and terminal in lower_hooks) or (side == "bottom" and terminal in upper_hooks):
            body.append(Column(_PLAIN, (terminal,), (terminal,)))

    rows_width = max((lettering.width(title, PIN_SIZE) for title, _ in rows), default=0.0)
    reach = actuator(worked, 0, 0)[1]
    pad = 5.0 if outline is not None else 0.0
    x = EDGE + pad + max(reach, rows_width + 5 if rows else 0.0)
    axes = []
    for column in body:
        pin_reach = max(
            (
                hook + 3 + lettering.width(t, PIN_SIZE)
                for ends, xs in ((column.tops, column.glyph.tops), (column.bottoms, column.glyph.bottoms))
                for t, hook in zip(ends, xs, strict=True)
            ),
            default=0.0,
        )
        caption = max((lettering.width(words, PIN_SIZE) for words in column.caption), default=0.0)
        axes.append(float(ceil(x + column.glyph.left)))  # ports stand on whole pixels, as the engines want them
        right = max(column.glyph.right + (3 + caption if caption else 0), pin_reach, 9.0 if rows else 0.0)
        x = axes[-1] + right + 4
    inner_right = x - 4 + pad

    hooks = [
        _Hook(t, axis + dx, True)
        for axis, column in zip(axes, body, strict=True)
        for t, dx in zip(column.tops, column.glyph.tops, strict=True)
    ] + [
        _Hook(t, axis + dx, False)
        for axis, column in zip(axes, body, strict=True)
        for t, dx in zip(column.bottoms, column.glyph.bottoms, strict=True)
    ]
    ports = []
    for terminal, side in sides.items():
        own = [hook.x for hook in hooks if hook.terminal == terminal and hook.upper == (side == "top")]
        if own:
            ports.append(Port(terminal, side, own[(len(own) - 1) // 2]))

    text_lines = [Text(name, (0, 0), NAME_SIZE, bold=True)] if name else []
    text_lines += [Text(words, (0, 0), INFO_SIZE) for words in lines]
    text_height = LINE * len(text_lines)
    middle = max([column.glyph.height for column in body] + [text_height - 2 * PIN_ZONE])
    above = _bars(hooks, upper=True)
    below = _bars(hooks, upper=False)
    top_zone = PIN_ZONE + BAR_PITCH * (1 + max(above.values())) if above else PIN_ZONE
    table = ROW * len(rows)
    bottom_zone = PIN_ZONE + BAR_PITCH * (1 + max(below.values())) if below else PIN_ZONE
    if outline is not None:
        top_zone += 4
        bottom_zone += 4
    height = top_zone + middle + table + bottom_zone
    glyph_middle = top_zone + middle / 2

    shapes: list[Shape] = []
    for axis, column in zip(axes, body, strict=True):
        glyph = column.glyph
        lift = glyph_middle - glyph.height / 2
        if glyph is _PLAIN:
            continue
        shapes.extend(moved(shape, axis, lift) for shape in glyph.shapes)
        for row, words in enumerate(column.caption):
            y = glyph_middle + PIN_SIZE * 0.36 + (row - (len(column.caption) - 1) / 2) * (PIN_SIZE + 1.5)
            shapes.append(Text(words, (axis + glyph.right + 3, y), PIN_SIZE))
    shapes.extend(_leads(body, axes, hooks, ports, above, below, top_zone, middle, table, height))
    if rows:
        shapes.extend(_contact_table(rows, axes, top_zone + middle, EDGE + pad, inner_right - pad))
    if worked:
        blade = axes[0] - (5 if body[0].glyph.left > 4 else -3)
        drawn, _ = actuator(worked, glyph_middle, blade)
        shapes.extend(drawn)
        last = axes[len(body) - 1 - sum(1 for c in body if c.glyph is _PLAIN)]
        if last > axes[0]:
            shapes.append(_line((blade, glyph_middle), (last - 3, glyph_middle), dash="dashed", weight=1.0))
    if outline is not None:
        shapes.append(_rectangle(EDGE, PIN_ZONE, inner_right, height - PIN_ZONE, outline))
    text_x = inner_right + 4
    first = max(glyph_middle - text_height / 2, 0) + LINE * 0.78
    for index, text in enumerate(text_lines):
        shapes.append(replace(text, at=(text_x, first + LINE * index)))
    text_right = text_x + max((text.width for text in text_lines), default=0.0)
    return Symbol(kind, text_right + EDGE, max(height, text_height), tuple(shapes), tuple(ports))


def _bars(hooks: Sequence[_Hook], *, upper: bool) -> dict[str, int]:
    """The level of the bar that joins the glyphs of one terminal, for those that need one; 0 is next to the glyphs."""
    spans: dict[str, tuple[float, float]] = {}
    for terminal in dict.fromkeys(hook.terminal for hook in hooks):
        xs = [hook.x for hook in hooks if hook.terminal == terminal and hook.upper == upper]
        if len(xs) > 1:
            spans[terminal] = (min(xs), max(xs))
    levels: dict[str, int] = {}
    for terminal, (left, right) in sorted(spans.items(), key=lambda item: (item[1][1] - item[1][0], item[0])):
        taken = {
            level for other, level in levels.items() if spans[other][0] <= right + 2 and left - 2 <= spans[other][1]
        }
        levels[terminal] = next(level for level in range(len(spans)) if level not in taken)
    return levels


def _leads(
    body: Sequence[Column],
    axes: Sequence[float],
    hooks: Sequence[_Hook],
    ports: Sequence[Port],
    above: Mapping[str, int],
    below: Mapping[str, int],
    top_zone: float,
    middle: float,
    table: float,
    height: float,
) -> Iterable[Shape]:
    """The thin lines inside: from the ports to the bars, from the bars to the glyphs; and the terminals' names."""
    heights = {}
    for axis, column in zip(axes, body, strict=True):
        glyph = column.glyph
        lift = 0.0 if glyph is _PLAIN else (middle - glyph.height) / 2
        for dx in glyph.tops:
            heights[axis + dx, True] = top_zone + lift
        for dx in glyph.bottoms:
            heights[axis + dx, False] = top_zone + middle - lift
        if glyph is _PLAIN:
            yield _line((axis, top_zone), (axis, top_zone + middle))
    foot = top_zone + middle + table
    by_side = {port.terminal: port for port in ports}
    for hook in hooks:
        levels = above if hook.upper else below
        port = by_side.get(hook.terminal)
        own_side = port is not None and (port.side == "top") == hook.upper
        start = heights[hook.x, hook.upper]
        if hook.terminal in levels:
            level = levels[hook.terminal]
            bar = top_zone - 3 - BAR_PITCH * level if hook.upper else foot + 3 + BAR_PITCH * level
            yield _line((hook.x, start), (hook.x, bar))
        elif own_side:
            yield _line((hook.x, start), (hook.x, 0.0 if hook.upper else height))
    for levels, upper in ((above, True), (below, False)):
        for terminal, level in levels.items():
            xs = sorted(hook.x for hook in hooks if hook.terminal == terminal and hook.upper == upper)
            bar = top_zone - 3 - BAR_PITCH * level if upper else foot + 3 + BAR_PITCH * level
            yield _line((xs[0], bar), (xs[-1], bar))
            port = by_side.get(terminal)
            led_out = port is not None and (port.side == "top") == upper
            if port is not None and led_out:
                yield _line((port.x, bar), (port.x, 0.0 if upper else height))
            for x in xs:
                at_port = led_out and port is not None and x == port.x
                if xs[0] < x < xs[-1] or (led_out and port is not None and at_port):
                    yield Circle((x, bar), 1.6, filled=True)
    for port in ports:
        y = 7.5 if port.side == "top" else height - 2.5
        yield Text(port.terminal, (port.x + 3, y), PIN_SIZE, tone="faint")


def _contact_table(
    rows: Sequence[tuple[str, frozenset[int]]], axes: Sequence[float], top: float, left: float, right: float
) -> Iterable[Shape]:
    """Which contact is closed in which position: a row a position, a cross beside each contact that is closed."""
    for index, (title, closed) in enumerate(rows):
        y = top + ROW * (index + 0.5)
        yield Text(title, (left, y + PIN_SIZE * 0.33), PIN_SIZE)
        edge = left + lettering.width(title, PIN_SIZE) + 2
        yield _line((edge, y), (right, y), weight=0.5, dash="dotted")
        for column in sorted(closed):
            x = axes[column]
            yield _line((x - 3, y - 3), (x + 3, y + 3), weight=1.5)
            yield _line((x - 3, y + 3), (x + 3, y - 3), weight=1.5)


@dataclass(frozen=True, slots=True)
class Pin:
    terminal: str
    side: Side
    words: tuple[str, ...] = ()


def pin_box(
    kind: str,
    name: str,
    lines: Sequence[str],
    pins: Sequence[Pin],
    *,
    outline: Dash = "",
    logic: Sequence[str] = (),
) -> Symbol:
    """A box with terminals along its upper and lower edge, each with what it does; for what has no symbol.

    ``logic`` says below its name what it decides, a line each, broken where the box is no wider.
    """

    def wide(pin: Pin) -> float:
        widths = [lettering.width(pin.terminal, PIN_SIZE, True), *(lettering.width(w, PIN_SIZE) for w in pin.words)]
        return max(*widths, 14.0) + 8

    edges = {side: [pin for pin in pins if pin.side == side] for side in ("top", "bottom")}
    inside = [Text(name, (0, 0), NAME_SIZE, bold=True), *(Text(words, (0, 0), INFO_SIZE) for words in lines)]
    room = max([sum(wide(pin) for pin in row) for row in edges.values()] + [text.width + 12 for text in inside])
    room = max(room, min(LOGIC, max((lettering.width(line, PIN_SIZE) + 12 for line in logic), default=0.0)))
    broken = [segment for line in logic for segment in lettering.wrapped(line, PIN_SIZE, room - 12)]
    depth = {side: max((1 + len(pin.words) for pin in row), default=0) for side, row in edges.items()}
    pin_line = PIN_SIZE + 1.5
    lead = 6.0
    top = lead + 4 + depth["top"] * pin_line
    below = top + 4 + LINE * len(inside) + (2 if broken else 0)
    height = below + pin_line * len(broken) + 4 + depth["bottom"] * pin_line + 4 + lead
    width = room + 2 * EDGE
    shapes: list[Shape] = [_rectangle(EDGE, lead, width - EDGE, height - lead, outline)]
    ports = []
    for side, row in edges.items():
        spare = (room - sum(wide(pin) for pin in row)) / max(len(row), 1)
        x = EDGE
        for pin in row:
            own = wide(pin) + spare
            middle = float(round(x + own / 2))
            ports.append(Port(pin.terminal, "top" if side == "top" else "bottom", middle))
            words = [Text(text, (0, 0), PIN_SIZE, anchor="middle") for text in pin.words]
            # The terminal's name stands next to the edge.
            words.insert(
                0 if side == "top" else len(words), Text(pin.terminal, (0, 0), PIN_SIZE, bold=True, anchor="middle")
            )
            if side == "top":
                shapes.append(_line((middle, 0), (middle, lead)))
                first = lead + 4 + PIN_SIZE * 0.75
            else:
                shapes.append(_line((middle, height), (middle, height - lead)))
                first = height - lead - 4 - pin_line * (len(words) - 1)
            shapes.extend(replace(text, at=(middle, first + pin_line * index)) for index, text in enumerate(words))
            x += own
    for index, text in enumerate(inside):
        shapes.append(replace(text, at=(width / 2, top + 4 + LINE * (index + 0.78)), anchor="middle"))
    for index, line in enumerate(broken):
        at = (width / 2, below + pin_line * (index + 0.78))
        shapes.append(Text(line, at, PIN_SIZE, anchor="middle", tone="faint"))
    return Symbol(kind, width, height, tuple(shapes), tuple(ports))


def ground(name: str, stud: str | None) -> Symbol:
    """A body of metal at the foot of the sheet, its name and the place of the stud below it."""
    words = [Text(name, (0, 0), INFO_SIZE, bold=True, anchor="middle")]
    if stud:
        words.append(Text(stud, (0, 0), PIN_SIZE, anchor="middle", tone="faint"))
    half = max([12.0, *(text.width / 2 for text in words)])
    axis = float(ceil(half + 2))
    shapes: list[Shape] = [moved(shape, axis, 6) for shape in frame().shapes]
    shapes.append(_line((axis, 0), (axis, 6)))
    shapes.extend(replace(text, at=(axis, 22 + 9 * index)) for index, text in enumerate(words))
    return Symbol("frame", 2 * axis, 26 + 9 * (len(words) - 1), tuple(shapes), (Port("", "top", axis),))


def splice(name: str, above: bool, below: bool) -> Symbol:
    """A dot where wires are joined for good."""
    axis = LEFT
    shapes: list[Shape] = [Circle((axis, 7), 2.6, filled=True)]
    ports = []
    if above:
        shapes.append(_line((axis, 0), (axis, 7)))
        ports.append(Port("above", "top", axis))
    if below:
        shapes.append(_line((axis, 7), (axis, 14)))
        ports.append(Port("below", "bottom", axis))
    text = Text(name, (axis + 6, 9.7), INFO_SIZE)
    return Symbol("splice", axis + 6 + text.width + EDGE, 14, (*shapes, text), tuple(ports))


def connector_way(name: str, socket_above: bool, capped: str = "") -> Symbol:
    """One way of a connector, with the connector's name and the way's number."""
    axis = LEFT
    text = Text(name, (axis + 8, 7.8 if capped else 11.3), INFO_SIZE)
    note = (Text(capped, (axis + 8, 15.3), PIN_SIZE, tone="faint"),) if capped else ()
    shapes = (*(moved(shape, axis, 0) for shape in way(socket_above).shapes), text, *note)
    upper, lower = ("s", "p") if socket_above else ("p", "s")
    right = extent([text, *note]).right
    ports = (Port(upper, "top", axis), Port(lower, "bottom", axis))
    return Symbol("way", right + EDGE, 17, shapes, ports)


def wire_label(name: str, colour: str, size: str, beside: str = "") -> Symbol:
    """A stretch of wire with its lettering to the right: name and size, then the colour in words, then what it runs
    ``beside``, where that matters.
    """
    axis = LEFT
    words = [Text(name, (axis + 5, 8.5), INFO_SIZE, bold=True)]
    if size:
        words.append(Text(size, (axis + 5 + words[0].width + 3, 8.5), INFO_SIZE))
    if colour:
        words.append(Text(colour, (axis + 5, 18), INFO_SIZE))
    if beside:
        words.append(Text(beside, (axis + 5, 27), PIN_SIZE, tone="faint"))
    right = max(text.box.right for text in words)
    return Symbol(
        "wire", right + 2, 31 if beside else 22, tuple(words), (Port("a", "top", axis), Port("b", "bottom", axis))
    )


def elsewhere(name: str, side: Side) -> Symbol:
    """Where an interrupted line goes on: a box with the name of the part there, its lead on ``side``."""
    axis = LEFT
    text = Text(name, (axis - 1, 12.9 if side == "top" else 10.9), INFO_SIZE)
    upper, lower = (4.0, 17.0) if side == "top" else (2.0, 15.0)
    lead = _line((axis, 0), (axis, upper)) if side == "top" else _line((axis, lower), (axis, 19))
    box = _rectangle(axis - 4, upper, axis + text.width + 3, lower)
    return Symbol("elsewhere", axis + text.width + 3 + EDGE, 19, (lead, box, text), (Port("", side, axis),))


def over(symbol: Symbol) -> Symbol:
    """A symbol upside down: what hangs at the foot of the sheet, standing at the head of a line instead."""
    return replace(
        symbol,
        shapes=tuple(turned_over(shape, symbol.height) for shape in symbol.shapes),
        ports=tuple(replace(port, side="bottom" if port.side == "top" else "top") for port in symbol.ports),
    )
