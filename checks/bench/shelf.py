"""What is on the shelf: a CSV file of items, how much there is of each, and in which packs it is sold."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.messages import plainly_listed
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass

if TYPE_CHECKING:
    from .purchase import Item

COLUMNS: Final[dict[str, str]] = {
    "item": "what it is, as `buy` prints it",
    "have": "how much of it there is; a spool of wire has a separate row",
    "unit": "m or pieces",
    "pack": "how much of it is sold together; may be empty",
    "kind": "as `buy` prints it; may be left out, and is not looked at",
    "note": "for people; may be left out",
    "need": "as `buy` prints it; not looked at",
    "buy": "as `buy` prints it; not looked at",
    "left": "as `buy` prints it; not looked at",
}
NEEDED: Final = ("item", "have", "unit")
UNITS: Final = ("m", "pieces")
MOST_ROWS: Final = 5000
"""A shelf with more is no shelf (ours)."""
GREATEST: Final = 1e6


class ShelfError(ValueError):
    """A shelf that cannot be used; the message names file, row and column."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """``have``: each item's amounts, one a row (spools of wire stay apart). ``packs``: how it is sold."""

    have: dict[str, tuple[float, ...]]
    packs: dict[str, float]
    rows: dict[str, int]

    @property
    def totals(self) -> dict[str, float]:
        return {name: sum(amounts) for name, amounts in self.have.items()}


EMPTY: Final = Shelf(have={}, packs={}, rows={})


def read_shelf(data: bytes, file: str, items: Iterable[Item]) -> Shelf:
    """The shelf in a CSV file with one header row. Raises ``ShelfError``."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ShelfError(f"{file}: this is not UTF-8: save it as CSV in UTF-8 ({error.reason})") from None
    if "\0" in text:
        raise ShelfError(f"{file}: this holds a NUL and is no CSV: save it as CSV in UTF-8")
    first = text.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if ";" in first and "," not in first else ",")
    try:
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise ShelfError(f"{file}:{reader.line_num}: this is no CSV: {error}") from None
    if not rows:
        raise ShelfError(f"{file}: this is empty: expected a header row with {plainly_listed(NEEDED)}")
    if len(rows) > MOST_ROWS:
        raise ShelfError(f"{file}: this has {len(rows)} rows, and a shelf has {MOST_ROWS} at most")
    head = _head(rows[0][1], f"{file}:{rows[0][0]}")
    units = {item.name: item.unit for item in items}
    have: dict[str, tuple[float, ...]] = {}
    packs: dict[str, float] = {}
    at: dict[str, int] = {}
    for number, row in rows[1:]:
        where = f"{file}:{number}"
        if len(row) > len(head):
            raise ShelfError(
                f"{where}: this row has {len(row)} cells, and the header {len(head)}: put a cell with a comma in quotes"
            )
        cells = dict(zip(head, (cell.strip() for cell in row), strict=False))
        name = cells.get("item", "")
        if not name:
            raise ShelfError(f"{where}: the column `item` is empty: write what it is, as `loomwright buy` prints it")
        _check_unit(cells.get("unit", ""), name, units, where)
        have[name] = (*have.get(name, ()), _number(cells.get("have", ""), "have", where, least=0.0))
        if pack := cells.get("pack", ""):
            size = _number(pack, "pack", where, least=1e-3)
            if packs.setdefault(name, size) != size:
                raise ShelfError(f"{where}: `{name}` is sold in two packs: write one of them in each of its rows")
        at.setdefault(name, number)
    return Shelf(have=have, packs=packs, rows=at)


def unknown(shelf: Shelf, items: Iterable[Item]) -> tuple[tuple[str, str], ...]:
    """The items of a shelf that nothing needs, each with the needed one that is nearest to it, if any is."""
    names = [item.name for item in items]
    odd = [name for name in shelf.have if name not in names]
    return tuple((name, next(iter(get_close_matches(name, names, 1, 0.85)), "")) for name in odd)


def _head(row: list[str], where: str) -> list[str]:
    head = [cell.strip().lower() for cell in row]
    odd = [cell for cell in head if cell not in COLUMNS]
    if odd:
        raise ShelfError(f"{where}: unknown column `{odd[0]}`: expected some of {plainly_listed(COLUMNS)}")
    if len(set(head)) < len(head):
        twice = next(cell for place, cell in enumerate(head) if cell in head[:place])
        raise ShelfError(f"{where}: the column `{twice}` is there twice: leave out one of them")
    lacking = [cell for cell in NEEDED if cell not in head]
    if lacking:
        raise ShelfError(f"{where}: the column `{lacking[0]}` is not there: expected {plainly_listed(NEEDED)}")
    return head


def _check_unit(unit: str, name: str, units: Mapping[str, str], where: str) -> None:
    if unit not in UNITS:
        raise ShelfError(f"{where}: unknown unit `{unit}`: expected {plainly_listed(UNITS, 'or')}")
    if units.get(name, unit) != unit:
        raise ShelfError(f"{where}: `{name}` is needed in {units[name]}, found {unit}: write how much in {units[name]}")


def _number(text: str, column: str, where: str, *, least: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (least <= value <= GREATEST) or "_" in text:
        raise ShelfError(
            f"{where}: `{text}` in the column `{column}` is no amount: expected a number from {shown(least)} to "
            f"{shown(GREATEST)}, with a point"
        )
    return value
