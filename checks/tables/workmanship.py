"""How a harness is put together: terminals on a stud, sizes in a crimp and across the steering.

Figures are read from ``workmanship.toml``. Areas in mm2.
"""

from __future__ import annotations

from .sourced import Figure, figure


def workmanship(name: str) -> Figure:
    """The figure called ``name`` of the data's table ``figures``. Raises ``KeyError`` with those that are there."""
    return figure("workmanship", name)
