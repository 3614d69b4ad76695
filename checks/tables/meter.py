"""What a hand-held meter shows on a motorcycle at rest; the rows of ``meter.toml`` hold units and sources."""

from __future__ import annotations

from functools import cache

from ...lang.named_tuples import NamedTuple
from .sourced import rows


class MeterFigures(NamedTuple):
    """``wrong``: share of readings in which hand or meter errs. ``cold_share``: of a filament's hot resistance.

    ``box_least``: ohm between two terminals of electronics at least. ``unknown_beeps``, ``border_beeps``: how often it
    beeps where nobody can tell, and from the beeper's limit over ``border_factor`` to that many times the limit.
    ``dead_lamp``, ``dead_joint``: share of lamps, of mounts and fuses that are open. ``coil_spread``,
    ``filament_spread``: factors between expected and measured resistance. ``probe_ohms``: of the meter's own leads.
    ``armature_least``: of rated volts over amps. ``winding_most``, ``diode_range``: ohm. ``reading_floor``: by how much
    of the system's volts a reading may differ from what is predicted, wherever next to nothing is read;
    ``reading_share``: and of what is predicted, since a battery that is fuller or emptier than the file says moves all
    volts of a state in proportion.
    """

    wrong: float
    cold_share: float
    box_least: float
    unknown_beeps: float
    border_beeps: float
    border_factor: float
    dead_lamp: float
    dead_joint: float
    coil_spread: float
    filament_spread: float
    probe_ohms: float
    armature_least: float
    winding_most: float
    diode_range: float
    reading_floor: float
    reading_share: float


@cache
def meter_figures() -> MeterFigures:
    return MeterFigures(**{row["name"]: float(row["value"]) for row in rows("meter", "figures")})


def tolerance(volts: float, nominal: float) -> float:
    """V by which a reading may differ from ``volts`` in a system of ``nominal`` V and still be as predicted."""
    figures = meter_figures()
    return figures.reading_floor * nominal + figures.reading_share * abs(volts)
