"""Small parts that a fix asks for: the least rating sold that is enough. Figures are read from ``spares.toml``."""

from __future__ import annotations

from typing import Literal

from .sourced import rows

Spare = Literal["diode", "relay", "resistor", "capacitor"]


def spare_rating(part: Spare, carries: float) -> float | None:
    """The least rating sold of a part that has this to carry, with a margin: A of a diode or a relay's contact, W of a
    resistor, V of a capacitor. ``None`` where none is sold.
    """
    (share,) = (float(row["share"]) for row in rows("spares", "margins") if row["part"] == part)
    sold = (float(row["rating"]) for row in rows("spares", "ratings") if row["part"] == part)
    return min((rating for rating in sold if rating >= carries * share), default=None)
