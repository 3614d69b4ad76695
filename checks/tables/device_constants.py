"""How each kind of thing behaves: shares of dead and live, and the constants of the numeric laws.

Figures are read from ``device_constants.toml``; most are this project's own choice and say so there. SI units,
shares of 1.
"""

from __future__ import annotations

from functools import cache
from typing import Literal

from ...lang.named_tuples import NamedTuple
from ...lang.quantities.quantity import shown
from ...lang.vocabulary.words import SYSTEM_VOLTS
from .conductors import resistance_per_metre
from .sourced import Cited, rows


class Shares(NamedTuple):
    """When a kind is dead, and from when it works.

    Below ``dead`` it does nothing that matters; from ``works`` on it does its job, from ``start`` on also while the
    engine is being started; between it is dim. All are shares of ``of``.
    """

    kind: str
    dead: float
    works: float
    start: float
    of: Literal["nominal volts", "rated amps"]
    cited: Cited


class Laws(NamedTuple):
    """The constants of the numeric laws; the rows of ``device_constants.toml`` hold units and sources.

    ``lamp_exponent``: current goes with volts to this power. ``lamp_hot_over_cold``: a filament's resistance never
    falls below 1 / this of its hot one. ``led_dark_share``, ``led_rated_share``: of nominal volts, nothing below, rated
    from. ``motor_knee_share``, ``electronics_knee_share``: a resistor up to there, then constant amps. ``least_slope``:
    of the rated conductance, what every law rises by at least. ``relay_pull_share``, ``relay_drop_share``: of nominal
    volts. ``contact_volts``: V at a contact's rating. ``diode_volts`` V and ``diode_ohms`` ohm. ``output_volts``: V at
    a unit output's limit. ``mount_ohms`` ohm. ``termination_metres``: m of the same wire that each end counts for.
    ``battery_charge_share``: A taken for each Ah. ``gassing_cell``: V a cell from which lead gasses, taking
    ``gassing_slope`` A for each Ah and V a cell more. ``field_start_share``: of full field current.
    ``sense_error_volts`` V. ``most_lead_cell``, ``most_lithium_cell``: V a cell while charged.
    ``battery_least_share``, ``battery_most_share``: of nominal volts, a battery at rest.
    ``unequal_volts_share``: of the higher rest volts, by which batteries side by side may differ. ``standing_days`` d.
    ``cranking_share``: of nominal volts at the ignition. ``same_path_share``: a difference that counts as none.
    ``solved_classes`` and ``table_bits``: where an analysis stops and says so. ``terminals_a_crimp``:
    conductors in one crimp.
    """

    lamp_exponent: float
    lamp_hot_over_cold: float
    lamp_volts_12: float
    lamp_volts_6: float
    lamp_volts_24: float
    led_dark_share: float
    led_rated_share: float
    motor_knee_share: float
    electronics_knee_share: float
    least_slope: float
    relay_pull_share: float
    relay_drop_share: float
    contact_volts: float
    unrated_contact_amps: float
    diode_volts: float
    diode_ohms: float
    output_volts: float
    mount_ohms: float
    termination_metres: float
    battery_charge_share: float
    gassing_cell: float
    gassing_slope: float
    field_start_share: float
    sense_error_volts: float
    most_lead_cell: float
    most_lithium_cell: float
    battery_least_share: float
    battery_most_share: float
    unequal_volts_share: float
    standing_days: float
    cranking_share: float
    same_path_share: float
    solved_classes: int
    table_bits: int
    terminals_a_crimp: int


@cache
def shares() -> dict[str, Shares]:
    """The shares of every kind that has some: the words for elements, ``coil`` and ``unit supply``."""
    return {
        row["kind"]: Shares(row["kind"], row["dead"], row["works"], row["start"], row["of"], row.cited)
        for row in rows("device_constants", "shares")
    }


@cache
def laws() -> Laws:
    """The constants of the numeric laws."""
    return Laws(**{row["name"]: row["value"] for row in rows("device_constants", "laws")})


def law_source(name: str) -> Cited:
    """Where the constant called ``name`` (a field of ``Laws``) comes from. Raises ``KeyError`` for an unknown name."""
    return {row["name"]: row.cited for row in rows("device_constants", "laws")}[name]


@cache
def lamp_rated_volts(watts: float, made_for: float) -> float:
    """The V at which a filament lamp made for ``made_for`` V takes its ``watts``: UN R37's test voltage where these are
    what it takes there, else the nominal one; watts then grow with V^1.55, 21 W to 25.2 W at 13.5 V, where the
    regulation allows 26.5 W. On 6 and 24 V in proportion; at any other voltage a lamp is rated at what the text says.
    """
    tested = {row["watts"]: row["volts"] for row in rows("device_constants", "filaments")}
    return made_for / 12.0 * tested.get(watts, 12.0) if made_for in SYSTEM_VOLTS else made_for


def lamp_test_volts(system_volts: float) -> float:
    """The V at which signal lamps are tested on a 6, 12 or 24 V system (UN R37). Raises ``ValueError`` for others."""
    known = {6.0: laws().lamp_volts_6, 12.0: laws().lamp_volts_12, 24.0: laws().lamp_volts_24}
    if system_volts not in known:
        raise ValueError(f"lamps are made for 6, 12 and 24 V systems, found {shown(system_volts)} V")
    return known[system_volts]


def contact_ohms(rating: float | None) -> float:
    """The resistance in ohm of a closed contact: 50 mV at its rating in A; as for 10 A where it has none."""
    return laws().contact_volts / (rating or laws().unrated_contact_amps)


def termination_ohms(area: float, celsius: float = 20.0) -> float:
    """The resistance in ohm of one crimped end: as much as 50 mm of the same wire of ``area`` mm2 at ``celsius`` degC.

    So it goes down as the terminal grows, 0.9 mohm at 1 mm2 and 0.06 at 16 mm2: a sound joint, not a tired one.
    """
    return laws().termination_metres * resistance_per_metre(area, celsius)
