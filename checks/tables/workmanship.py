"""How a harness is put together: terminals on a stud, sizes in a crimp and across the steering.

Figures are read from ``workmanship.toml``. Areas in mm2.
"""

from __future__ import annotations

from .sourced import Figure, figure, rows


def workmanship(name: str) -> Figure:
    """The figure called ``name`` of the data's table ``figures``. Raises ``KeyError`` with those that are there."""
    return figure("workmanship", name)


def resistor_for(heat: float) -> float:
    """The rated W of a resistor that is sold and turns ``heat`` W into heat at no more than the usual share of them.

    Above the largest that is sold, that share alone.
    """
    needed = heat / workmanship("resistor_share").value
    return next((float(row["watts"]) for row in rows("workmanship", "resistors") if row["watts"] >= needed), needed)
