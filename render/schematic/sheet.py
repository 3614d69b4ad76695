"""What is around a schematic: the numbers of the tracks along the foot, the index of parts and the title block."""

from __future__ import annotations

from collections.abc import Iterable

from ...lang.model.harness import Harness
from ...lang.quantities.quantity import shown
from ..drawing import lettering
from ..drawing.primitives import Drawing, Element, Shape, Stroke, Text, Track
from .assembling import Assembly
from .legend import legend
from .symbols.drawn import Now

MARGIN = 24.0
_INDEX_SIZE = 8.0
_INDEX_LINE = 11.0


def track_line(tracks: Iterable[Track], y: float, width: float) -> list[Shape]:
    """The line along the foot, with the numbers of the tracks."""
    shapes: list[Shape] = [Stroke(((MARGIN, y), (width - MARGIN, y)), weight=0.8)]
    for track in tracks:
        shapes.append(Stroke(((track.x, y), (track.x, y + 4)), weight=0.8))
        shapes.append(Text(str(track.number), (track.x, y + 13), 8.5, bold=True, anchor="middle"))
    return shapes


def framed(harness: Harness, sheet: str, assembly: Assembly, now: Now | None = None) -> Drawing:
    """The drawing with its frame. ``now`` is the moment that is drawn, if one is."""
    elements, runs = assembly.elements, assembly.runs
    title = harness.title or harness.file
    cells = _cells(harness, title, sheet)
    block = _caution_width(_CAUTIONS[-1]) + sum(_cell_width(cell) for cell in cells) + MARGIN
    width = max(assembly.width, lettering.width(now.says if now else "", _INDEX_SIZE, True) + 2 * MARGIN, block)
    y = assembly.bottom + 6
    shapes = track_line(assembly.tracks, y, width)
    y += 26
    index, y = _index(harness, elements, y, width)
    shapes += index
    signs, y = legend(MARGIN, y + 6, width - MARGIN, now)
    shapes += signs
    title_block, y = _title_block(cells, y + 8, width)
    shapes += title_block
    height = y + MARGIN / 2
    edge = MARGIN / 2
    shapes.append(
        Stroke(((edge, edge), (width - edge, edge), (width - edge, height), (edge, height)), weight=1.6, closed=True)
    )
    about = (
        f"Current-path diagram of {title}, {sheet}: {len(elements)} symbols and {len(runs)} stretches of wire in "
        f"{len(assembly.tracks)} tracks. Supply at the head, {harness.grounded} ground at the foot. "
        "The same wires are listed in the harness file."
    )
    return Drawing(
        round(width, 1),
        round(height + edge, 1),
        title,
        sheet,
        about,
        elements,
        runs,
        assembly.joints,
        assembly.tracks,
        tuple(shapes),
    )


def in_short(numbers: Iterable[int]) -> str:
    """Numbers in order, three and more that follow each other as a range: ``2-4, 9``."""
    spans: list[tuple[int, int]] = []
    for number in sorted(set(numbers)):
        if spans and number == spans[-1][1] + 1:
            spans[-1] = spans[-1][0], number
        else:
            spans.append((number, number))
    words = []
    for first, last in spans:
        words += [f"{first}-{last}"] if last > first + 1 else [str(n) for n in range(first, last + 1)]
    return ", ".join(words)


def _index(harness: Harness, elements: tuple[Element, ...], top: float, width: float) -> tuple[list[Shape], float]:
    """Every part by name with its tracks and its places, connectors and grounds too, in columns read downwards."""
    tracks: dict[str, set[int]] = {}
    for element in elements:
        if element.part in harness.parts:
            tracks.setdefault(element.part, set()).add(element.track)
    entries = [(name, in_short(tracks[name]), ", ".join(harness.parts[name].places)) for name in sorted(tracks)]
    if not entries:
        return [], top
    name_width = max(lettering.width(e[0], _INDEX_SIZE, True) for e in entries) + 6
    number_width = max(lettering.width(e[1], _INDEX_SIZE) for e in entries) + 6
    place_width = max(lettering.width(e[2], _INDEX_SIZE) for e in entries) + 18
    column = name_width + number_width + place_width
    columns = max(1, int((width - 2 * MARGIN) // column))
    rows = -(-len(entries) // columns)
    shapes: list[Shape] = []
    for i, (name, numbers, place) in enumerate(entries):
        x = MARGIN + column * (i // rows)
        y = top + _INDEX_LINE * (i % rows + 0.8)
        shapes.append(Text(name, (x, y), _INDEX_SIZE, bold=True))
        shapes.append(Text(numbers, (x + name_width, y), _INDEX_SIZE))
        if place:
            shapes.append(Text(place, (x + name_width + number_width, y), _INDEX_SIZE, tone="faint"))
    return shapes, top + _INDEX_LINE * rows


_Cell = tuple[str, float, bool]
"""Words, their size and whether they are bold."""


def _cells(harness: Harness, title: str, sheet: str) -> list[_Cell]:
    system = f"{shown(harness.volts)} V, {harness.grounded} ground"
    return [(title, 11.0, True), (sheet, 11.0, False), (system, 9.0, False), ("current-path diagram", 9.0, False)]


def _cell_width(cell: _Cell) -> float:
    return lettering.width(*cell) + 20


_CAUTIONS = (
    "Drawn from the harness file as written. A drawing proves nothing: measure before you trust a wire.",
    "A drawing proves nothing: measure before you trust a wire.",
    "Measure before you trust a wire.",
)
"""The longest that there is room for is beside the title block."""


def _caution_width(caution: str) -> float:
    return lettering.width(caution, 8) + MARGIN + 8


def _title_block(cells: list[_Cell], top: float, width: float) -> tuple[list[Shape], float]:
    right = width - MARGIN / 2
    left = right - sum(_cell_width(cell) for cell in cells)
    bottom = top + 24
    shapes: list[Shape] = [Stroke(((left, bottom), (left, top), (right, top)), weight=1.0)]
    x = left
    for words, size, bold in cells:
        if x > left:
            shapes.append(Stroke(((x, top), (x, bottom)), weight=0.8))
        shapes.append(Text(words, (x + 10, top + 16), size, bold=bold))
        x += _cell_width((words, size, bold))
    # A narrow sheet says less of it, and never nothing.
    note = next((each for each in _CAUTIONS if _caution_width(each) < left), _CAUTIONS[-1])
    shapes.append(Text(note, (MARGIN, top + 16), 8.0, tone="faint"))
    return shapes, bottom - MARGIN / 2
