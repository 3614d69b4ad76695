"""The voltage over which a battery is overcharged: one limit for a named state and for what a fault leaves of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..tables.device_constants import laws

if TYPE_CHECKING:
    from ...lang.model.parts import Source

LEAD_CELL, LITHIUM_CELL = 2.1, 3.3
"""V of a charged cell at rest: by these the cells of a battery are counted."""


def most_charged(battery: Source, system: float) -> tuple[float, str]:
    """The highest voltage at which a battery may be charged, in V, and the figure that says so; ``system``: nominal V
    of the harness.
    """
    known = laws()
    if battery.lithium:
        return round((battery.volts or system * LITHIUM_CELL / 3.0) / LITHIUM_CELL) * known.most_lithium_cell, (
            "most_lithium_cell"
        )
    # Lead comes in threes of cells; a tired battery has no fewer of them than a charged one.
    cells = 3 * max(1, round((battery.volts or system * LEAD_CELL / 2.0) / (3 * LEAD_CELL)))
    return cells * known.most_lead_cell, "most_lead_cell"
