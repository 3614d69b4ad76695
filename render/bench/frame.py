"""What is around the drawings for the bench: a border, and a title block with page, revision and a caution."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.leaves import Leaf, Window
from ..drawing.primitives import Rect, Shape, Stroke, Text
from ..report.tag_sheet import SMALL, paper_size

EM: Final = round(SMALL + 0.03, 2)
"""mm: lettering whose capitals are 1.8 mm high, and a little more for rounding."""
LINE: Final = 1.25 * EM
"""mm from line to line."""
EDGE: Final = 6.0
"""mm from the edge of the paper to the border: what printers leave white (ours)."""
BLOCK: Final = 9.0
"""mm that the title block is high."""
INNER: Final = 3.0
"""mm kept free inside the border."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """What all leaves of one document share."""

    title: str
    paper: str
    revision: str = ""

    def size(self, *, upright: bool = False) -> tuple[float, float]:
        """Width and height of a leaf."""
        return paper_size(self.paper, upright=upright)

    def room(self, *, upright: bool = False) -> Rect:
        """What a drawing may cover."""
        width, height = self.size(upright=upright)
        inset = EDGE + INNER
        return Rect(inset, inset, width - inset, height - EDGE - BLOCK - INNER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What is on one leaf before its frame: ``sheet`` names it, ``detail`` says its scale or such."""

    sheet: str
    about: str
    shapes: tuple[Shape, ...]
    detail: str = ""
    caution: str = ""
    windows: tuple[Window, ...] = ()
    upright: bool = False


def shortened(words: str, room: float, size: float = EM, bold: bool = False) -> str:
    """``words`` as far as they fit ``room`` mm, with a mark where some were left off."""
    return lettering.cut_short(visible(words), size, room, bold)


def box(left: float, top: float, right: float, bottom: float, **how: float | str | bool) -> Stroke:
    """A rectangle."""
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom)), closed=True, **how)  # type: ignore[arg-type]


def bound(book: Book, contents: Sequence[Content]) -> tuple[Leaf, ...]:
    """The leaves with their frames and page numbers."""
    return tuple(_leaf(book, each, number, len(contents)) for number, each in enumerate(contents, 1))


def _leaf(book: Book, content: Content, number: int, count: int) -> Leaf:
    width, height = book.size(upright=content.upright)
    bottom = height - EDGE
    top = bottom - BLOCK
    frame: list[Shape] = [
        box(EDGE, EDGE, width - EDGE, bottom, weight=0.4),
        Stroke(((EDGE, top), (width - EDGE, top)), weight=0.3),
    ]
    right = width - EDGE - 2.0
    page = ", ".join(word for word in (f"page {number} of {count}", book.revision and f"git {book.revision}") if word)
    room = (width - 2 * EDGE) * 0.5
    frame += [
        Text(page, (right, top + 3.6), EM, anchor="end"),
        Text(shortened(content.detail, room), (right, top + 7.4), EM, anchor="end"),
    ]
    said = max(lettering.width(page, EM), lettering.width(shortened(content.detail, room), EM))
    room = right - said - 4.0 - EDGE - 2.0
    sheet = shortened(content.sheet, room * 0.6, EM, True)
    title = shortened(book.title, room - lettering.width(sheet, EM, True) - 3.0)
    frame += [
        Text(sheet, (EDGE + 2.0, top + 3.6), EM, bold=True),
        Text(title, (EDGE + 5.0 + lettering.width(sheet, EM, True), top + 3.6), EM),
        Text(shortened(content.caution, room), (EDGE + 2.0, top + 7.4), EM, tone="faint"),
    ]
    return Leaf(
        width=width,
        height=height,
        title=visible(f"{book.title}: {content.sheet}"),
        about=visible(content.about),
        shapes=(*content.shapes, *frame),
        windows=content.windows,
    )
