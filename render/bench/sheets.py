"""What the lists of the bench share: columns for a terminal, CSV, and tables on paper.

A table on paper begins each row with a box to tick. No letter is lower than 1.8 mm.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Final

from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ..drawing.pdf import FONT, pdf_bytes, quoted
from ..report.tag_sheet import PAPERS, SMALL
from ..report.tags import BYTE_ORDER_MARK

MARGIN: Final = 12.0
"""mm around a table (ours)."""
CAUTION_ROOM: Final = 9.0
"""mm that a caution takes at the foot of each page (ours)."""
_UNITS_APART: Final = re.compile(r"(?<=\d) (?=(?:mm2?|V|mV|A|Ah|W|N|k?ohm)\b)")
DIGITS: Final = 4
"""Of a length in mm."""


def millimetres(metres: float | None) -> str:
    """A length as it is measured on the bench: ``1,085 mm``; empty where it is not known."""
    return "" if metres is None else f"{shown(round(metres * 1000, 6), DIGITS)} mm"


def plain_millimetres(metres: float | None) -> str:
    """The same for a spreadsheet: a number alone, without grouping."""
    return "" if metres is None else str(round(metres * 1000))


def columns(rows: Sequence[Sequence[str]], right: Iterable[int] = (), indent: str = "  ") -> list[str]:
    """Rows with their cells one below the other; the last column is as wide as it is."""
    if not rows:
        return []
    aligned = set(right)
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return [
        (
            indent
            + "  ".join(
                cell.rjust(width) if place in aligned else cell.ljust(width)
                for place, (cell, width) in enumerate(zip(row, widths, strict=True))
            )
        ).rstrip()
        for row in rows
    ]


def csv_text(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """CSV (RFC 4180) with a byte order mark and one header row.

    A cell that a spreadsheet would take for a formula gets a space before it: a name may begin with ``+`` or ``-``.
    """
    target = io.StringIO()
    target.write(BYTE_ORDER_MARK)
    writer = csv.writer(target)
    writer.writerow(head)
    for row in rows:
        writer.writerow([f" {cell}" if cell[:1] in ("=", "+", "-", "@") else cell for cell in row])
    return target.getvalue()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table on paper. ``widths`` are shares of the page beside the box; ``caption`` is above it."""

    caption: str
    head: tuple[str, ...]
    widths: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Pages of one sheet: lines ``before`` its tables, ``notes`` after them; the ``caution`` is on each page."""

    sheet: str
    tables: tuple[Table, ...]
    before: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    caution: str = ""


def tables_pdf(
    title: str, sheet: str, tables: Sequence[Table], notes: Sequence[str], paper: str = "A4", revision: str = ""
) -> bytes:
    """Tables, then notes, on sheets of landscape paper with title, sheet and page number at the foot, and the
    ``revision`` of the harness file in git where there is one.
    """
    return sections_pdf(title, [Section(sheet=sheet, tables=tuple(tables), notes=tuple(notes))], paper, revision)


def sections_pdf(title: str, sections: Sequence[Section], paper: str = "A4", revision: str = "") -> bytes:
    """The same of several sheets, each beginning on a new page."""
    height, width = PAPERS[paper]
    named = ", ".join(section.sheet for section in sections) if len(sections) == 1 else "proof"
    lines = [
        f"#set page(width: {width}mm, height: {height}mm, margin: {MARGIN}mm, footer-descent: 3mm)",
        f"#set document(title: {quoted(visible(f'{title}: {named}'))}, date: none)",
        FONT,
        f"#set text(size: {round(SMALL, 3)}mm, hyphenate: false)",
        "#set par(leading: 0.45em, spacing: 0.6em)",
    ]
    for section in sections:
        lines += _section(title, section, revision)
    texts = [title, *(text for section in sections for text in _texts(section))]
    return pdf_bytes("\n".join(lines) + "\n", texts)


def _section(title: str, section: Section, revision: str) -> list[str]:
    """The pages of a section; a new page's settings begin one."""
    foot = (
        f'#text({quoted(visible(f"{title}: {section.sheet}"))})#h(1fr)#text("page ")'
        '#context counter(page).display()#text(" of ")#context counter(page).final().first()'
        + (f"#text({quoted(visible(f', git {revision}'))})" if revision else "")
    )
    bottom = MARGIN
    if section.caution:
        foot = f"#par[#text({quoted(section.caution)})]{foot}"
        bottom += CAUTION_ROOM
    lines = [
        f"#set page(margin: (x: {MARGIN}mm, top: {MARGIN}mm, bottom: {bottom}mm), footer: [{foot}])",
        f'#text(weight: "bold", size: 1.5em, {quoted(visible(title))})#h(1em)',
        f"#text(size: 1.5em, {quoted(section.sheet)})",
        *(f"#par[#text({quoted(visible(line))})]" for line in section.before),
    ]
    for table in section.tables:
        lines += _table(table)
    return [*lines, *(f"#par[#text({quoted(visible(note))})]" for note in section.notes)]


def _texts(section: Section) -> list[str]:
    cells = (cell for table in section.tables for row in table.rows for cell in (*row, table.caption))
    return [section.sheet, section.caution, *section.before, *section.notes, *cells]


def unbroken(cell: str) -> str:
    """Words whose quantities are not torn between two lines."""
    return _UNITS_APART.sub("\u00a0", visible(cell))


def _table(table: Table) -> list[str]:
    """One table; its caption and its head are on each page that it runs over."""
    shares = ", ".join(f"{share}fr" for share in table.widths)
    aligns = ", ".join("right" if place in table.right else "left" for place in range(len(table.head)))
    caption = (
        f"table.cell(colspan: {len(table.head) + 1}, stroke: none, align: left, inset: (x: 0mm, y: 1.5mm))"
        f'[#text(weight: "bold", size: 1.15em, {quoted(visible(table.caption))})]'
    )
    head = ", ".join(f'text(weight: "bold", {quoted(cell)})' for cell in ("", *table.head))
    box = "box(width: 2.6mm, height: 2.6mm, stroke: 0.25mm)"
    cells = [f"{box}, {', '.join(f'text({quoted(unbroken(cell))})' for cell in row)}" for row in table.rows]
    inset = "inset: (x: 1mm, y: 0.9mm), stroke: (x: none, y: 0.15mm + luma(150))"
    return [
        f"#table(columns: (5mm, {shares}), align: (center, {aligns}), {inset},",
        f"  table.header({caption}, {head}),",
        *(f"  {row}," for row in cells),
        ")",
    ]
