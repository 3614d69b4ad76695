"""The sheets of a set on paper: borders and title blocks, the list of feeds, the index and the key of colours."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from ...lang.diagnostics.visible import visible
from ...lang.model.harness import Harness
from ...lang.model.wires import Segment
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour
from ..bench.frame import EM, LINE, box, shortened
from ..bench.leaf_text import Line, flowed, width_of
from ..drawing import lettering
from ..drawing.colours import base_and_stripe
from ..drawing.leaves import Inset, Leaf
from ..drawing.primitives import Drawing, Rect, Shape, Stroke, Text, extent, scaled
from ..report.tag_sheet import paper_size
from ..schematic.assembling import SHEET_MARGIN, Assembly
from ..schematic.legend import AT_REST, legend
from ..schematic.sheet import in_short, track_line
from ..schematic.symbols.drawn import Now

SCALE: Final = 0.309
"""mm of a pixel: lettering of 8 pixels has capitals of 1.8 mm, the lowest of ISO 3098 (from memory)."""
BINDING: Final = 20.0
EDGE: Final = 10.0
"""mm from the edge of the paper to the border, at the binding edge and at the others (ISO 5457, from memory)."""
INNER: Final = 2.0
"""mm kept free inside the border."""
BLOCK: Final = 9.0
TRACKS: Final = 26.0 * SCALE
"""mm that the numbers of the tracks need below a drawing."""
NOTES: Final = 32.0
"""mm that are kept on the first sheet for the legend and the list of feeds."""
CAUTION: Final = "A drawing proves nothing: measure before you trust a wire."
_SWATCH: Final = 9.0
_COLUMNS: Final = {"A3": 3, "A4": 2}
_WIRE_CELLS: Final = (0.0, 0.1, 0.42, 0.64, 0.87)
_PART_CELLS: Final = (0.0, 0.24, 0.7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of the set, drawn."""

    number: int
    systems: tuple[str, ...]
    assembly: Assembly
    upright: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """What the first sheet says of a wire that leaves it: where it begins, and the words of its flag.

    Of a node of which more wires are on another sheet it names no wire.
    """

    wire: str
    start: str
    goes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What all title blocks say."""

    harness: Harness
    paper: str
    revision: str
    now: Now | None = None

    @property
    def title(self) -> str:
        return self.harness.title or self.harness.file

    def room(self, *, upright: bool) -> Rect:
        """What a sheet may cover, in mm."""
        width, height = self.size(upright=upright)
        return Rect(BINDING + INNER, EDGE + INNER, width - EDGE - INNER, height - EDGE - BLOCK - INNER)

    def size(self, *, upright: bool) -> tuple[float, float]:
        return paper_size(self.paper, upright=upright)


def orientations(paper: str) -> tuple[bool, ...]:
    """Which ways a paper may be turned, the usual one first: upright or not."""
    return (False, True) if paper == "A4" else (False,)


def leaves_of(
    frame: Frame, sheets: Sequence[Sheet], feeds: Sequence[Feed], where: Mapping[str, Sequence[str]]
) -> tuple[Leaf, ...]:
    """The whole set. ``where`` says of each part, and of each wire, on which sheets and in which tracks it is."""
    rest, notes = _notes(frame, sheets[0], feeds) if sheets else ([], [])
    index = list(_index_pages(frame, [*rest, *_index(frame, where)]))
    count = len(sheets) + len(index)
    leaves = [
        _leaf(
            frame, _words(sheet.systems), sheet.number, count, sheet.upright, notes if sheet is sheets[0] else [], sheet
        )
        for sheet in sheets
    ]
    leaves += [
        _leaf(frame, "index and colours", len(sheets) + number, count, False, shapes, None)
        for number, shapes in enumerate(index, 1)
    ]
    return tuple(leaves)


def _words(systems: Sequence[str]) -> str:
    return ", ".join("supply and distribution" if system == "supply" else system for system in systems)


def _leaf(
    frame: Frame, words: str, number: int, count: int, upright: bool, shapes: Sequence[Shape], sheet: Sheet | None
) -> Leaf:
    width, height = frame.size(upright=upright)
    inset = None if sheet is None else _inset(frame, sheet)
    about = f"Sheet {number} of {count} of {frame.title}: {words}."
    if sheet is not None:
        about += f" {len(sheet.assembly.elements)} symbols, {len(sheet.assembly.runs)} stretches of wire."
    return Leaf(
        width=width,
        height=height,
        title=visible(f"{frame.title}: {words}"),
        about=visible(about),
        shapes=(*shapes, *_block(frame, words, f"sheet {number} of {count}", width, height)),
        inset=inset,
    )


def _inset(frame: Frame, sheet: Sheet) -> Inset:
    room = frame.room(upright=sheet.upright)
    assembly = sheet.assembly
    width = room.width / SCALE + 2 * SHEET_MARGIN
    drawing = Drawing(
        width,
        room.height / SCALE,
        frame.title,
        _words(sheet.systems),
        "",
        assembly.elements,
        assembly.runs,
        assembly.joints,
        assembly.tracks,
        tuple(track_line(assembly.tracks, assembly.bottom + 4, width)),
    )
    at = room.left - SHEET_MARGIN * SCALE, room.top - SHEET_MARGIN * SCALE
    return Inset(drawing=drawing, at=at, scale=SCALE)


def _block(frame: Frame, words: str, page: str, width: float, height: float) -> Iterator[Shape]:
    """The border, and the title block along its foot."""
    bottom, right = height - EDGE, width - EDGE
    top = bottom - BLOCK
    yield box(BINDING, EDGE, right, bottom, weight=0.5)
    yield Stroke(((BINDING, top), (right, top)), weight=0.35)
    harness = frame.harness
    system = f"{shown(harness.volts)} V, {harness.grounded} ground"
    last = ", ".join(word for word in (page, frame.revision) if word)
    said = max(lettering.width(last, EM, True), lettering.width(system, EM)) + 3.0
    yield Text(visible(last), (right - 2.0, top + 3.7), EM, bold=True, anchor="end")
    yield Text(system, (right - 2.0, top + 7.5), EM, anchor="end")
    room = right - said - BINDING - 4.0
    yield Text(shortened(frame.title, room * 0.5, EM, True), (BINDING + 2.0, top + 3.7), EM, bold=True)
    name = lettering.width(shortened(frame.title, room * 0.5, EM, True), EM, True)
    yield Text(shortened(words, room - name - 4.0), (BINDING + 6.0 + name, top + 3.7), EM)
    yield Text(
        shortened(f"{frame.now.says if frame.now else AT_REST} {CAUTION}", room),
        (BINDING + 2.0, top + 7.5),
        EM,
        tone="faint",
    )


# --- the first sheet -------------------------------------------------------------------------------------------------
def _notes(frame: Frame, sheet: Sheet, feeds: Sequence[Feed]) -> tuple[list[Line], list[Shape]]:
    """The legend and where each feed goes, at the foot of the first sheet; and the lines that find no room there."""
    room = frame.room(upright=sheet.upright)
    signs, _ = legend(0.0, 0.0, room.width / SCALE, frame.now)
    lines = [Line(cells=((feed.wire, 0.0), (feed.start, 0.14), (feed.goes, 0.5))) for feed in feeds]
    high = extent(signs).bottom * SCALE
    top = room.top + (sheet.assembly.bottom - SHEET_MARGIN) * SCALE + TRACKS
    free = Rect(room.left, top + high + 1.0, room.right, room.bottom)
    shapes = [scaled(shape, SCALE, room.left, top) for shape in signs]
    if not lines:
        return [], shapes
    title = Line(cells=(("Where each feed goes", 0.0),), heading=True)
    columns = max(1, int(room.width // 85.0))
    below = Rect(free.left, free.top + LINE, free.right, free.bottom)
    listed = [*next(flowed([title], [free], 1), ()), *next(flowed(lines, [below], columns), ())]
    fits = -(-(len(lines) + columns) // columns) * LINE <= below.height
    if not fits:
        return [title, *lines, Line(cells=(("", 0.0),))], shapes
    return [], [*shapes, *listed]


# --- the index -------------------------------------------------------------------------------------------------------
def _index(frame: Frame, where: Mapping[str, Sequence[str]]) -> Iterator[Line]:
    harness = frame.harness
    width = width_of(frame.room(upright=False), _COLUMNS[frame.paper])
    heads = Line(cells=tuple(zip(("Part", "sheet/track", "place"), _PART_CELLS, strict=True)), heading=True)
    yield heads
    room = (_PART_CELLS[2] - _PART_CELLS[1]) * width - 2.0
    for name in sorted(harness.parts):
        places = lettering.wrapped(", ".join(where.get(name, ())), EM, room) or [""]
        for number, line in enumerate(places):
            part = harness.parts[name]
            ends = (name, ", ".join(part.places)) if number == 0 else ("", "")
            yield Line(cells=tuple(zip((ends[0], line, ends[1]), _PART_CELLS, strict=True)), under=heads)
    yield Line(cells=(("", 0.0),))
    words = ("Wire", "colour, size", "from", "to", "sheets")
    heads = Line(cells=tuple(zip(words, _WIRE_CELLS, strict=True)), heading=True)
    yield heads
    wires: dict[str, list[Segment]] = {}
    for segment in harness.segments:
        wires.setdefault(segment.wire, []).append(segment)
    for wire, pieces in sorted(wires.items(), key=lambda item: (len(item[0]), item[0])):
        first, last = pieces[0], pieces[-1]
        size = first.size.text.replace("mm2", "mm²") if first.size else ""
        sheets = in_short(int(place) for piece in pieces for place in where.get(f"wire {piece.name}", ()))
        cells = (wire, f"{first.colour or ''} {size}".strip(), first.a.node, last.b.node, sheets)
        yield Line(cells=tuple(zip(map(str, cells), _WIRE_CELLS, strict=True)), under=heads)


def _index_pages(frame: Frame, lines: Sequence[Line]) -> Iterator[tuple[Shape, ...]]:
    room = frame.room(upright=False)
    key, high = _colour_key(frame.harness, room)
    rooms = [Rect(room.left, room.top + high, room.right, room.bottom), room]
    for number, shapes in enumerate(flowed(lines, rooms, _COLUMNS[frame.paper])):
        yield (*key, *shapes) if number == 0 else shapes


def _colour_key(harness: Harness, room: Rect) -> tuple[list[Shape], float]:
    """Every colour of a wire as it is drawn, with its name."""
    colours = {str(s.colour): s.colour for s in harness.segments if s.colour}
    shapes: list[Shape] = [Text("Colours", (room.left, room.top + EM * 0.95), EM, bold=True)]
    x, y = room.left, room.top + 1.6 * LINE
    for name, colour in sorted(colours.items()):
        wide = _SWATCH + 2.0 + lettering.width(name, EM)
        if x > room.left and x + wide > room.right:
            x, y = room.left, y + LINE
        shapes += _swatch(colour, x, y)
        shapes.append(Text(name, (x + _SWATCH + 1.5, y + EM * 0.36), EM))
        x += wide + 5.0
    return shapes, y - room.top + 1.5 * LINE


def _swatch(colour: Colour, x: float, y: float) -> Iterable[Shape]:
    base, stripe = base_and_stripe(colour)
    line = ((x, y), (x + _SWATCH, y))
    yield Stroke(line, weight=1.4)
    yield Stroke(line, weight=0.9, colour=base)
    if stripe:
        yield Stroke(line, weight=0.4, dash="dashed", colour=stripe)
