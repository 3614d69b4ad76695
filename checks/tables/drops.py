"""How much voltage may be lost: limits of several documents, and bench figures, all read from ``drops.toml``."""

from __future__ import annotations

from typing import NamedTuple

from ...lang.quantities.quantity import shown
from .sourced import Cited, rows


class DropLimit(NamedTuple):
    """A limit: a ``share`` of battery volts that may be lost on the way to a load and back."""

    name: str
    share: float
    cited: Cited


class BenchLimit(NamedTuple):
    """V that may be measured across ``what`` while its current flows."""

    what: str
    volts: float
    cited: Cited


def drop_limits() -> tuple[DropLimit, ...]:
    """The published limits as shares of battery volts."""
    return tuple(DropLimit(row["name"], float(row["share"]), row.cited) for row in rows("drops", "shares"))


def bench_limits() -> tuple[BenchLimit, ...]:
    """What a good joint, switch, run and ground side lose at most, by the trade; published figures disagree widely."""
    return tuple(BenchLimit(row["what"], float(row["volts"]), row.cited) for row in rows("drops", "bench"))


def aircraft_volts(nominal: float, *, intermittent: bool = False) -> float:
    """V that AC 43.13-1B table 11-6 allows from bus to ground on a nominal 14, 28, 115 or 200 V system.

    Raises ``ValueError`` for another.
    """
    table = {float(row["nominal"]): row for row in rows("drops", "aircraft")}
    if nominal not in table:
        raise ValueError(f"table 11-6 has {', '.join(map(shown, table))} V, not {shown(nominal)}")
    return float(table[nominal]["intermittent" if intermittent else "continuous"])
