"""Charts on sheets of A4, as many to a sheet as it holds."""

from __future__ import annotations

from collections.abc import Sequence

from ..drawing.charts import Chart, drawn
from ..drawing.leaves import Leaf
from ..drawing.primitives import Shape, moved
from .frame import Book, Content, bound

APART = 8.0
"""mm between charts."""


def chart_leaves(
    charts: Sequence[Chart], title: str, sheet: str, *, revision: str = "", caution: str = ""
) -> tuple[Leaf, ...]:
    """The charts one below the other, on upright leaves."""
    book = Book(title=title, paper="A4", revision=revision)
    room = book.room(upright=True)
    pages: list[tuple[list[Shape], list[str]]] = []
    top = room.bottom + 1.0
    for chart in charts:
        made = drawn(chart, room.width)
        if top + made.height > room.bottom:
            pages.append(([], []))
            top = room.top
        shapes, about = pages[-1]
        shapes += [moved(shape, room.left, top) for shape in made.shapes]
        about.append(chart.about)
        top += made.height + APART
    contents = [
        Content(sheet=sheet, about=". ".join(about), shapes=tuple(shapes), caution=caution, upright=True)
        for shapes, about in pages
    ]
    return bound(book, contents)
