"""The peg list of each loom: for a terminal, as CSV and as lines for a leaf."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import shown
from .leaf_text import Line, lines_of
from .sheets import columns, csv_text

if TYPE_CHECKING:
    from ...checks.bench.board import Board
    from ...checks.bench.pegs import Peg

Listed = tuple["Board", Sequence["Peg"]]
"""A loom on its board with its pegs."""

COLUMNS: Final = ("loom", "peg", "what", "name", "place", "x_mm", "y_mm", "note")
CAUTION: Final = (
    "x to the right and y up from the lower left corner of the board; check two lengths before wire is laid."
)


def _mm(value: float) -> str:
    return shown(round(value, 1) + 0.0, 6)


def board_words(board: Board) -> str:
    """``loom main: board of 1,570 x 640 mm``."""
    return f"loom {board.tree.loom.name}: board of {_mm(board.width)} x {_mm(board.height)} mm"


def pegs_text(listed: Iterable[Listed]) -> str:
    """Loom by loom, ending in a line feed."""
    lines: list[str] = []
    for board, found in listed:
        rows = [("peg", "x mm", "y mm", "what", "name", "at", "")]
        rows += [
            (str(p.number), _mm(p.at[0]), _mm(p.at[1]), p.sort, p.name, p.place if p.sort != "place" else "", p.note)
            for p in found
        ]
        lines += [board_words(board), *columns(rows, right=(0, 1, 2)), ""]
    return "".join(f"{visible(line).rstrip()}\n" for line in [*lines, CAUTION])


def pegs_csv(listed: Iterable[Listed]) -> str:
    """One row a peg."""
    return csv_text(
        COLUMNS,
        (
            (
                board.tree.loom.name,
                str(peg.number),
                peg.sort,
                peg.name,
                peg.place,
                str(round(peg.at[0], 1) + 0.0),
                str(round(peg.at[1], 1) + 0.0),
                peg.note,
            )
            for board, found in listed
            for peg in found
        ),
    )


_STARTS: Final = (0.0, 0.08, 0.19, 0.30, 0.46, 0.80)
"""Where the columns of a leaf begin, in shares of its width: peg, x, y, what, name, place."""


def peg_lines(board: Board, found: Sequence[Peg], width: float) -> Iterator[Line]:
    """The same for a leaf; a note has a separate line."""
    yield from lines_of(board_words(board), width, heading=True)
    yield Line(cells=tuple(zip(("peg", "x", "y", "what", "name", "at"), _STARTS, strict=True)), heading=True)
    for peg in found:
        place = "" if peg.sort == "place" else peg.place
        cells = (str(peg.number), _mm(peg.at[0]), _mm(peg.at[1]), peg.sort, peg.name, place)
        yield Line(cells=tuple(zip(cells, _STARTS, strict=True)))
        for line in lines_of(peg.note, width * (1.0 - _STARTS[1]), faint=True):
            yield Line(cells=tuple((words, _STARTS[1]) for words, _ in line.cells), faint=True)
    yield Line(cells=())
