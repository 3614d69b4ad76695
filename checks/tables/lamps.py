"""Filament lamps: the categories of UN R37, and how a lamp changes with its volts.

Figures are read from ``lamps.toml``, for 12 V.
"""

from __future__ import annotations

from .sourced import rows


def rerated(quantity: str, share_of_volts: float) -> float:
    """How many times its rated value a lamp's ``quantity`` has at a share of its rated volts.

    ``quantity``: current, power, light, colour temperature or life (Standard Handbook for Electrical Engineers). Raises
    ``ValueError`` for any other, or a share that is not above zero.
    """
    exponents = {row["quantity"]: float(row["exponent"]) for row in rows("lamps", "rerating")}
    if quantity not in exponents:
        raise ValueError(f"a lamp's {quantity!r} is none of {', '.join(exponents)}")
    if not share_of_volts > 0.0:
        raise ValueError(f"a share of rated volts must be above 0, found {share_of_volts}")
    return float(share_of_volts ** exponents[quantity])
