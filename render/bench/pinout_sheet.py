"""Pin-outs: each plug from the wires and from its mating face, with what is in each cavity.

A face is drawn where the text gives its rows; without one a table says so, since no arrangement is made up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Final

from ...checks.bench.pieces import owed, pieces
from ...checks.bench.pinouts import Cavity, CavityWire, Plug, Row, plugs
from ...checks.tables.colours import letters
from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour
from ...lang.vocabulary.kinds import GAP
from ..drawing import lettering
from ..drawing.leaves import Leaf, as_files
from ..drawing.primitives import Rect, Shape, Stroke, Text, moved
from ..report.findings import counted
from .cut_list import seal_words
from .frame import EM, LINE, Book, Content, bound, box, shortened
from .marks import swatch
from .owed import owed_lines

if TYPE_CHECKING:
    from ...lang.model.harness import Harness

CAUTION: Final = "Count cavities on the plug itself, from the side that the drawing names, before a contact goes in."
CELL: Final = 14.5
"""mm that a cavity of a face is wide, where there is room (ours)."""
NARROWEST: Final = 8.0
"""mm; with narrower cells a face is too wide for the paper, and a table stands alone (ours)."""
HIGH: Final = 11.0
"""mm that a cavity is high, and ``SECOND`` mm more where a colour's letters need two lines."""
SECOND: Final = EM
BESIDE: Final = 8.0
"""mm between the two views, and between views and table."""
HEAD: Final = ("cavity", "colour", "", "size", "wire", "goes to", "crimp", "seal")
SHARES: Final = (12.0, 8.0, 17.0, 16.0, 17.0, 43.0, 37.0, 15.0)
"""mm of the columns where the table is as narrow as it may be; they widen together."""
WIDEST: Final = 1.6
"""A table is this many times as wide at most."""
VIEWS: Final = ("from the wires", "mating face")
OWED: Final = ("size", "colour", "ends", "face")


class NothingToDraw(ValueError):  # noqa: N818 (says what is wrong, as a user reads it)
    """A harness that has nothing to show on this sheet."""


def pinout_files(
    harness: Harness, stem: str, *, paper: str = "A4", formats: Iterable[str] = ("pdf",), revision: str = ""
) -> dict[str, bytes]:
    """The pin-outs as files by their names: ``STEM-pinouts.pdf``, or an SVG or PNG for each leaf.

    ``revision`` is that of the harness file in git, empty without one. Raises :class:`NothingToDraw`.
    """
    leaves = pinout_leaves(harness, paper=paper, revision=revision)
    return as_files(f"{stem}-pinouts", f"{harness.title or harness.file}: pin-outs", leaves, formats)


def pinout_leaves(harness: Harness, *, paper: str = "A4", revision: str = "") -> tuple[Leaf, ...]:
    """The leaves of these files. Raises :class:`NothingToDraw`."""
    found = pieces(harness)
    shown_plugs = plugs(harness, found)
    if not shown_plugs:
        raise NothingToDraw("no pin-outs: no wire ends in a connector, in a unit or in a part with a `housing`")
    book = Book(title=harness.title or harness.file, paper=paper, revision=revision)
    notes = owed_lines(harness, found, owed(harness, found), OWED)
    contents = _flowed(book, [block for plug in shown_plugs for block in _card(plug, book.room())], notes)
    return bound(book, contents)


# --- what a card is made of ------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Shapes from their own corner, and how high they are; what begins a plug is not left alone at a foot."""

    shapes: tuple[Shape, ...]
    height: float
    plug: str


def _card(plug: Plug, room: Rect) -> Iterator[Block]:
    """A plug: its name, its two views where a face is given, and its table, in parts where it is longer than a leaf."""
    head = _heading(plug, room.width)
    rows = list(_rows(plug))
    for across in (True, False):
        views = _views(plug, room.width, across=across)
        if views is not None and views.width + BESIDE + sum(SHARES) <= room.width:
            table = _table(rows, room.width - views.width - BESIDE)
            beside = _beside(plug, head, views, table)
            if beside.height <= room.height:
                yield beside
                return
    views = _views(plug, room.width, across=True) or _views(plug, room.width, across=False)
    table = _table(rows, room.width)
    if views is None:
        yield from _parts(plug, [_headed(head)], table, room)
        return
    drawn = tuple(moved(shape, 0, LINE * 1.6) for shape in views.shapes)
    top = Block(shapes=(*head, *drawn), height=views.height + LINE * 2.2, plug=plug.name)
    yield from _parts(plug, [top], table, room)


def _beside(plug: Plug, head: Sequence[Shape], views: Views, table: Sequence[Block]) -> Block:
    """The views at the left, the table at the right of them."""
    shapes = [*head, *(moved(shape, 0, LINE * 1.6) for shape in views.shapes)]
    top = LINE * 1.6
    for block in table:
        shapes += (moved(shape, views.width + BESIDE, top) for shape in block.shapes)
        top += block.height
    return Block(shapes=tuple(shapes), height=max(LINE * 1.6 + views.height, top) + LINE, plug=plug.name)


def _headed(head: Sequence[Shape]) -> Block:
    return Block(shapes=tuple(head), height=LINE * 1.6, plug="")


def _parts(plug: Plug, parts: list[Block], table: Sequence[Block], room: Rect) -> Iterator[Block]:
    """Table rows below what goes before; a plug that is longer than a leaf goes on with its name again."""
    for row in table:
        if sum(part.height for part in parts) + row.height > room.height - LINE:
            yield _stacked(plug, parts)
            again = (Text(f"{visible(plug.name)}, continued", (0.0, EM), EM * 1.3, bold=True),)
            parts = [_headed(again), table[0]]
        parts.append(row)
    yield _stacked(plug, parts)


def _stacked(plug: Plug, parts: Sequence[Block]) -> Block:
    shapes: list[Shape] = []
    top = 0.0
    for part in parts:
        shapes += (moved(shape, 0, top) for shape in part.shapes)
        top += part.height
    return Block(shapes=tuple(shapes), height=top + LINE, plug=plug.name)


def _heading(plug: Plug, width: float) -> list[Shape]:
    name = shortened(plug.name, width / 2, EM * 1.3, True)
    ways = counted(plug.ways, "way") if plug.ways is not None else "its housing is not stated"
    said = [
        ways,
        "sealed" if plug.sealed else "",
        f"at {plug.place}" if plug.place else "",
        plug.label or "",
        "kept" if plug.kept else "",
        _face_remark(plug, width),
    ]
    left = lettering.width(name, EM * 1.3, True) + 3.0
    words = shortened("; ".join(word for word in said if word), width - left)
    return [Text(name, (0.0, EM * 1.1), EM * 1.3, bold=True), Text(words, (left, EM * 1.1), EM)]


def _face_remark(plug: Plug, width: float) -> str:
    """Why a plug has a table alone."""
    columns = max(map(len, plug.mating), default=0)
    if not columns:
        return "no face is given in the file: cavities in the order of the text"
    return "" if columns * NARROWEST <= width else f"its face is too wide for this paper: {columns} columns"


# --- faces -----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Views:
    shapes: tuple[Shape, ...]
    width: float
    height: float


def _views(plug: Plug, room: float, *, across: bool) -> Views | None:
    """Both views of a face beside each other (``across``) or below each other; ``None`` without a face, and where it
    is wider than the paper.
    """
    columns = max(map(len, plug.mating), default=0)
    if not columns:
        return None
    cell = CELL if across else min(CELL, room / columns)
    title = max(lettering.width(words, EM) for words in VIEWS)
    width, height = max(columns * cell, title), len(plug.mating) * face_height(plug, cell) + LINE
    dx, dy = (width + BESIDE, 0.0) if across else (0.0, height + LINE * 0.6)
    if cell < NARROWEST or dx + width > room:
        return None
    shapes = (
        Text(VIEWS[0], (0.0, EM), EM),
        Text(VIEWS[1], (dx, dy + EM), EM),
        *(moved(shape, 0.0, LINE) for shape in face(plug, plug.from_wires, cell)),
        *(moved(shape, dx, dy + LINE) for shape in face(plug, plug.mating, cell)),
    )
    return Views(shapes=shapes, width=dx + width, height=dy + height)


def face(plug: Plug, rows: Sequence[Row], cell: float = CELL) -> list[Shape]:
    """The cavities of a face as a grid from its own corner: number, colour drawn and in letters."""
    by_name = {cavity.name: cavity for cavity in plug.cavities}
    high = face_height(plug, cell)
    shapes: list[Shape] = []
    for down, row in enumerate(rows):
        for across, name in enumerate(row):
            if name != GAP:
                left, top = across * cell, down * high
                shapes += (moved(shape, left, top) for shape in _cavity(by_name[name], cell, high))
    return shapes


def face_height(plug: Plug, cell: float) -> float:
    """mm that each of a plug's cavities is high."""
    two = any(len(_in_cell(cavity.wires, cell - 1.0)) > 1 for cavity in plug.cavities if cavity.wires)
    return HIGH + SECOND * two


def _cavity(cavity: Cavity, cell: float, high: float) -> Iterator[Shape]:
    yield box(0.3, 0.3, cell - 0.3, high - 0.3, weight=0.3)
    yield Text(cavity.name, (cell / 2, 0.9 + EM * 0.8), EM, bold=True, anchor="middle")
    if not cavity.wires:
        said = "blank" if cavity.blank else "empty"
        yield Text(said, (cell / 2, high - 3.2), EM, anchor="middle", tone="faint")
        return
    lines = _in_cell(cavity.wires, cell - 1.0)
    bottom = high - 1.5 - EM * len(lines)
    wide = (cell - 2.4) / len(cavity.wires)
    for number, wire in enumerate(cavity.wires):
        left = 1.2 + wide * number
        yield from swatch(wire.piece.colour, left, 3.8, left + wide, bottom)
    for number, line in enumerate(reversed(lines)):
        yield Text(line, (cell / 2, high - 1.0 - EM * number), EM, anchor="middle")


def _in_cell(wires: Sequence[CavityWire], room: float) -> list[str]:
    """The colour in letters, on two lines where the cell is narrow; of several wires that of the first, and how many
    more there are.
    """
    more = f"+{len(wires) - 1}" if len(wires) > 1 else ""
    colour = wires[0].piece.colour
    whole = f"{_letters(colour)} {more}".strip()
    if lettering.width(whole, EM) <= room:
        return [whole]
    parts = ["", more]
    if colour is not None:
        base = letters(Colour(colour.base))
        parts = [f"{base}/", f"{letters(Colour(colour.stripe))} {more}".strip()] if colour.stripe else [base, more]
    return [shortened(part, room) for part in parts if part]


def _letters(colour: Colour | None) -> str:
    return "" if colour is None else letters(colour)


# --- tables ----------------------------------------------------------------------------------------------------------
_Cells = tuple[str, Colour | None, str, str, str, str, str, str]
"""Cavity, colour as the language has it, its letters, and the other columns."""


def _rows(plug: Plug) -> Iterator[tuple[_Cells, bool]]:
    """The cells of each row, and whether its wire is kept. Empty cavities that follow each other share a row."""
    for (filled, blank, spare), group in groupby(plug.cavities, key=lambda c: (bool(c.wires), c.blank, c.spare)):
        cavities = list(group)
        if not filled:
            names = cavities[0].name if len(cavities) == 1 else f"{cavities[0].name} to {cavities[-1].name}"
            said = _empty(blank=blank, count=len(cavities)) + (", left for later" if spare else "")
            yield (names, None, "", "", "", said, "", ""), False
            continue
        for cavity in cavities:
            for number, wire in enumerate(cavity.wires):
                yield _cells("" if number else cavity.name, wire, cavity.wires[:number]), wire.piece.kept
    if plug.unused:
        said = f"{counted(plug.unused, 'more way')}: {_empty(blank=plug.sealed, count=plug.unused)}"
        yield ("", None, "", "", "", said, "", ""), False


def _empty(*, blank: bool, count: int) -> str:
    return ("blanking plug" if count == 1 else "blanking plugs") if blank else "empty"


def _cells(name: str, wire: CavityWire, before: Sequence[CavityWire]) -> _Cells:
    piece, end, other = wire.piece, wire.end, wire.other
    shares = any(each.piece.name in end.beside for each in before)
    return (
        name,
        piece.colour,
        _letters(piece.colour),
        piece.size.text if piece.size else "",
        f"{piece.name} (kept)" if piece.kept else piece.name,
        f"{other.name} at {other.place}" if other.place and other.end is not None else other.name,
        "in the same crimp" if shares else end.crimp.name if end.crimp is not None else "",
        seal_words(end).removeprefix("seal for "),
    )


def _table(rows: Sequence[tuple[_Cells, bool]], width: float) -> list[Block]:
    """The head, then each row, as wide as there is room."""
    width = min(width, WIDEST * sum(SHARES))
    grown = [share * min(1.3, width / sum(SHARES)) for share in SHARES]
    grown[HEAD.index("goes to")] += width - sum(grown)
    lefts = [sum(grown[:place]) for place in range(len(grown) + 1)]
    rule = Stroke(((0.0, LINE * 1.15), (lefts[-1], LINE * 1.15)), weight=0.3)
    heads: list[Shape] = [
        Text(word, (left, EM * 0.95), EM, bold=True) for word, left in zip(HEAD, lefts, strict=False) if word
    ]
    blocks = [Block(shapes=(*heads, rule), height=LINE * 1.35, plug="")]
    for cells, kept in rows:
        shapes: list[Shape] = []
        for place, (left, right) in enumerate(pairwise(lefts)):
            cell = cells[place]
            if place == 1:
                if cells[4]:  # a wire, with its colour or with none that is stated
                    shapes += swatch(cells[1], left, 0.5, right - 1.5, 2.7)
            elif isinstance(cell, str) and cell:
                words = shortened(cell, right - left - 1.2)
                shapes.append(Text(words, (left, EM * 0.95), EM, bold=place == 0, tone="faint" if kept else "ink"))
        thin = Stroke(((0.0, LINE * 1.08), (lefts[-1], LINE * 1.08)), weight=0.1, colour="#999999")
        blocks.append(Block(shapes=(*shapes, thin), height=LINE * 1.14, plug=""))
    return blocks


# --- onto leaves -----------------------------------------------------------------------------------------------------
def _flowed(book: Book, blocks: Sequence[Block], notes: Sequence[str]) -> list[Content]:
    """Cards one below the other, a new leaf where one does not fit; what the text owes comes last."""
    room = book.room()
    lines = [line for note in notes for line in lettering.wrapped(visible(note), EM, room.width)]
    if lines:
        blocks = [*blocks, *(Block(shapes=(Text(line, (0.0, EM), EM),), height=LINE, plug="") for line in lines)]
    contents: list[Content] = []
    shapes: list[Shape] = []
    names: list[str] = []
    top = room.top
    for block in blocks:
        if shapes and top + block.height > room.bottom + LINE:
            contents.append(_content(shapes, names))
            shapes, names, top = [], [], room.top
        shapes += (moved(shape, room.left, top) for shape in block.shapes)
        names += [block.plug] if block.plug else []
        top += block.height
    contents.append(_content(shapes, names))
    return contents


def _content(shapes: Sequence[Shape], names: Sequence[str]) -> Content:
    plugs_said = ", ".join(dict.fromkeys(names)) or "what the harness file does not say"
    return Content(
        sheet="pin-outs",
        about=f"Cavities of {plugs_said}: number, colour, size, wire and where it goes, from the wires and from the "
        "mating face where the file gives one.",
        shapes=tuple(shapes),
        detail="not to scale; letters of colours: IEC 60757, lt light, dk dark",
        caution=CAUTION,
    )
