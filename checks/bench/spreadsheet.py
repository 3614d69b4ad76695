"""CSV as spreadsheets save it, read with its mistakes told by line and column."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Final

from ...lang.diagnostics.messages import plainly_listed
from ...lang.records import dataclass

UTF_8: Final = "save it as CSV in UTF-8"


class SheetError(ValueError):
    """A table that cannot be used; the message names file, line and column."""


@dataclass(frozen=True, slots=True)
class Line:
    """A row by its column names, cells stripped; ``where`` is ``FILE:LINE``."""

    where: str
    number: int
    cells: Mapping[str, str]

    def get(self, column: str) -> str:
        """A cell; empty where the row has none."""
        return self.cells.get(column, "")


def read_table(
    data: bytes, file: str, known: Iterable[str], needed: Collection[str], most: int, what: str
) -> tuple[Line, ...]:
    """The rows below the header of a CSV file (RFC 4180; semicolons are read too). Raises ``SheetError``.

    ``known`` columns may be there, ``needed`` ones must. ``what`` has at most ``most`` rows.
    """
    text = _decoded(data, file)
    first = text.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if ";" in first and "," not in first else ",")
    try:
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise SheetError(f"{file}:{reader.line_num}: this is no CSV: {error}") from None
    if not rows:
        raise SheetError(f"{file}: this is empty: expected a header row with {plainly_listed(needed)}")
    if len(rows) > most:
        raise SheetError(f"{file}: this has {len(rows)} rows, and {what} has {most} at most")
    head = _head(rows[0][1], f"{file}:{rows[0][0]}", tuple(known), needed)
    return tuple(_lines(rows[1:], head, file))


def _decoded(data: bytes, file: str) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise SheetError(f"{file}: this is not UTF-8: {UTF_8} ({error.reason})") from None
    if "\0" in text:
        raise SheetError(f"{file}: this holds a NUL and is no CSV: {UTF_8}")
    return text


def _head(row: list[str], where: str, known: tuple[str, ...], needed: Collection[str]) -> list[str]:
    head = [cell.strip().lower() for cell in row]
    odd = [cell for cell in head if cell not in known]
    if odd:
        raise SheetError(f"{where}: unknown column `{odd[0]}`: expected some of {plainly_listed(known)}")
    if len(set(head)) < len(head):
        twice = next(cell for place, cell in enumerate(head) if cell in head[:place])
        raise SheetError(f"{where}: the column `{twice}` is there twice: leave out one of them")
    lacking = [cell for cell in needed if cell not in head]
    if lacking:
        raise SheetError(f"{where}: the column `{lacking[0]}` is not there: expected {plainly_listed(needed)}")
    return head


def _lines(rows: Iterable[tuple[int, list[str]]], head: list[str], file: str) -> Iterator[Line]:
    for number, row in rows:
        where = f"{file}:{number}"
        if len(row) > len(head):
            raise SheetError(
                f"{where}: this row has {len(row)} cells, and the header {len(head)}: put a cell with a comma in quotes"
            )
        yield Line(where, number, dict(zip(head, (cell.strip() for cell in row), strict=False)))
