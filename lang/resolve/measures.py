"""Quantities: a number and a unit become a value in SI, or a report of what is wrong with them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from ..diagnostics.messages import Diagnostics, listed
from ..named_tuples import NamedTuple
from ..quantities.foreign_units import in_our_units
from ..quantities.quantity import shown
from ..quantities.units import GREATEST, LEAST, SIGNED, UNITS, UNITS_OF, is_number, unit_name
from ..syntax.tree import Inner, Statement

if TYPE_CHECKING:
    from ..syntax.tokens import Token


MAY_BE_ZERO: Final = ("ambient", "asleep", "idle", "cranking", "claim", "slack")
"""Facts that may be nothing; every other quantity must be more than that."""

UPPER: Final = "upper"
"""The fact that holds the upper end of a range."""

_SCIENTIFIC: Final = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?[eE][+-]?[0-9]+")


class Measured(NamedTuple):
    """A quantity as read: how many tokens after the number were used, and the fact with its value if all was well."""

    taken: int
    fact: str | None = None
    value: float | int | None = None


def measure(
    number: Token,
    unit: Token | None,
    ratings: dict[str, str],
    where: Statement | Inner,
    mistakes: Diagnostics,
    *,
    whose: str,
    known: Iterable[str] = (),
) -> Measured:
    """The quantity that a number and the token after it make, as one of ``ratings`` (dimension -> fact).

    Reports a missing or unknown unit, a wrong dimension and a number out of range. ``known`` are words that may follow
    and then are no unit.
    """
    if unit is not None and unit.start_pos == number.end_pos and unit.type == "WORD":
        mistakes.add(
            "glued-unit",
            where.span(number, unit),
            f"`{number.value}{unit.value}` needs a space between number and unit",
            expected=f"`{number.value} {unit_name(unit.value) or unit.value}`",
        )
        return Measured(1)
    name = unit_name(unit.value) if unit is not None else None
    if name is None:
        if unit is None or unit.type != "WORD" or unit.value in known or is_number(unit.value):
            mistakes.add(
                "missing-unit",
                where.span(number),
                f"`{number.value}` has no unit" if ratings else f"{whose} has no number",
                expected=_wanted(ratings),
            )
            return Measured(0)
        ours = in_our_units(number.value, unit.value, ratings)
        if unit.value == "m2":  # no conductor is as thick as a square metre: a letter was lost
            ours = None
        mistakes.add(
            "unknown-unit",
            where.span(unit),
            f"`{unit.value}` is no unit of the list",
            expected=_wanted(ratings),
            remedy=f"write `{ours}`" if ours else "",
            wrong=None if ours else unit.value,
            known=() if ours else UNITS,
        )
        return Measured(1)
    dimension = UNITS[name].dimension
    whole = where.span(number, unit)
    if dimension not in ratings:
        mistakes.add(
            "wrong-dimension",
            whole,
            f"`{number.value} {name}` is a {dimension}, which {whose} does not have here",
            expected=_wanted(ratings),
        )
        return Measured(1)
    value = float(number.value) * UNITS[name].factor
    fact = ratings[dimension]
    zero = fact in MAY_BE_ZERO and value == 0
    if (value <= 0 and not zero and dimension not in SIGNED) or abs(value) > GREATEST:
        mistakes.add(
            "out-of-range",
            whole,
            f"{whose} cannot have `{number.value} {name}`",
            expected="more than 0, and no number beyond what a motorcycle has",
        )
        return Measured(1)
    if 0 < abs(value) < (least := LEAST.get(dimension, 0.0)):
        mistakes.add(
            "out-of-range",
            whole,
            f"{whose} cannot have so little as `{number.value} {name}`",
            expected=f"at least {shown(least / UNITS[name].factor)} {name}",
        )
        return Measured(1)
    if (dimension == "share" and value > (MOST_SPEED if fact in OF_SPEED else 1)) or (
        dimension == "temperature" and not -273.15 < value <= 1000
    ):
        mistakes.add(
            "out-of-range",
            whole,
            f"`{number.value} {name}` is not possible",
            expected=OF_SPEED.get(fact, _LIMITS[dimension]),
        )
        return Measured(1)
    if dimension == "count":
        if not number.value.isdecimal() or value > 1000:
            mistakes.add(
                "out-of-range", whole, f"`{number.value} {name}` is no count", expected="a whole number to 1000"
            )
            return Measured(1)
        return Measured(1, fact, int(value))
    return Measured(1, fact, _nearest(number.value, UNITS[name].factor))


MOST_SPEED: Final = 10.0
"""Times running speed that an engine turns at most, and more (ours)."""

OF_SPEED: Final = {"most_speed": "from 100 % to 1,000 %"}
"""Shares that may be above 1, and what is expected of them."""

_LIMITS: Final = {"share": "more than 0 % and at most 100 %", "temperature": "from -273 degC to 1000 degC"}


def _wanted(ratings: Mapping[str, str]) -> str:
    """What is expected where a quantity is none of ``ratings``."""
    units = listed(unit for dimension in ratings for unit in UNITS_OF[dimension])
    return f"a number and {units}" if ratings else "no number"


def _nearest(number: str, factor: float) -> float:
    """The float nearest to what is written: ``15 mohm`` is 0.015, where a product would give 0.015000000000000001."""
    power = round(math.log10(factor))
    return float(f"{number}e{power}") if factor == float(f"1e{power}") else float(number) * factor
