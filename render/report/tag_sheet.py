"""Tags as sheets to print and cut out: a hole for the tie, the wire's end in bold, and what becomes of it.

No letter is lower than 1.8 mm. What does not fit a tag is left off it, with a mark, and follows in full on a list.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ...checks.conversion.tags import Tag
from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.pdf import FONT, pdf_bytes, quoted
from .tags import CAUTION, new_words, way_words, wire_words

PAPERS: Final = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "letter": (215.9, 279.4)}
"""Width and height in mm: ISO 216, ANSI/ASME Y14.1."""
MARGIN: Final = 10.0
FOOT: Final = 18.0
"""mm that are left free at the sides and at the top, and at the bottom for the caution (ours)."""
LEAST: Final = (45.0, 24.0)
"""mm; a smaller tag has no room for its lines (ours)."""

LETTER: Final = 1.8
"""mm; no letter is lower (ours)."""
CAPITAL: Final = 0.729
"""Height of the shipped font's capitals, in ems."""
SMALL: Final = LETTER / CAPITAL
LARGE: Final = 1.5 * SMALL
PITCH: Final = 1.2
"""From line to line, in ems."""
PAD: Final = 1.5
HOLE: Final = 6.0
"""mm kept free at the left for the hole."""
BOX: Final = 16.0
"""mm for what becomes of the end, at the right of the first line."""
MORE: Final = " …"
MARKS: Final = {"keep": "KEEP", "take off": "TAKE OFF", "cut": "CUT"}


def paper_size(paper: str, *, upright: bool) -> tuple[float, float]:
    """Width and height in mm of a paper as it is turned."""
    short, long = PAPERS[paper]
    return (short, long) if upright else (long, short)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Paper by its name; width and height of a tag in mm."""

    paper: str = "A4"
    width: float = 62.0
    height: float = 28.0

    @property
    def columns(self) -> int:
        return int((PAPERS[self.paper][0] - 2 * MARGIN) // self.width)

    @property
    def rows(self) -> int:
        return int((PAPERS[self.paper][1] - MARGIN - FOOT) // self.height)


@dataclass(frozen=True, slots=True)
class Fitted:
    """The lines of one tag as they are printed: the end, and what is below it. ``whole``: all of it fits."""

    head: str
    large: float
    lines: tuple[str, ...]
    whole: bool


def fitted(tag: Tag, sheet: Sheet) -> Fitted:
    """What of a tag fits its paper, with letters of 1.8 mm and more."""
    inner = sheet.width - HOLE - 2 * PAD
    room = inner - BOX
    large = min(LARGE, max(SMALL, LARGE * room / lettering.width(tag.end, LARGE, bold=True)))
    head = _clipped(visible(tag.end), large, room, bold=True)
    lines = [line for text in _texts(tag) for line in lettering.wrapped(visible(text), SMALL, inner)]
    most = int((sheet.height - 2 * PAD - PITCH * LARGE) // (PITCH * SMALL))
    printed = [_clipped(line, SMALL, inner) for line in lines[:most]]
    whole = head == tag.end and printed == lines
    if len(lines) > most and printed:
        printed[-1] = _clipped(f"{printed[-1]}{MORE}", SMALL, inner)
    return Fitted(head, large, tuple(printed), whole)


def _clipped(text: str, size: float, limit: float, *, bold: bool = False) -> str:
    """A text that is at most ``limit`` wide: cut short, with a mark, where it is wider."""
    if lettering.width(text, size, bold) <= limit:
        return text
    stem = text.removesuffix(MORE)
    while stem and lettering.width(f"{stem}{MORE}", size, bold) > limit:
        stem = stem[:-1]
    return f"{stem}{MORE}"


def _texts(tag: Tag) -> Iterator[str]:
    """The paragraphs of a tag, the most important first."""
    place = f", {tag.place}" if tag.place else ""
    yield f"{tag.number}{place}: {wire_words(tag)}"
    yield way_words(tag)
    if tag.action != "keep":
        yield f"new: {new_words(tag) or '_' * 24}"
    elif tag.new:
        yield f"new: {new_words(tag)}"
    for got in tag.got:
        yield f"got: {got}"


def left_off(tags: Sequence[Tag], sheet: Sheet) -> tuple[Tag, ...]:
    """The tags of which something does not fit."""
    return tuple(tag for tag in tags if not fitted(tag, sheet).whole)


def tags_pdf(tags: Sequence[Tag], sheet: Sheet, title: str) -> bytes:
    """The sheets, and where something did not fit, the list of it."""
    width, height = PAPERS[sheet.paper]
    foot = (
        f"#block(width: 100%)[#text({quoted(CAUTION)})#linebreak()"
        f"#text({quoted(visible(title))}): tags, page "
        "#context counter(page).display() of #context counter(page).final().first()]"
    )
    margins = f"(x: {_mm(MARGIN)}, top: {_mm(MARGIN)}, bottom: {_mm(FOOT)})"
    lines = [
        f"#set page(width: {_mm(width)}, height: {_mm(height)}, margin: {margins}, footer-descent: 3mm)",
        f"#set page(footer: [{foot}])",
        f"#set document(title: {quoted(visible(title))}, date: none)",
        FONT,
        f"#set text(size: {_mm(SMALL)}, hyphenate: false)",
        "#set par(leading: 0.5em, spacing: 0.5em)",
    ]
    each = sheet.columns * sheet.rows
    for first in range(0, len(tags), each):
        lines += ["#pagebreak()"] if first else []
        cells = ", ".join(_cell(tag, sheet) for tag in tags[first : first + each])
        lines.append(f"#grid(columns: ({_mm(sheet.width)},) * {sheet.columns}, {cells})")
    over = left_off(tags, sheet)
    if over:
        lines += ["#pagebreak()", '#text(weight: "bold", size: 1.2em, "In full: what did not fit its tag")']
        for tag in over:
            text = "; ".join(_texts(tag))
            lines.append(
                f'#par[#text(weight: "bold", {quoted(visible(tag.end))})#h(1em)#text({quoted(visible(text))})]'
            )
    texts = [CAUTION, title, *(word for tag in tags for word in (tag.end, *_texts(tag)))]
    return pdf_bytes("\n".join(lines) + "\n", texts)


def _cell(tag: Tag, sheet: Sheet) -> str:
    """One tag as markup: its edge to cut along, the hole, the end, the box, the lines."""
    found = fitted(tag, sheet)
    inner = sheet.width - HOLE - 2 * PAD
    fill, ink = ("black", "white") if tag.action == "cut" else ("white", "black")
    box = (
        f"box(width: {_mm(BOX - 1)}, height: {_mm(LARGE)}, stroke: 0.25mm + black, fill: {fill}, "
        f'align(center + horizon, text(fill: {ink}, weight: "bold", {quoted(MARKS[tag.action])})))'
    )
    body = [
        f"place(top + right, {box})",
        f'place(top + left, text(weight: "bold", size: {_mm(found.large)}, {quoted(found.head)}))',
    ]
    for i, line in enumerate(found.lines):
        down = PITCH * LARGE + i * PITCH * SMALL
        body.append(f"place(top + left, dy: {_mm(down)}, text({quoted(line)}))")
    placed = "".join(f"#{each}" for each in body)
    return (
        f"box(width: {_mm(sheet.width)}, height: {_mm(sheet.height)}, "
        f'stroke: (paint: luma(120), thickness: 0.2mm, dash: "dashed"))['
        f"#place(left + horizon, dx: {_mm(HOLE / 2 - 1)}, circle(radius: 1.5mm, stroke: 0.2mm + luma(120)))"
        f"#place(top + left, dx: {_mm(HOLE + PAD)}, dy: {_mm(PAD)}, box(width: {_mm(inner)}, "
        f"height: {_mm(sheet.height - 2 * PAD)})[{placed}])]"
    )


def _mm(length: float) -> str:
    return f"{round(length, 3)}mm"
