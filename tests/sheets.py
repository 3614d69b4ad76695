"""What no leaf for the bench may do: text over text, text out of its border, letters too low to read."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from loomwright.render.bench.frame import EDGE
from loomwright.render.drawing.leaves import Leaf
from loomwright.render.drawing.primitives import Point, Rect, Shape, Stroke, Text
from loomwright.render.report.tag_sheet import CAPITAL

LEAST = 1.8
"""mm that a capital is high, at least."""
AIR = 0.1
"""mm that boxes of texts may share: they are a little higher than the letters in them."""

BAND = 5.0
"""mm of height in which lines and texts are looked at together."""


def faults(leaf: Leaf) -> list[str]:
    """Everything that would make a leaf hard to read; an empty list for a good one.

    What is seen through a window is looked at by itself: beyond the hole it is not shown.
    """
    found = [*_small(leaf.texts), *_outside(leaf)]
    for shapes in (leaf.shapes, *(window.shapes for window in leaf.windows)):
        texts = [shape for shape in shapes if isinstance(shape, Text) and shape.words.strip()]
        found += (*_over(texts), *_struck(shapes, texts))
    return found


def _small(texts: Sequence[Text]) -> Iterator[str]:
    for text in texts:
        if text.size * CAPITAL < LEAST:
            yield f"{text.words!r} is {text.size * CAPITAL:.2f} mm high"


def _outside(leaf: Leaf) -> Iterator[str]:
    border = Rect(EDGE - 0.3, EDGE - 0.3, leaf.width - EDGE + 0.3, leaf.height - EDGE + 0.3)
    for shape in leaf.shapes:
        if isinstance(shape, Text) and shape.words.strip() and not border.contains(shape.box):
            yield f"{shape.words!r} leaves the border"
        if isinstance(shape, Stroke) and not all(
            border.left <= x <= border.right and border.top <= y <= border.bottom for x, y in shape.points
        ):
            yield f"a line leaves the border: {shape.points}"


def _over(texts: Sequence[Text]) -> Iterator[str]:
    ordered = sorted(texts, key=lambda text: text.box.left)
    for place, text in enumerate(ordered):
        for other in ordered[place + 1 :]:
            if other.box.left >= text.box.right:
                break
            if text.box.overlaps(other.box, AIR) and _share(text.corners, other.corners):
                yield f"{text.words!r} and {other.words!r} overlap"


def _struck(shapes: Sequence[Shape], texts: Sequence[Text]) -> Iterator[str]:
    """Lines through texts; what is filled with paper lies under the text that is on it."""
    lines = [
        (a, b)
        for shape in shapes
        if isinstance(shape, Stroke) and not shape.fill
        for a, b in zip(shape.points, (*shape.points[1:], *(shape.points[:1] if shape.closed else ())), strict=False)
        if a != b
    ]
    bands: dict[int, list[tuple[Point, Point]]] = {}
    for a, b in lines:
        for band in range(int(min(a[1], b[1]) // BAND), int(max(a[1], b[1]) // BAND) + 1):
            bands.setdefault(band, []).append((a, b))
    for text in texts:
        box = text.box
        beside = range(int(box.top // BAND), int(box.bottom // BAND) + 1)
        near = dict.fromkeys(line for band in beside for line in bands.get(band, ()))
        for a, b in near:
            if max(a[0], b[0]) > box.left and min(a[0], b[0]) < box.right and _share(text.corners, (a, b)):
                yield f"a line from {a} to {b} runs through {text.words!r}"


def crossings(leaf: Leaf) -> list[str]:
    """Lines of a layout that cross: a leg over another one, or over the loom. What is kept runs beside the loom, in
    grey, and legs leave the loom over it.
    """
    lines = [
        shape.points
        for shape in leaf.shapes
        if isinstance(shape, Stroke) and len(shape.points) == 2 and not shape.colour and not shape.closed
    ]
    return [
        f"a line from {a[0]} to {a[1]} crosses one from {b[0]} to {b[1]}"
        for place, a in enumerate(lines)
        for b in lines[place + 1 :]
        if _cross(a, b)
    ]


def _cross(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """Whether two lines cross, each more than ``AIR`` mm from its ends."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(across) < 1e-9:
        return False
    along = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across
    beside = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / across
    ends = (AIR / math.dist(each[0], each[1]) for each in (one, other))
    return all(end < share < 1.0 - end for share, end in zip((along, beside), ends, strict=True))


def _share(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """Whether two convex figures overlap by more than ``AIR``: no axis across a side of either parts them."""
    for figure in (one, other):
        for (x1, y1), (x2, y2) in zip(figure, (*figure[1:], figure[0]), strict=True):
            length = math.hypot(x2 - x1, y2 - y1)
            if not length:
                continue
            across = (y2 - y1) / length, (x1 - x2) / length
            spans = [[x * across[0] + y * across[1] for x, y in each] for each in (one, other)]
            if min(max(spans[0]), max(spans[1])) - max(min(spans[0]), min(spans[1])) <= AIR:
                return False
    return True
