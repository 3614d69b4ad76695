"""The one point where places in a text become an editor's, and back.

The language counts lines and columns from 1, columns in code points of the text in Unicode's NFC form, lines by line
feeds. Editors count from 0, in code units of the encoding they chose, and take a lone carriage return for a line's end.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.named_tuples import NamedTuple
from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Span


class Place(NamedTuple):
    """A place as the language counts it."""

    line: int
    column: int


class Shown(NamedTuple):
    """A place as the editor counts it."""

    line: int
    character: int


@dataclass(frozen=True)
class Sheet:
    """A text as the editor has it; ``units`` gives the length of a string in the editor's code units."""

    text: str
    units: Callable[[str], int] = len

    @cached_property
    def rows(self) -> list[str]:
        """The lines by line feeds, without their ends."""
        *rows, last = self.text.split("\n")
        return [*(row.removesuffix("\r") for row in rows), last]

    @cached_property
    def _starts(self) -> list[tuple[int, int]]:
        """For each line of the editor the row that it is on, and where in that it begins."""
        return [
            (number, start)
            for number, row in enumerate(self.rows)
            for start in (0, *(place + 1 for place, letter in enumerate(row) if letter == "\r"))
        ]

    def shown(self, place: Place) -> Shown:
        """A place in the editor's terms; what lies beyond the text is its end."""
        number = min(max(place.line, 1), len(self.rows)) - 1
        row = self.rows[number]
        index = len(row) if place.line > len(self.rows) else _raw_index(row, place.column - 1, number)
        line = bisect_right(self._starts, (number, index)) - 1
        return Shown(line, self.units(row[self._starts[line][1] : index]))

    def place(self, shown: Shown) -> Place:
        """A place in the language's terms; what lies beyond a line is its end, what lies before the text its start."""
        shown = Shown(max(shown.line, 0), max(shown.character, 0))
        if shown.line >= len(self._starts):
            number, index = len(self.rows) - 1, len(self.rows[-1])
        else:
            number, start = self._starts[shown.line]
            body, taken, index = self.rows[number][start:].partition("\r")[0], 0, start
            for letter in body:
                if taken >= shown.character:
                    break
                taken += self.units(letter)
                index += 1
        before = self.rows[number][:index]
        column = len(before if before.isascii() else unicodedata.normalize("NFC", before))
        return Place(number + 1, column + 1 - (number == 0 and before.startswith("\ufeff")))

    def row_start(self, row: int) -> Shown:
        """Where a row begins; the end of the text where there is no such row."""
        return self.shown(Place(row, 1)) if row > 1 else Shown(0, 0)

    def of_span(self, span: Span) -> tuple[Shown, Shown]:
        """The two ends of a span."""
        return self.shown(Place(span.line, span.column)), self.shown(Place(span.line, span.end_column))


def _raw_index(row: str, column: int, number: int) -> int:
    """Where in a row as it is written the code point ``column`` (from 0) of its NFC form stands."""
    mark = number == 0 and row.startswith("\ufeff")
    if row.isascii() or unicodedata.is_normalized("NFC", row):
        return min(max(column, 0) + mark, len(row))
    ends = (
        index for index in range(len(row), 0, -1) if len(unicodedata.normalize("NFC", row[:index])) <= column + mark
    )
    return next(ends, 0)
