"""What is on the shelf: a CSV file of items, how much there is of each, and in which packs it is sold."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.messages import plainly_listed
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from .spreadsheet import SheetError, read_table

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
    """The shelf in a CSV file with one header row. Raises ``SheetError``."""
    lines = read_table(data, file, COLUMNS, NEEDED, MOST_ROWS, "a shelf")
    units = {item.name: item.unit for item in items}
    have: dict[str, tuple[float, ...]] = {}
    packs: dict[str, float] = {}
    at: dict[str, int] = {}
    for line in lines:
        where, cells = line.where, line.cells
        name = cells.get("item", "")
        if not name:
            raise SheetError(f"{where}: the column `item` is empty: write what it is, as `loomwright buy` prints it")
        _check_unit(cells.get("unit", ""), name, units, where)
        have[name] = (*have.get(name, ()), _number(cells.get("have", ""), "have", where, least=0.0))
        if pack := cells.get("pack", ""):
            size = _number(pack, "pack", where, least=1e-3)
            if packs.setdefault(name, size) != size:
                raise SheetError(f"{where}: `{name}` is sold in two packs: write one of them in each of its rows")
        at.setdefault(name, line.number)
    return Shelf(have=have, packs=packs, rows=at)


def unknown(shelf: Shelf, items: Iterable[Item]) -> tuple[tuple[str, str], ...]:
    """The items of a shelf that nothing needs, each with the needed one that is nearest to it, if any is."""
    names = [item.name for item in items]
    odd = [name for name in shelf.have if name not in names]
    return tuple((name, next(iter(get_close_matches(name, names, 1, 0.85)), "")) for name in odd)


def _check_unit(unit: str, name: str, units: Mapping[str, str], where: str) -> None:
    if unit not in UNITS:
        raise SheetError(f"{where}: unknown unit `{unit}`: expected {plainly_listed(UNITS, 'or')}")
    if units.get(name, unit) != unit:
        raise SheetError(f"{where}: `{name}` is needed in {units[name]}, found {unit}: write how much in {units[name]}")


def _number(text: str, column: str, where: str, *, least: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (least <= value <= GREATEST) or "_" in text:
        raise SheetError(
            f"{where}: `{text}` in the column `{column}` is no amount: expected a number from {shown(least)} to "
            f"{shown(GREATEST)}, with a point"
        )
    return value
