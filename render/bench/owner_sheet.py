"""For the next owner, on paper: sheets of A4 that stay with the motorcycle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import repeat, zip_longest
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.visible import visible
from ..drawing import lettering
from ..drawing.leaves import Leaf, as_files
from ..report.next_owner import Entry, ForNextOwner, Group, Section, for_next_owner
from .frame import EM as SMALLEST
from .frame import Book, Content, bound
from .leaf_text import SWATCH, Line, flowed, width_of
from .sheets import unbroken

if TYPE_CHECKING:
    from ...lang.model.harness import Harness

SHEET: Final = "for the next owner"
COLUMNS: Final = 2
EM: Final = 2.5 / 1.8 * SMALLEST
"""mm: capitals 2.5 mm high (ISO 3098-1, the next size above 1.8), so that it is read where it hangs."""
GAP: Final = 2.0
"""mm between a term and its words."""
LONGEST_TERM: Final = 0.42
"""Of a column: longer terms are broken."""


def owner_files(
    harness: Harness, stem: str, *, paper: str = "A4", formats: Iterable[str] = ("pdf",), revision: str = ""
) -> dict[str, bytes]:
    """The sheets as files by their names."""
    found = for_next_owner(harness)
    title = found.title or stem
    return as_files(f"{stem}-owner", f"{title}: {SHEET}", owner_leaves(found, title, paper, revision), formats)


def owner_leaves(found: ForNextOwner, title: str, paper: str = "A4", revision: str = "") -> tuple[Leaf, ...]:
    """Upright leaves, as few as all of it takes."""
    book = Book(title=title, paper=paper, revision=revision)
    room = book.room(upright=True)
    about = f"{found.system}; " + "; ".join(section.title for section in found.sections)
    contents = [
        Content(sheet=SHEET, about=about, shapes=shapes, detail=found.system, caution=found.caution, upright=True)
        for sections in _sheets(found.sections)
        for shapes in flowed(list(_lines(sections, width_of(room, COLUMNS))), repeat(room), COLUMNS, EM)
    ]
    return bound(book, contents)


def _sheets(sections: Sequence[Section]) -> Iterator[Sequence[Section]]:
    """What is asked for at the roadside, and what is looked up at home, on sheets of their own."""
    for later in (False, True):
        if chosen := [section for section in sections if section.later is later]:
            yield chosen


def _lines(sections: Sequence[Section], width: float) -> Iterator[Line]:
    for number, section in enumerate(sections):
        if number:
            yield Line(cells=())
        yield Line(cells=((section.title, 0.0),), heading=True)
        share = _share(section, width)
        for group in section.groups:
            yield from _group(group, share, width)


def _share(section: Section, width: float) -> float:
    """Where the words of a section begin, as a share of the column: behind its longest term."""
    terms = [entry for group in section.groups for entry in group.entries]
    wide = max(_lead(entry) + lettering.width(visible(entry.term), EM, True) for entry in terms) + GAP
    return min(LONGEST_TERM, wide / width)


def _lead(entry: Entry) -> float:
    """mm before a term: those of its colour."""
    return SWATCH + GAP if entry.colour is not None else 0.0


def _group(group: Group, share: float, width: float) -> Iterator[Line]:
    if group.title:
        yield Line(cells=((visible(group.title), 0.0),), faint=True, keep=True)
    for entry in group.entries:
        start = _lead(entry) / width
        terms = lettering.wrapped(visible(entry.term), EM * 1.08, (share - start) * width - GAP)
        words = lettering.wrapped(unbroken(entry.words), EM, (1.0 - share) * width)
        rows = list(zip_longest(terms, words, fillvalue=""))
        for number, (term, said) in enumerate(rows, 1):
            yield Line(
                cells=((term, start), (said, share)),
                strong=True,
                keep=number < len(rows),
                colour=entry.colour if number == 1 else None,
            )
