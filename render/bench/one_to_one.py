"""The board at 1:1 on paper: crowded places, plug faces, and the whole in tiles, each with a bar of 100 mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...checks.bench.blocks import Direction, Taken, block
from ...checks.bench.board import NOTE, Board, note_at
from ...checks.bench.combs import Tooth
from ...checks.bench.frame import Frame, LaidCourse
from ...checks.bench.tree import Course, Leg
from ...checks.tables.colours import letters
from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.leaves import Window
from ..drawing.primitives import Circle, Dash, Point, Rect, Shape, Stroke, Text, extent, moved
from .frame import EM, LINE, Book, Content, shortened
from .marks import GREY, SIGN, across, along_text, kept_line, off, opened_words, sign, thickness, way_between
from .pinout_sheet import CELL, face, face_height
from .sheets import millimetres

if TYPE_CHECKING:
    from ...checks.bench.pegs import Peg
    from ...checks.bench.pinouts import Plug

CROWDED: Final = 6
"""A place with this many legs or more has a separate leaf (ours)."""
BAR: Final = 100.0
FOOT: Final = 9.0
"""mm that the bar takes."""
LAP: Final = 10.0
"""mm that a tile shows of its neighbours, to lay them on each other (ours)."""
WIRES: Final = 42.0
"""mm of a line that names wires at the end of a leg; ``ROWS`` of them at most."""
ROWS: Final = 3
CAUTION: Final = "Print at 100 %, and measure the bar: printers scale what they print."


# --- the board in mm, y down -----------------------------------------------------------------------------------------
def label_length(of: Leg | Course) -> float:
    """mm that the label behind the end of a leg takes, with its sign."""
    if isinstance(of, Course):
        return SIGN + 10.0 + max(lettering.width(opened_words(of, place), EM) for place in (of.a, of.b))
    rows = _wire_rows(of)
    name = lettering.width(visible(of.name), EM, True) + 8.0
    return SIGN + 2.0 + max(min(name, WIRES + 8.0), *(lettering.width(row, EM) for row in rows))


def _wire_rows(leg: Leg) -> list[str]:
    """The wires of a leg with their colours in letters, on a few lines."""
    said = []
    for piece in leg.pieces:
        colour = f" {letters(piece.colour)}" if piece.colour else ""
        said.append(f"{visible(piece.name)}{colour}{' kept' if piece.kept else ''}")
    for count in range(len(said), 0, -1):
        more = f"and {len(said) - count} more" if count < len(said) else ""
        words = [f"{each}," for each in said[:count]]
        words[-1] = words[-1].removesuffix("," if not more else "\0")
        rows = _packed([*words, *([more] if more else [])])
        if len(rows) <= ROWS or count == 1:
            return [shortened(row, WIRES) for row in rows[:ROWS]]
    return []


def _packed(words: Sequence[str]) -> list[str]:
    """Words on lines; what is one word here is not torn."""
    rows: list[str] = []
    for each in words:
        if rows and lettering.width(f"{rows[-1]} {each}", EM) <= WIRES:
            rows[-1] = f"{rows[-1]} {each}"
        else:
            rows.append(each)
    return rows


def board_shapes(board: Board, pegs: Sequence[Peg]) -> tuple[Shape, ...]:
    """All that lies on a board, at 1:1 from its upper left corner."""
    laid = board.frame.on_paper(height=board.height)
    numbers: dict[tuple[str, str, str], int] = {(peg.sort, peg.name, peg.place): peg.number for peg in pegs}

    def down(point: Point) -> Point:
        return point[0], board.height - point[1]

    shapes: list[Shape] = []
    teeth = [_down(tooth.moved(down)) for tooth in board.teeth]
    for place in laid.pegs:
        shapes += _spine(laid.pegs[place], [tooth for tooth in teeth if tooth.place == place])
    for each in laid.courses:
        shapes += _bundle(each)
    for place in laid.pegs:
        shapes += _peg(laid.pegs[place])
    for splice in board.splices:
        shapes.append(Circle(down(splice.at), 1.2, 0.3, filled=True))
    for tooth in teeth:
        shapes += _tooth(tooth, numbers)
    return (*shapes, *_notes(board, laid, teeth, numbers))


def _notes(
    board: Board, laid: Frame, teeth: Sequence[Tooth], numbers: Mapping[tuple[str, str, str], int]
) -> Iterator[Shape]:
    """The names of places and splices beside the loom, and what each stretch is: as far as they are clear of each other
    and of legs; of a name at least the peg's number.
    """
    beside = dict.fromkeys(laid.pegs, 1.4)
    for each in laid.courses:
        for place in each.places:
            beside[place] = max(beside[place], _half(each.course))
    taken = Taken(
        block(tooth.foot, tooth.direction, math.dist(tooth.foot, tooth.tip) + label_length(tooth.wanted.of), 0.5)
        for tooth in teeth
    )
    wanted = [(("place", place, place), note_at(board.frame, place), True) for place in laid.pegs]
    wanted += ((("splice", splice.name, splice.place), splice.at, False) for splice in board.splices)
    for key, (x, y), bold in wanted:
        square = _square(laid.along[key[2]])
        name = shortened(f"{numbers[key]} {key[1]}", NOTE - 6.0, EM, bold)
        choices = [(words, way) for words in (name, str(numbers[key])) for way in (square, (-square[0], -square[1]))]
        for words, way in choices:
            start = off((x, board.height - y), way, max(beside[key[2]] + 1.6, 3.0))
            room = block(start, way, lettering.width(words, EM, bold), EM / 2)
            if words is choices[-1][0] or not taken.clashes(room):
                taken.add(room)
                yield along_text(words, start, way, bold=bold)
                break
    for each in laid.courses:
        words, way = _course_words(each), way_between(each.a, each.b)
        wide = lettering.width(words, EM)
        middle = off(each.a, way, math.dist(each.a, each.b) / 2)
        text = along_text(words, middle, way, middle=True, line=-(_half(each.course) + 1.6) / EM - 0.5)
        room = block(off(middle, way, -wide / 2 - 1.0), way, wide + 2.0, _half(each.course) + 2.0 + EM)
        if wide + 40.0 < math.dist(each.a, each.b) and not taken.clashes(room):
            taken.add(room)
            yield text


def _course_words(each: LaidCourse) -> str:
    """What a stretch is: its places, length, cover and thickness."""
    new = each.course.new
    cover = "kept wires alone" if new is None else new.cover or ""
    said = (f"{each.places[0]} - {each.places[1]}", millimetres(each.course.length), cover, across(each.course))
    return shortened(", ".join(filter(None, said)), 100.0)


def _square(way: Direction) -> Direction:
    """Square to a limb, to the side on which names stand; y down."""
    return way[1], -way[0]


def _down(tooth: Tooth) -> Tooth:
    return replace(tooth, direction=(tooth.direction[0], -tooth.direction[1]))


def _bundle(each: LaidCourse) -> Iterator[Shape]:
    """A stretch as thick as it is, so that what lies on it can be seen; kept wires beside it."""
    way = way_between(each.a, each.b)
    half = _half(each.course)
    if each.course.new is not None:
        sides = [(off(each.a, way, 0.0, side), off(each.b, way, 0.0, side)) for side in (-half, half)]
        yield from (Stroke(points, weight=0.3) for points in sides)
        yield Stroke((each.a, each.b), weight=0.15, dash="dash-dot")
    if each.course.kept:
        yield kept_line(each, half + 0.8 if each.course.new is not None else 0.0)


def _half(course: Course) -> float:
    """mm from the middle of a bundle to its outside; one of unknown sizes is drawn thin."""
    return max(thickness(course) / 2, 0.8)


def _peg(at: Point) -> Iterator[Shape]:
    """A cross in a ring."""
    yield Circle(at, 2.0, 0.4)
    yield Stroke((off(at, (1.0, 0.0), -4.0), off(at, (1.0, 0.0), 4.0)), weight=0.25)
    yield Stroke((off(at, (0.0, 1.0), -4.0), off(at, (0.0, 1.0), 4.0)), weight=0.25)


def _spine(peg: Point, teeth: Sequence[Tooth]) -> Iterator[Shape]:
    """The way along the loom from a peg to where its legs leave."""
    for tooth in teeth:
        if math.dist(peg, tooth.foot) > 0.01:
            yield Stroke((peg, tooth.foot), weight=0.5)


def _tooth(tooth: Tooth, numbers: Mapping[tuple[str, str, str], int]) -> Iterator[Shape]:
    of, way = tooth.wanted.of, tooth.direction
    kept = isinstance(of, Leg) and of.kept
    dash: Dash = "dashed" if kept or isinstance(of, Course) else ""
    yield Stroke((tooth.foot, tooth.tip), weight=0.4, dash=dash, colour=GREY if kept else "")
    yield from sign(of, tooth.tip, way)
    start = off(tooth.tip, way, SIGN + 1.0)
    if isinstance(of, Course):
        number = numbers["loop end", f"{of.a} - {of.b}", tooth.place]
        yield along_text(f"{number} {opened_words(of, tooth.place)}", start, way)
        return
    over = f", {millimetres(of.length)} from the peg" if tooth.over > 0.5 else ""
    words = f"{numbers['leg end', of.name, tooth.place]} {of.name}{over}"
    yield along_text(shortened(words, WIRES + 8.0, EM, True), start, way, bold=True, faint=kept)
    if tooth.labelled:
        for row, said in enumerate(_wire_rows(of), 1):
            yield along_text(said, start, way, faint=True, line=1.15 * row)


# --- onto leaves -----------------------------------------------------------------------------------------------------
def bar(left: float, base: float) -> Iterator[Shape]:
    """A bar of 100 mm with its ends marked."""
    yield Stroke(((left, base), (left + BAR, base)), weight=0.4)
    for at in (0.0, 50.0, BAR):
        yield Stroke(((left + at, base - 2.0), (left + at, base + 2.0)), weight=0.25)
    yield Text("100 mm", (left + BAR + 2.0, base + 0.9), EM)


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece of the board, ``row`` and ``column`` from 1, its upper left corner in mm from that of the board."""

    row: int
    column: int
    left: float
    top: float


def hole(book: Book, *, upright: bool) -> Rect:
    """Where a leaf shows the board."""
    room = book.room(upright=upright)
    return Rect(room.left, room.top, room.right, room.bottom - FOOT)


def cut_up(area: Rect, book: Book) -> tuple[bool, list[Cut]]:
    """How an area is cut so that fewest leaves are needed: whether they are upright, and what each shows."""
    best: tuple[bool, list[Cut]] = (False, [])
    for upright in (False, True):
        room = hole(book, upright=upright)
        across_, down = (
            max(1, math.ceil((side - LAP) / (space - LAP) - 1e-9))
            for side, space in ((area.width, room.width), (area.height, room.height))
        )
        # What is left over lies around the area, the same at both sides.
        left = area.left - (across_ * (room.width - LAP) + LAP - area.width) / 2
        top = area.top - (down * (room.height - LAP) + LAP - area.height) / 2
        cuts = [
            Cut(row + 1, column + 1, left + column * (room.width - LAP), top + row * (room.height - LAP))
            for row in range(down)
            for column in range(across_)
        ]
        if not best[1] or len(cuts) < len(best[1]):
            best = upright, cuts
    return best


def leaves_of(book: Book, name: str, shapes: Sequence[Shape], area: Rect, *, about: str) -> Iterator[Content]:
    """An area of a board at 1:1 on as many leaves as it takes; those with nothing on them are left out."""
    upright, cuts = cut_up(area, book)
    room = hole(book, upright=upright)
    boxes = [(shape, extent((shape,))) for shape in shapes]
    for cut in cuts:
        seen = Rect(cut.left, cut.top, cut.left + room.width, cut.top + room.height)
        here = [shape for shape, box in boxes if _meets(seen, box)]
        if len(cuts) == 1:  # nothing goes on elsewhere: no words that are cut off
            here = [shape for shape in here if not isinstance(shape, Text) or seen.contains(shape.box)]
        if not here:
            continue
        dx, dy = room.left - cut.left, room.top - cut.top
        said = f"row {cut.row}, column {cut.column}" if len(cuts) > 1 else ""
        marks = list(_laps(room)) if len(cuts) > 1 else []
        yield Content(
            sheet=f"{name}{f': {said}' if said else ''}",
            about=about,
            shapes=(*bar(room.left, room.bottom + FOOT / 2 + 1.0), *marks),
            detail="1:1",
            caution=CAUTION,
            windows=(Window(hole=room, shapes=tuple(moved(shape, dx, dy) for shape in here)),),
            upright=upright,
        )


def _meets(seen: Rect, box: Rect) -> bool:
    return seen.left < box.right and box.left < seen.right and seen.top < box.bottom and box.top < seen.bottom


def _laps(room: Rect) -> Iterator[Shape]:
    """Lines at which a tile is laid onto its neighbours: in the middle of what both show."""
    half = LAP / 2
    for x in (room.left + half, room.right - half):
        for top, bottom in ((room.top, room.top + 6.0), (room.bottom - 6.0, room.bottom)):
            yield Stroke(((x, top), (x, bottom)), weight=0.15)
    for y in (room.top + half, room.bottom - half):
        for left, right in ((room.left, room.left + 6.0), (room.right - 6.0, room.right)):
            yield Stroke(((left, y), (right, y)), weight=0.15)


def crowded(board: Board) -> list[str]:
    """The places with as many legs as are shown at 1:1."""
    return [place for place in board.frame.pegs if sum(tooth.place == place for tooth in board.teeth) >= CROWDED]


def place_area(board: Board, place: str) -> Rect:
    """What the legs of a place cover with their labels, in mm from the upper left corner of the board."""
    peg = board.frame.pegs[place]
    points = [peg]
    for tooth in board.teeth:
        if tooth.place == place:
            points += [tooth.foot, off(tooth.tip, tooth.direction, label_length(tooth.wanted.of))]
    xs, ys = [x for x, _ in points], [board.height - y for _, y in points]
    return Rect(min(xs) - 8.0, min(ys) - 4.0, max(xs) + 8.0, max(ys) + 4.0)


# --- plug faces ------------------------------------------------------------------------------------------------------
def face_leaves(book: Book, plugs: Sequence[tuple[str, int, Plug]]) -> Iterator[Content]:
    """The faces of plugs as seen from the wires, to lay where each plug lies on its board: loom, peg and plug."""
    room = hole(book, upright=False)
    shapes: list[Shape] = []
    left, top, deep = room.left, room.top, 0.0
    pages: list[list[Shape]] = []
    for loom, number, plug in plugs:
        columns = max(map(len, plug.mating), default=0)
        if not columns or columns * CELL > room.width:
            continue
        words = shortened(f"loom {loom}, peg {number}: {plug.name}, from the wires", room.width, EM, True)
        wide = max(columns * CELL, lettering.width(words, EM, True))
        high = LINE * 1.3 + len(plug.mating) * face_height(plug, CELL)
        if left > room.left and left + wide > room.right:
            left, top, deep = room.left, top + deep + 5.0, 0.0
        if shapes and top + high > room.bottom:
            pages.append(shapes)
            shapes, left, top, deep = [], room.left, room.top, 0.0
        shapes.append(Text(words, (left, top + EM), EM, bold=True))
        shapes += (moved(shape, left, top + LINE * 1.3) for shape in face(plug, plug.from_wires))
        left += wide + 8.0
        deep = max(deep, high)
    pages += [shapes] if shapes else []
    for page in pages:
        yield Content(
            sheet="plug faces",
            about="Plugs as seen from the wires: cavities with number and colour.",
            shapes=(*page, *bar(room.left, room.bottom + FOOT / 2 + 1.0)),
            detail="arrangement as the file gives it; plugs are not drawn in their size",
            caution=CAUTION,
        )
