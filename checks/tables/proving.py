"""What a proof goes by: limits, tools, how much work is too much. Figures are read from ``proving.toml``."""

from __future__ import annotations

from .sourced import figure, rows


def proving(name: str) -> float:
    """The figure called ``name``, in the unit of its row. Raises ``KeyError`` with those that are there."""
    return figure("proving", name).value


def lamp_watts(volts: float) -> float:
    """W of the lamp that is put across a fuse's clips in a system of this many V: that of the nearest tabulated one."""
    return float(min(rows("proving", "lamps"), key=lambda row: abs(row["volts"] - volts))["watts"])
