"""What a drawing must not do, told from its geometry alone; and the connections that a reader would take from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TypeVar

from loomwright.render.drawing.primitives import Drawing, Point, Rect, Stroke

HALF_WIRE = 2.2
"""Half the width of a wire with its dark edge, in pixels."""

T = TypeVar("T")
U = TypeVar("U")
Segment = tuple[str, Point, Point]


def segments(drawing: Drawing) -> list[Segment]:
    """Every straight stretch of every line that joins symbols, with the name of what it belongs to."""
    found = []
    for run in drawing.runs:
        found += [(f"wire {run.name}", a, b) for line in run.lines for a, b in pairwise(line)]
    for joint in drawing.joints:
        found += [(f"joint {joint.node}", a, b) for line in joint.lines for a, b in pairwise(line)]
    return found


def _box(segment: Segment, half: float) -> Rect:
    """What a line covers that is ``half`` wide on each side and ends square."""
    _, (x1, y1), (x2, y2) = segment
    across, along = (half, 0.0) if x1 == x2 else (0.0, half)
    return Rect(min(x1, x2) - across, min(y1, y2) - along, max(x1, x2) + across, max(y1, y2) + along)


def faults(drawing: Drawing) -> list[str]:
    """Everything that would make the sheet hard or wrong to read; an empty list for a good one."""
    return [*_texts(drawing), *_lines(drawing), *_symbols(drawing), *_inside(drawing)]


def _meeting(one: list[tuple[Rect, T]], other: list[tuple[Rect, U]], by: float) -> Iterator[tuple[T, U]]:
    """Pairs of things whose boxes share more than ``by`` pixels each way."""
    ordered = sorted(other, key=lambda item: item[0].left)
    for box, thing in one:
        for other_box, other_thing in ordered:
            if other_box.left >= box.right:
                break
            if box.overlaps(other_box, by):
                yield thing, other_thing


def _texts(drawing: Drawing) -> Iterator[str]:
    texts = [(text.box, text) for text in drawing.texts if text.words.strip()]
    for a, b in _meeting(texts, texts, 0.5):
        if a is not b:
            yield f"the texts {a.words!r} and {b.words!r} overlap at {a.at}"
    lines = [(_box(line, HALF_WIRE if line[0].startswith("wire") else 0.7), line) for line in segments(drawing)]
    for text, line in _meeting(texts, lines, 0.3):
        yield f"{line[0]} runs over the text {text.words!r} at {text.at}"


def _lines(drawing: Drawing) -> Iterator[str]:
    lines = segments(drawing)
    for name, (x1, y1), (x2, y2) in lines:
        if x1 != x2 and y1 != y2:
            yield f"{name} is slanted from {(x1, y1)} to {(x2, y2)}"
    for across in (0, 1):  # upright lines, then level ones
        alike = [line for line in lines if line[1][across] == line[2][across]]
        boxes = [(_box(line, HALF_WIRE), line) for line in alike]
        for a, b in _meeting(boxes, boxes, 0.01):
            along = 1 - across
            reach = min(max(a[1][along], a[2][along]), max(b[1][along], b[2][along])) - max(
                min(a[1][along], a[2][along]), min(b[1][along], b[2][along])
            )
            if a[0] < b[0] and reach > 1:
                yield f"{a[0]} and {b[0]} lie on each other at {a[1]} and {b[1]}"


def _symbols(drawing: Drawing) -> Iterator[str]:
    symbols = [(element.box, element) for element in drawing.elements]
    for a, b in _meeting(symbols, symbols, 0.1):
        if a.key < b.key:
            yield f"the symbols {a.key} and {b.key} overlap"
    lines = [(_box(line, 0.7), line) for line in segments(drawing)]
    for element, line in _meeting(symbols, lines, 1.3):
        yield f"{line[0]} runs through {element.key}"
    for element in drawing.elements:
        room = Rect(element.box.left - 0.1, element.box.top - 0.1, element.box.right + 0.1, element.box.bottom + 0.1)
        for text in element.texts:
            if not room.contains(text.box):
                yield f"the text {text.words!r} leaves the symbol {element.key}"


def _inside(drawing: Drawing) -> Iterator[str]:
    border = max(
        (s for s in drawing.frame if isinstance(s, Stroke) and s.closed),
        key=lambda s: max(x for x, _ in s.points),
    )
    xs, ys = [x for x, _ in border.points], [y for _, y in border.points]
    inner = Rect(min(xs), min(ys), max(xs), max(ys))
    if not Rect(0, 0, drawing.width, drawing.height).contains(inner):
        yield "the border leaves the sheet"
    for element in drawing.elements:
        if not inner.contains(element.box):
            yield f"{element.key} leaves the sheet"
    for text in drawing.texts:
        if not inner.contains(text.box):
            yield f"the text {text.words!r} leaves the sheet"
    for line in segments(drawing):
        if not inner.contains(_box(line, HALF_WIRE)):
            yield f"{line[0]} leaves the sheet"


def connections(drawing: Drawing, joined: Sequence[Sequence[Point]] = ()) -> dict[Point, int]:
    """Which points of the drawing are joined, read as a reader does: lines join at their ends and on bars, not where
    they cross. Each end of a line gets the number of its group; ``joined`` are points that a symbol joins."""
    parent: dict[Point, Point] = {}

    def find(p: Point) -> Point:
        parent.setdefault(p, p)
        while parent[p] != p:
            p = parent[p]
        return p

    def key(p: Point) -> Point:
        return (round(p[0], 1), round(p[1], 1))

    lines = [(name, key(a), key(b)) for name, a, b in segments(drawing)]
    ends = {p for _, a, b in lines for p in (a, b)}
    bars = [tuple(map(key, joint.bar)) for joint in drawing.joints if joint.bar]
    for _, a, b in lines:
        parent[find(a)] = find(b)
    ports = {key(point) for element in drawing.elements for _, point in element.ports}
    for a, b in bars:
        for end in ends | ports:
            if _on(end, a, b):
                parent[find(end)] = find(a)
    for points in joined:
        for point in points[1:]:
            parent[find(key(point))] = find(key(points[0]))
    groups: dict[Point, int] = {}
    numbers: dict[Point, int] = {}
    for point in sorted(parent):
        groups[point] = numbers.setdefault(find(point), len(numbers))
    return groups


def _on(p: Point, a: Point, b: Point) -> bool:
    return (
        min(a[0], b[0]) <= p[0] <= max(a[0], b[0])
        and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])
        and (a[0] == b[0] == p[0] or a[1] == b[1] == p[1])
    )
