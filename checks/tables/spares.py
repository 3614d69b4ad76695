"""Small parts that a fix asks for: the least rating sold that is enough. Figures are read from ``spares.toml``."""

from __future__ import annotations

import math
from typing import Literal

from ...lang.quantities.ranking import exceeds
from .sourced import rows

Spare = Literal["diode", "relay", "resistor", "capacitor"]


def spare_rating(part: Spare, carries: float) -> float | None:
    """The least rating sold of a part that has this to carry, with a margin: A of a diode or a relay's contact, W of a
    resistor, V of a capacitor. ``None`` where none is sold.
    """
    (share,) = (float(row["share"]) for row in rows("spares", "margins") if row["part"] == part)
    sold = (float(row["rating"]) for row in rows("spares", "ratings") if row["part"] == part)
    return min((rating for rating in sold if rating >= carries * share), default=None)


def resistance_sold(most: float) -> float:
    """The greatest resistance of series E12 not above ``most`` ohm. Raises ``ValueError`` where that is not above 0."""
    return max(value for value in _series_near(most) if not exceeds(value, most))


def resistance_near(ohms: float) -> float:
    """The resistance of series E12 nearest to some ohm, by their ratio. Raises ``ValueError`` where they are not above
    0.
    """
    return min(_series_near(ohms), key=lambda value: abs(math.log(value / ohms)))


def _series_near(ohms: float) -> tuple[float, ...]:
    """The values of the decade of some ohm, of the one below and of the one above."""
    if not ohms > 0.0:
        raise ValueError(f"a resistance must be above 0 ohm, found {ohms}")
    decade = 10.0 ** math.floor(math.log10(ohms))
    values = [float(row["value"]) for row in rows("spares", "series")]
    return tuple(round(value * decade * scale, 6) for scale in (0.1, 1.0, 10.0) for value in values)
