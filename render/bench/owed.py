"""What the text does not say and a sheet leaves blank, once each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from ...checks.bench.pieces import why_no_length
from ..report.findings import counted

if TYPE_CHECKING:
    from ...checks.bench.pieces import Owed, Piece
    from ...lang.model.harness import Harness

_SAYS: Final = {
    "size": ("size of {}", "wire", "write it on its line, such as `1 mm2`"),
    "colour": ("colour of {}", "wire", "write it on its line, such as `red/white`"),
    "ends": (
        "crimps of {}",
        "end",
        "write what the part offers, such as `ends PART tab 6.3 mm` (until then 8 mm of strip is allowed for)",
    ),
    "cover": ("cover of {}", "route", "write `braid`, `tape`, `tube` or `loose` on its route"),
    "face": ("face of {}", "connector", "write its rows in its block, such as `face: 1 2 3, 4 5 6`"),
}
_SHOWN: Final = 8
"""This many names of one sort are written out."""


def owed_lines(harness: Harness, pieces: Iterable[Piece], owed: Iterable[Owed], wanted: Iterable[str]) -> list[str]:
    """A line for each sort that a list needs (``wanted``); a piece without a length has a separate one."""
    known = {piece.name: piece for piece in pieces}
    lines = []
    for each in owed:
        if each.what not in wanted:
            continue
        if each.what == "length":
            lines += [f"missing: length of {name}: {why_no_length(harness, known[name])}" for name in each.names]
            continue
        subject, noun, remedy = _SAYS[each.what]
        more = f" and {len(each.names) - _SHOWN} more" if len(each.names) > _SHOWN else ""
        names = ", ".join(each.names[:_SHOWN])
        lines.append(f"missing: {subject.format(counted(len(each.names), noun))}: {names}{more}: {remedy}")
    return lines
