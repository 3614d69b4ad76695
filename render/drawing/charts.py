"""Charts as shapes in mm: bars beside their names, and a grid of counts. They read in grey: no shade tells anything
that a length, a place or a word does not tell as well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from . import lettering
from .primitives import Shape, Stroke, Text

EM: Final = 2.5
"""mm of the lettering: capitals of 1.8 mm."""
PITCH: Final = 5.0
"""mm from bar to bar."""
THICK: Final = 3.2
"""mm of a bar."""
GAP: Final = 2.0
"""mm between names, bars and words."""
HEAD: Final = 10.0
"""mm of a chart's title and the line above its bars."""
LEAST_BAR: Final = 0.15
"""mm of a bar that is nearly nothing, so that it is seen to be one."""
LONGEST_NAME: Final = 0.24
"""Of the width, for names; longer ones are cut short."""
SIDE: Final = 5.0
"""mm of the square of the largest count of a grid."""
GREY, LIGHT, WHITE, DARK = "#9a9a9a", "#d8d8d8", "#ffffff", "#3c3c3c"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """``value`` in the chart's unit; ``words`` say it in full, and ``over`` that it is beyond its limit."""

    name: str
    value: float
    words: str
    over: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BarChart:
    """Bars to the right of 0, those below 0 to its left. ``limit`` is where a line is drawn across, with its words.

    ``left`` and ``right`` say what the two directions are, where there are two. ``note`` stands below.
    """

    title: str
    unit: str
    bars: tuple[Bar, ...]
    limit: float | None = None
    limit_words: str = ""
    left: str = ""
    right: str = ""
    note: str = ""

    @property
    def scale(self) -> tuple[float, float]:
        """The least and the most that the bars are drawn against."""
        values = [bar.value for bar in self.bars] + ([self.limit] if self.limit is not None else [])
        return min(0.0, *values), max(0.0, *values) or 1.0

    @property
    def about(self) -> str:
        """All of it in words, for a reader who does not see it."""
        rows = (f"{bar.name} {bar.words}{', over the limit' if bar.over else ''}" for bar in self.bars)
        return visible(f"{self.title}: {'; '.join(rows)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Counts by row and column. ``columns`` are a short head and what it means; ``note`` stands below."""

    title: str
    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, tuple[int, ...]], ...]
    note: str = ""

    @property
    def about(self) -> str:
        heads = [head for head, _ in self.columns]
        rows = (
            f"{name} {', '.join(f'{head} {count}' for head, count in zip(heads, counts, strict=True) if count)}"
            for name, counts in self.rows
        )
        return visible(f"{self.title}: {'; '.join(rows)}")


Chart = BarChart | Grid


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A chart's shapes from its upper left corner, and how high it is."""

    shapes: tuple[Shape, ...]
    height: float


def drawn(chart: Chart, width: float) -> Drawn:
    """A chart ``width`` mm wide."""
    return _bars(chart, width) if isinstance(chart, BarChart) else _grid(chart, width)


def _cut(words: str, room: float, bold: bool = False) -> str:
    """``words`` as far as they fit, with a mark where some were left off."""
    return lettering.cut_short(visible(words), EM, room, bold)


def _note(chart: Chart, top: float, width: float) -> Iterator[Text]:
    for number, line in enumerate(lettering.wrapped(visible(chart.note), EM, width)):
        yield Text(line, (0.0, top + EM + number * 1.25 * EM), EM, tone="faint")


def _bars(chart: BarChart, width: float) -> Drawn:
    names = max((lettering.width(visible(bar.name), EM, True) for bar in chart.bars), default=0.0)
    names = min(names, LONGEST_NAME * width)
    words = max((lettering.width(_said(bar), EM) for bar in chart.bars), default=0.0)
    words = min(words, 0.45 * width)
    start, end = names + GAP, width - words - GAP
    least, most = chart.scale

    def at(value: float) -> float:
        return start + (value - least) / (most - least) * (end - start)

    foot = HEAD + PITCH * len(chart.bars)
    shapes: list[Shape] = [Text(_cut(chart.title, width, True), (0.0, EM), EM * 1.2, bold=True)]
    shapes += _heads(chart, at, end)
    for number, bar in enumerate(chart.bars):
        base = HEAD + PITCH * number + PITCH / 2
        shapes.append(Text(_cut(bar.name, names, True), (0.0, base + EM * 0.36), EM, bold=True))
        shapes.append(_bar(at(0.0), at(bar.value), base, bar))
        shapes.append(Text(_cut(_said(bar), words), (end + GAP, base + EM * 0.36), EM))
    shapes.append(Stroke(((at(0.0), HEAD), (at(0.0), foot)), weight=0.35))
    if chart.limit is not None:
        shapes.append(Stroke(((at(chart.limit), HEAD - 1.0), (at(chart.limit), foot)), weight=0.35, dash="dashed"))
    notes = tuple(_note(chart, foot + 1.0, width))
    return Drawn(shapes=(*shapes, *notes), height=foot + 1.0 + len(notes) * 1.25 * EM)


def _said(bar: Bar) -> str:
    return visible(f"{bar.words}, OVER" if bar.over else bar.words)


def _heads(chart: BarChart, at: Callable[[float], float], end: float) -> Iterator[Text]:
    """What the directions and the line across mean, above the bars."""
    base = HEAD - 2.2
    if chart.limit is not None:
        wide = lettering.width(visible(chart.limit_words), EM)
        yield Text(
            visible(chart.limit_words),
            (max(at(0.0), min(at(chart.limit) - wide / 2, end - wide)), base),
            EM,
            tone="faint",
        )
    if chart.left:
        yield Text(visible(chart.left), (at(0.0) - GAP, base), EM, anchor="end", tone="faint")
    if chart.right:
        yield Text(visible(chart.right), (at(0.0) + GAP, base), EM, tone="faint")


def _bar(zero: float, end: float, base: float, bar: Bar) -> Stroke:
    """Filled grey to the right, white to the left, dark where it is over its limit."""
    if abs(end - zero) < LEAST_BAR:
        end = zero + (LEAST_BAR if bar.value >= 0.0 else -LEAST_BAR)
    top, bottom = base - THICK / 2, base + THICK / 2
    fill = DARK if bar.over else GREY if bar.value >= 0.0 else WHITE
    return Stroke(((zero, top), (end, top), (end, bottom), (zero, bottom)), weight=0.2, closed=True, fill=fill)


def _grid(chart: Grid, width: float) -> Drawn:
    names = max((lettering.width(visible(name), EM, True) for name, _ in chart.rows), default=0.0)
    names = min(names, 0.4 * width)
    step = min(28.0, (width - names - GAP) / max(1, len(chart.columns)))
    most = max((count for _, counts in chart.rows for count in counts), default=1) or 1
    shapes: list[Shape] = [Text(_cut(chart.title, width, True), (0.0, EM), EM * 1.2, bold=True)]
    for place, (head, _) in enumerate(chart.columns):
        shapes.append(
            Text(visible(head), (names + GAP + place * step + step / 2, HEAD - 2.2), EM, bold=True, anchor="middle")
        )
    fills = (DARK, GREY, LIGHT, WHITE)
    pitch = SIDE + 1.2
    for number, (name, counts) in enumerate(chart.rows):
        base = HEAD + pitch * number + pitch / 2
        shapes.append(Text(_cut(name, names, True), (0.0, base + EM * 0.36), EM, bold=True))
        for place, count in enumerate(counts):
            middle = names + GAP + place * step + step / 2
            shapes += _cell(count, most, middle, base, fills[min(place, len(fills) - 1)])
    foot = HEAD + pitch * len(chart.rows)
    keys = [f"{head}: {meaning}" for head, meaning in chart.columns if meaning]
    lines = [line for key in (*keys, chart.note) for line in lettering.wrapped(visible(key), EM, width)]
    texts = [Text(line, (0.0, foot + 1.0 + EM + row * 1.25 * EM), EM, tone="faint") for row, line in enumerate(lines)]
    return Drawn(shapes=(*shapes, *texts), height=foot + 1.0 + len(texts) * 1.25 * EM)


def _cell(count: int, most: int, middle: float, base: float, fill: str) -> Iterator[Shape]:
    """A square as large as its count, with the count beside it; nothing for none."""
    if count:
        half = SIDE / 2 * (count / most) ** 0.5
        left, top = middle - SIDE / 2 - half, base - half
        square = ((left, top), (left + 2 * half, top), (left + 2 * half, base + half), (left, base + half))
        yield Stroke(square, weight=0.2, closed=True, fill=fill)
        yield Text(str(count), (middle + 1.0, base + EM * 0.36), EM)
