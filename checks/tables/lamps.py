"""Filament lamps: how their life changes with their volts. Figures are read from ``lamps.toml``."""

from __future__ import annotations

from .sourced import rows


def life(share_of_volts: float) -> tuple[float, float]:
    """How many times its rated life a lamp has at a share of its rated volts, at most and at least.

    By both ends of the exponent's published range (Standard Handbook for Electrical Engineers).
    """
    (row,) = (row for row in rows("lamps", "rerating") if row["quantity"] == "life")
    ends = [share_of_volts ** float(row[end]) for end in ("least", "most")]
    return max(ends), min(ends)
