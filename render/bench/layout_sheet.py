"""The layout of each loom: drawn to scale with what is in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from ...checks.bench.board import board
from ...checks.bench.looms import looms
from ...checks.bench.pegs import pegs
from ...checks.bench.pieces import owed, pieces
from ...checks.bench.pinouts import plugs
from ...checks.bench.tree import loom_trees
from ...lang.quantities.quantity import Quantity, shown
from ..drawing.leaves import Leaf, as_files
from ..drawing.primitives import Rect, moved
from ..report.findings import counted
from .frame import Book, Content, bound
from .leaf_text import Line, flowed, lines_of, width_of
from .one_to_one import board_shapes, crowded, face_leaves, label_length, leaves_of, place_area
from .overview import overview, tags_of
from .owed import owed_lines
from .peg_list import CAUTION as PEG_CAUTION
from .peg_list import Listed, peg_lines, pegs_csv
from .sheets import millimetres

if TYPE_CHECKING:
    from ...checks.bench.pieces import Piece
    from ...checks.bench.pinouts import Plug
    from ...checks.bench.tree import Course, LoomTree, Spot
    from ...lang.model.harness import Harness

CAUTION: Final = "Compare lengths with the motorcycle before the first cut. Figures are those of the harness file."
SIGNS: Final = (
    "box: half of a plug, open for sockets and filled for pins; ring: part; bars: ground; thick line: new wires; grey "
    "and dashed: kept, not counted in a bundle; number behind a name: mm from the peg of its place. Stretches have "
    "the lengths of their routes; the slack of their wires lies in them"
)
OWED: Final = ("size", "cover", "face")
COLUMN: Final = 85.0
"""mm of a column of the list, at least."""


def layout_files(
    harness: Harness,
    stem: str,
    *,
    paper: str = "A4",
    formats: Iterable[str] = ("pdf", "csv"),
    revision: str = "",
    tiles: bool = False,
) -> dict[str, bytes]:
    """The layout as files by their names: ``STEM-layout.pdf``, or an SVG or PNG for each leaf, and as ``csv`` the peg
    list, ``STEM-pegs.csv``.

    ``tiles``: with each board at 1:1. Raises :class:`CannotLayError`.
    """
    listed = boards(harness)
    files: dict[str, bytes] = {}
    if drawn := [each for each in formats if each != "csv"]:
        leaves = layout_leaves(harness, listed, paper=paper, revision=revision, tiles=tiles)
        files |= as_files(f"{stem}-layout", f"{harness.title or harness.file}: layout", leaves, drawn)
    if "csv" in formats:
        files[f"{stem}-pegs.csv"] = pegs_csv(listed).encode("utf-8", "backslashreplace")
    return files


def boards(harness: Harness) -> list[Listed]:
    """Each loom on its board, with its pegs. Raises :class:`CannotLayError`."""
    found = pieces(harness)
    made = [board(tree, label_length) for tree in loom_trees(harness, looms(harness, found), found)]
    return [(each, pegs(each)) for each in made]


def layout_leaves(
    harness: Harness, listed: Sequence[Listed], *, paper: str = "A4", revision: str = "", tiles: bool = False
) -> tuple[Leaf, ...]:
    """The leaves: each loom, the peg list, crowded places and plug faces, and with ``tiles`` whole boards."""
    found = pieces(harness)
    book = Book(title=harness.title or harness.file, paper=paper, revision=revision)
    halves = {plug.name: plug for plug in plugs(harness, found)}
    contents = [content for each, _ in listed for content in _loom(book, each.tree)]
    contents += _pegs(book, listed, owed_lines(harness, found, owed(harness, found), OWED))
    faces: list[tuple[str, int, Plug]] = []
    whole: list[Content] = []
    for each, here in listed:
        name = each.tree.loom.name
        shapes = board_shapes(each, here)
        for place in crowded(each):
            about = f"The legs of {place} in loom {name} at 1:1, each with its peg and its wires."
            contents += leaves_of(book, f"{place}, loom {name}", shapes, place_area(each, place), about=about)
        ended = [peg for peg in here if peg.sort == "leg end" and peg.name in halves]
        faces += ((name, peg.number, halves[peg.name]) for peg in ended)
        if tiles:
            about = f"The board of loom {name} at 1:1."
            area = Rect(0.0, 0.0, each.width, each.height)
            whole += leaves_of(book, f"tile of loom {name}", shapes, area, about=about)
    contents += face_leaves(book, faces)
    contents += whole
    return bound(book, contents)


def _pegs(book: Book, listed: Sequence[Listed], notes: Sequence[str]) -> Iterator[Content]:
    """The peg list of all looms, and below it what the text does not say."""
    room = book.room()
    columns = max(1, int((room.width + 6.0) // (COLUMN + 6.0)))
    lines = [line for each, here in listed for line in peg_lines(each, here, width_of(room, columns))]
    lines += (line for note in notes for line in lines_of(note, width_of(room, columns)))
    for shapes in flowed(lines, [room], columns):
        yield Content(
            sheet="peg list",
            about="Where the pegs of each loom go on its board.",
            shapes=shapes,
            detail="mm from the lower left corner of the board, x to the right, y up",
            caution=PEG_CAUTION,
        )


def _loom(book: Book, tree: LoomTree) -> list[Content]:
    """A loom's drawing with its list below it; what of that does not fit is on separate leaves."""
    room = book.room()
    columns = max(1, int((room.width + 6.0) // (COLUMN + 6.0)))
    lines = list(_list(tree, width_of(room, columns)))
    drawn = overview(tree, room.width, room.height)
    shapes = tuple(moved(s, room.left + (room.width - drawn.width) / 2, room.top) for s in drawn.shapes)
    below = Rect(room.left, room.top + drawn.height + 4.0, room.right, room.bottom)
    texts = list(flowed(lines, [below, room], columns))
    detail = f"1:{shown(drawn.scale)} along trunk and branches; legs: mm behind their names"
    sheet = f"layout of loom {tree.loom.name}"
    return [
        Content(
            sheet=sheet if number == 0 else f"{sheet}, list",
            about=f"{sheet}",
            shapes=(*shapes, *text) if number == 0 else text,
            detail=detail if number == 0 else "",
            caution=CAUTION,
        )
        for number, text in enumerate(texts)
    ]


def _list(tree: LoomTree, width: float) -> Iterator[Line]:
    """Stretch by stretch and place by place: what is in it."""
    tags = tags_of(tree)
    if tree.courses:
        yield from lines_of("stretches", width, heading=True)
    for course in (*tree.courses, *tree.opened):
        yield from lines_of(f"{tags[frozenset((course.a, course.b))]}  {_course_words(course)}", width)
    for spot in tree.spots.values():
        yield from _spot(spot, width)
    yield from lines_of("signs", width, heading=True)
    yield from lines_of(SIGNS, width)
    if tree.astray:
        names = ", ".join(piece.name for piece in tree.astray)
        yield from lines_of(f"kept and not drawn, since their route is not known: {names}", width)


def _course_words(course: Course) -> str:
    said = [f"{course.a} - {course.b}: {millimetres(course.length)}"]
    if (new := course.new) is not None:
        sizes = ", ".join(f"{count} of {size}" for size, count in new.sizes)
        if new.unsized:
            sizes += f", {len(new.unsized)} of no size"
        tight, loose = (shown(Quantity(each, "mm"), 2) for each in (new.tight, new.loose))
        said += [new.cover or "cover owed", f"{counted(len(new.pieces), 'wire')} ({sizes.removeprefix(', ')})"]
        said += [f"{tight} across pulled tight, {loose} in a sleeve"]
        if new.flexing:
            said += [f"bend radius at least {shown(Quantity(new.bend, 'mm'), 2)}"]
    if course.kept:
        beside = "kept beside it" if course.new is not None else "kept wires alone"
        said += [f"{beside}: {', '.join(course.kept)}"]
    return ", ".join(said)


def _spot(spot: Spot, width: float) -> Iterator[Line]:
    said = [counted(len(spot.legs), "leg")] if spot.legs else []
    if spot.splices:
        said.append(counted(len(spot.splices), "splice"))
    if spot.inside:
        said.append(f"{counted(len(spot.inside), 'wire')} inside")
    yield from lines_of(f"{spot.place}: {', '.join(said) or 'passed'}", width, heading=True)
    for leg in spot.legs:
        new = [piece.name for piece in leg.pieces if not piece.kept]
        kept = [piece.name for piece in leg.pieces if piece.kept]
        wires = ", ".join(new) + (f"{'; ' if new else ''}kept {', '.join(kept)}" if kept else "")
        yield from lines_of(f"{leg.name} {millimetres(leg.length)}: {wires}", width, faint=leg.kept)
    if spot.splices:
        yield from lines_of(f"splices: {', '.join(spot.splices)}", width)
    for piece in spot.inside:
        yield from lines_of(_inside_words(piece), width, faint=piece.kept)


def _inside_words(piece: Piece) -> str:
    kept = " (kept)" if piece.kept else ""
    length = f", {millimetres(piece.finished)}" if piece.finished is not None else ""
    return f"inside: {piece.name}{kept} {piece.a.name} - {piece.b.name}{length}"
