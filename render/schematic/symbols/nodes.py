"""What has no name plate: grounds, splices, ways of connectors, labels of wires, references to other tracks."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from ...drawing.primitives import Circle, Keyed, Shape, Text, extent, moved
from .glyph import Side, polyline, rectangle
from .glyphs import frame, way
from .symbol import EDGE, INFO_SIZE, LEFT, PIN_SIZE, Port, Symbol


def opposite(side: Side) -> Side:
    return "bottom" if side == "top" else "top"


def ground(name: str, stud: str | None) -> Symbol:
    """A body of metal at the foot of the sheet, its name and the place of the stud below it."""
    words = [Text(name, (0, 0), INFO_SIZE, bold=True, anchor="middle")]
    if stud:
        words.append(Text(stud, (0, 0), PIN_SIZE, anchor="middle", tone="faint"))
    half = max([12.0, *(text.width / 2 for text in words)])
    axis = float(ceil(half + 2))
    shapes: list[Shape] = [moved(shape, axis, 6) for shape in frame().shapes]
    shapes.append(polyline((axis, 0), (axis, 6)))
    shapes.extend(replace(text, at=(axis, 22 + 9 * index)) for index, text in enumerate(words))
    return Symbol("frame", 2 * axis, 26 + 9 * (len(words) - 1), tuple(shapes), (Port("", "top", axis),))


def splice(name: str, above: bool, below: bool) -> Symbol:
    """A dot where wires are joined for good."""
    axis = LEFT
    shapes: list[Shape] = [Circle((axis, 7), 2.6, filled=True)]
    ports = []
    if above:
        shapes.append(polyline((axis, 0), (axis, 7)))
        ports.append(Port("above", "top", axis))
    if below:
        shapes.append(polyline((axis, 7), (axis, 14)))
        ports.append(Port("below", "bottom", axis))
    text = Text(name, (axis + 6, 9.7), INFO_SIZE)
    return Symbol("splice", axis + 6 + text.width + EDGE, 14, (*shapes, text), tuple(ports))


def bar(name: str, near: Side) -> Symbol:
    """The name of a terminal beside the lead to a bar on which many wires end; the lead comes in on ``near``."""
    axis = LEFT
    text = Text(name, (axis + 4, 8.5), INFO_SIZE)
    lead = polyline((axis, 0), (axis, 12))
    ports = Port("near", near, axis), Port("far", opposite(near), axis)
    return Symbol("bar", axis + 4 + text.width + EDGE, 12, (lead, text), ports)


def terminal(name: str, side: Side) -> Symbol:
    """A terminal of a part that nothing inside is drawn for: a ring, its lead on ``side``."""
    axis = LEFT
    text = Text(name, (axis + 6, 10.0), INFO_SIZE)
    ring, lead = (9.0, (0.0, 6.5)) if side == "top" else (5.0, (7.5, 14.0))
    shapes = (Circle((axis, ring), 2.5), polyline((axis, lead[0]), (axis, lead[1])), text)
    return Symbol("terminal", axis + 6 + text.width + EDGE, 14, shapes, (Port("", side, axis),))


def connector_way(name: str, socket_above: bool, capped: str = "") -> Symbol:
    """One way of a connector, with the connector's name and the way's number."""
    axis = LEFT
    text = Text(name, (axis + 8, 7.0 if capped else 11.3), INFO_SIZE)
    note = (Text(capped, (axis + 8, 14.9), PIN_SIZE, tone="faint"),) if capped else ()
    shapes = (*(moved(shape, axis, 0) for shape in way(socket_above).shapes), text, *note)
    upper, lower = ("s", "p") if socket_above else ("p", "s")
    right = extent([text, *note]).right
    ports = (Port(upper, "top", axis), Port(lower, "bottom", axis))
    return Symbol("way", right + EDGE, 17, (Keyed("element", (("branch", name),), shapes),), ports)


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
    lead = polyline((axis, 0), (axis, upper)) if side == "top" else polyline((axis, lower), (axis, 19))
    box = rectangle(axis - 4, upper, axis + text.width + 3, lower)
    return Symbol("elsewhere", axis + text.width + 3 + EDGE, 19, (lead, box, text), (Port("", side, axis),))
