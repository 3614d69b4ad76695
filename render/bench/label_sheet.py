"""Labels on sheets that are laid out by millimetres, so that any maker's sheet can be printed on.

A label for a wire wraps round it and says which wire it is and where this end goes, again and again so that it is in
sight from each side. Or it is a flag: folded round the wire in the middle, and on both halves also where the wire comes
from. No letter is lower than 1.8 mm; a label whose words
do not fit is left blank on the sheet and named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Literal

from ...checks.tables.bench import bench_figure
from ...lang.diagnostics.visible import visible
from ...lang.records import dataclass
from ..drawing import lettering
from ..drawing.pdf import FONT, pdf_bytes, quoted
from ..report.tag_sheet import CAPITAL, PAPERS
from .sheets import columns, csv_text

if TYPE_CHECKING:
    from ...checks.bench.labels import Label

CAUTION: Final = "Print at 100 %, and measure one label before the sheet is used: printers scale what they print."
PAD: Final = 0.8
"""mm between the edge of a label and its words (ours)."""
PITCH: Final = 1.2
"""From line to line, in ems."""
LARGEST: Final = 3.5
"""mm that letters are high at most (ours)."""
SIDES: Final = 3
"""This many times a wire's label says its words round it at least: one is in sight from each side (ours)."""

Way = Literal["wrap", "flag"]

CUT_LINE: Final = '(paint: luma(60%), thickness: 0.1mm, dash: "dashed")'


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSheet:
    """A sheet of labels in mm: paper, one label's width and height, the first one's corner, and from one to the next.
    Without other figures a plain adhesive sheet that is cut up, in round numbers.

    ``left`` labels of the first sheet are used up already.
    """

    paper: str = "A4"
    width: float = 40.0
    height: float = 20.0
    x: float = 5.0
    y: float = 8.5
    step_x: float = 40.0
    step_y: float = 20.0
    used: int = 0

    @property
    def across(self) -> int:
        return self._fitting(PAPERS[self.paper][0], self.x, self.width, self.step_x)

    @property
    def down(self) -> int:
        return self._fitting(PAPERS[self.paper][1], self.y, self.height, self.step_y)

    @property
    def is_cut_up(self) -> bool:
        """Whether its labels touch on all sides: a plain sheet, which gets lines to cut along."""
        return self.step_x == self.width and self.step_y == self.height

    @staticmethod
    def _fitting(paper: float, first: float, label: float, step: float) -> int:
        """How many labels fit in one direction; a tenth of a mm over the edge is the rounding of sheets."""
        room = paper - first - label + 0.1
        return 0 if room < 0 else 1 + int(room / step + 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """The words of a label in mm from its corner: each line with where its base begins and how high its letters are."""

    words: tuple[tuple[str, float, float, bool], ...]
    letters: float


def fitted(label: Label, sheet: LabelSheet, way: Way) -> Printed | None:
    """Where the words of a label stand; ``None`` where they do not fit with letters of 1.8 mm."""
    if label.sort != "wire" or not label.around:
        return _flat(label, sheet.width, sheet.height, 0.0)
    girth = math.pi * label.around
    if way == "flag":
        half = (sheet.width - girth) / 2
        one = _flat(label, half, sheet.height, 0.0)
        other = _flat(label, half, sheet.height, sheet.width - half)
        if one is None or other is None:
            return None
        return Printed(words=(*one.words, *other.words), letters=one.letters)
    return _wrapped(label, sheet, girth)


def _flat(label: Label, width: float, height: float, left: float) -> Printed | None:
    """Head and line below each other, as large as they fit."""
    lines = [(visible(label.head), True), *([(visible(label.line), False)] if label.line else [])]
    room = width - 2 * PAD
    widest = max(lettering.width(text, 1.0, bold) for text, bold in lines)
    em = min(room / widest if room > 0 else 0.0, (height - 2 * PAD) / (PITCH * len(lines)), LARGEST / CAPITAL)
    letters = em * CAPITAL
    if letters < _least():
        return None
    top = (height - PITCH * em * len(lines)) / 2
    words = tuple(
        (text, left + PAD, top + PITCH * em * place + em * lettering.ASCENT, bold)
        for place, (text, bold) in enumerate(lines)
    )
    return Printed(words=words, letters=letters)


def _wrapped(label: Label, sheet: LabelSheet, girth: float) -> Printed | None:
    """The head along the wire, again and again over the height, which goes round it."""
    text = visible(label.head)
    room = sheet.width - 2 * PAD
    apart = girth / SIDES
    em = min(room / lettering.width(text, 1.0, True), apart / PITCH, LARGEST / CAPITAL)
    if em * CAPITAL < _least():  # a thin wire: the words as low as may be, more than a third of the way round
        em = min(room / lettering.width(text, 1.0, True), LARGEST / CAPITAL, _least() / CAPITAL)
        apart = PITCH * em
    times = int((sheet.height - 2 * PAD) / apart + 1e-9)
    if em * CAPITAL < _least() - 1e-9 or times < 1 or times * apart < min(girth, SIDES * apart) - 1e-9:
        return None
    top = (sheet.height - times * apart) / 2
    words = tuple((text, PAD, top + apart * n + (apart - em) / 2 + em * lettering.ASCENT, True) for n in range(times))
    return Printed(words=words, letters=em * CAPITAL)


def _least() -> float:
    return bench_figure("smallest_letters").value


def left_out(labels: Sequence[Label], sheet: LabelSheet, way: Way) -> tuple[Label, ...]:
    """The labels whose words do not fit."""
    return tuple(label for label in labels if fitted(label, sheet, way) is None)


# --- for a terminal, CSV, on paper -----------------------------------------------------------------------------------
COLUMNS: Final = ("sort", "of", "head", "line", "place", "around_mm")


def labels_text(labels: Sequence[Label]) -> str:
    """One label a line, ending in a line feed."""
    rows = [(label.sort, label.head, label.line, label.where) for label in labels]
    return "".join(f"{visible(line).rstrip()}\n" for line in columns(rows, indent=""))


def labels_csv(labels: Sequence[Label]) -> str:
    """One row a label, for a label program."""
    return csv_text(
        COLUMNS,
        ((label.sort, label.of, label.head, label.line, label.where, str(round(label.around, 2))) for label in labels),
    )


def labels_pdf(title: str, labels: Sequence[Label], sheet: LabelSheet, way: Way) -> bytes:
    """Sheets of labels; a label whose words do not fit stays blank."""
    width, height = PAPERS[sheet.paper]
    lines = [
        f"#set page(width: {width}mm, height: {height}mm, margin: 0mm)",
        f"#set document(title: {quoted(visible(f'{title}: labels'))}, date: none)",
        FONT,
        '#set text(top-edge: "baseline", bottom-edge: "baseline")',
    ]
    each = sheet.across * sheet.down
    for number, label in enumerate(labels, sheet.used):
        place = number % each
        if place == 0 and number > sheet.used:
            lines.append("#pagebreak()")
        left = sheet.x + sheet.step_x * (place % sheet.across)
        top = sheet.y + sheet.step_y * (place // sheet.across)
        if sheet.is_cut_up:
            lines.append(
                f"#place(top + left, dx: {round(left, 3)}mm, dy: {round(top, 3)}mm, "
                f"rect(width: {round(sheet.width, 3)}mm, height: {round(sheet.height, 3)}mm, stroke: {CUT_LINE}))"
            )
        printed = fitted(label, sheet, way)
        if printed is None:
            continue
        for text, dx, dy, bold in printed.words:
            style = f'size: {round(printed.letters / CAPITAL, 4)}mm, weight: "{"bold" if bold else "regular"}"'
            lines.append(
                f"#place(top + left, dx: {round(left + dx, 3)}mm, dy: {round(top + dy, 3)}mm, "
                f"box(width: {round(sheet.width, 3)}mm, text({style}, {quoted(text)})))"
            )
    texts = [title, *(word for label in labels for word in (label.head, label.line))]
    return pdf_bytes("\n".join(lines) + "\n", texts)
