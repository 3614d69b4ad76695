"""Sizes of conductors as they are written: by area, by gauge, by strands; and a size that lost its ``2``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from ..diagnostics.messages import Diagnostics
from ..diagnostics.spelling import slipped
from ..quantities.units import LEAST, UNITS, american, is_number, metric, stranded, unit_name
from ..syntax.tree import Inner, Marked, Statement

if TYPE_CHECKING:
    from ..quantities.size import Size
    from ..syntax.tokens import Token

SHORTEST: Final = 10.0
"""mm; a wire is longer, since the crimps at its ends take as much (ours)."""


def conductor_size(number: Token, unit: Token, where: Statement | Inner, mistakes: Diagnostics) -> Size | None:
    """``1.5 mm2`` or ``16 AWG``; ``None`` after reporting that it is no size."""
    gauge = unit_name(unit.value) == "AWG"
    size: Size | None = american(number.value) if gauge else None
    if not gauge and LEAST["area"] <= float(number.value) <= 1000:
        size = metric(number.value)
    if size is None:
        mistakes.add(
            "out-of-range",
            where.span(number, unit),
            f"`{number.value} {unit.value}` is no size of a conductor",
            expected="a gauge from 0 to 40" if gauge else "0.001 mm2 to 1000 mm2",
        )
    return size


def strands(
    count: Token, rest: list[Token], where: Statement | Inner, mistakes: Diagnostics
) -> tuple[Size | None, Token, int]:
    """``28 x 0.30 mm`` from the count and the two tokens at most behind the ``x``: the size, or ``None`` after a
    report, the last token that belongs to it, and how many of ``rest`` do.
    """
    given = len(rest) == 2 and count.value.isdecimal() and is_number(rest[0].value)
    if "mm" not in rest and not (given and (unit_name(rest[1].value) or slipped(rest[1].value, ("mm",)))):
        rest = rest[:1]
    last = rest[-1] if rest else count
    fits = given and len(rest) == 2 and rest[1].value == "mm"
    if fits and 0 < int(count.value[:9]) <= 10_000 and 0.01 <= float(rest[0].value) <= 20:
        return stranded(count.value, rest[0].value), last, len(rest)
    mistakes.add(
        "out-of-range" if fits else "bad-number",
        where.span(count, last),
        "strands are a whole number, `x` and their diameter in mm",
        expected=f"`{count} x {rest[0]} mm`" if given and not fits else "such as `28 x 0.30 mm`",
    )
    return None, last, len(rest)


def is_size_in_mm(number: Token, unit: Token, items: Sequence[Token | Marked]) -> bool:
    """Whether what is written as a length of a wire is its size without the 2 of its unit: no size is on the line,
    and no wire is so short, or another length is there too."""
    if unit.value != "mm" or not is_number(number.value):
        return False
    units = [unit_name(item) for item in items if not isinstance(item, Marked) and item is not unit]
    if "x" in items or any(name and UNITS[name].dimension == "area" for name in units):
        return False
    return float(number.value) < SHORTEST or any(name and UNITS[name].dimension == "length" for name in units)


def report_size_in_mm(number: Token, unit: Token, where: Statement | Inner, mistakes: Diagnostics) -> None:
    mistakes.add(
        "wrong-dimension",
        where.span(number, unit),
        f"`{number.value} {unit.value}` is a length, and this wire has no size",
        expected=f"`{number.value} mm2`",
    )
