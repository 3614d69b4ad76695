"""A rectifier into a battery: how many direct amps a winding gives at how many direct volts, from a table.

Only two numbers decide: the direct volts as a share ``u`` of the open peak, and resistance as a share ``rho`` of the
impedance. The table holds direct amps over short amps, made once by ``time_steps`` with diodes that lose nothing; what
real ones lose is put to the volts and to the resistance, which is exact as long as each is in the current's only way.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import cache
from typing import TYPE_CHECKING, Final, Literal

from ..tables import device_constants as figures
from ..tables.sourced import rows
from .coils import LEAST_RESISTANCE, Coil, Impedance, coils

if TYPE_CHECKING:
    from .wound import Wound

Kind = Literal["half", "single", "three"]

DIODES: Final[dict[Kind, int]] = {"half": 1, "single": 2, "three": 2}
"""How many diodes the current passes on its way."""

SHARES: Final = tuple(0.05 * i for i in range(21))
"""Of the open peak, the direct volts in the table."""

RESISTANCES: Final = (0.02, 0.06, 0.12, 0.2, 0.35, 0.55, 0.8, 1.0)
"""Of the impedance, the resistances in the table."""

FINE: Final = 5
"""Times as many steps a period as elsewhere, so that neighbours in the table differ smoothly."""

LEAST_PEAK: Final = 1e-6


def direct_amps(kind: Kind, winding: Impedance, volts: float, speed: float = 1.0) -> float:
    """Mean A into direct ``volts`` from a winding at a ``speed`` as a share of running; never below 0.

    ``winding``: of ``three`` the line figures: V between two leads, A in each with all shorted, ohm of a phase twice.
    """
    lost = figures.laws()
    here = at_speed(winding, speed, lost.diode_ohms * DIODES[kind])
    peak = math.sqrt(2.0) * here.volts
    share = (volts + lost.diode_volts * DIODES[kind]) / max(peak, LEAST_PEAK)
    if share >= 1.0:
        return 0.0
    return _looked_up(kind, max(share, 0.0), here.ohms / here.size) * _short(kind, here)


def at_speed(winding: Impedance, speed: float, more_ohms: float = 0.0) -> Impedance:
    """A winding at another speed, with some resistance more in its way."""
    return Impedance(speed * winding.volts, winding.ohms + more_ohms, speed * winding.reactance)


def _short(kind: Kind, winding: Impedance) -> float:
    return winding.volts / (winding.size * (math.sqrt(3.0) / 2.0 if kind == "three" else 1.0))


def line_of(phase: Impedance) -> Impedance:
    """A star as it is seen between two of its leads: sqrt 3 of the volts, two phases of the rest."""
    return Impedance(math.sqrt(3.0) * phase.volts, 2.0 * phase.ohms, 2.0 * phase.reactance)


def _looked_up(kind: Kind, share: float, resistance: float) -> float:
    """Direct amps over short amps, straight lines between the table's numbers."""
    table = _table(kind)
    i = min(max(bisect_right(RESISTANCES, resistance) - 1, 0), len(RESISTANCES) - 2)
    j = min(int(share * (len(SHARES) - 1)), len(SHARES) - 2)
    low, high = RESISTANCES[i], RESISTANCES[i + 1]
    a = min(max((resistance - low) / (high - low), 0.0), 1.0)
    b = share * (len(SHARES) - 1) - j
    below = (1.0 - a) * table[i][j] + a * table[i + 1][j]
    above = (1.0 - a) * table[i][j + 1] + a * table[i + 1][j + 1]
    return (1.0 - b) * below + b * above


@cache
def _table(kind: Kind) -> tuple[tuple[float, ...], ...]:
    """A row for each of ``RESISTANCES``, a column for each of ``SHARES``."""
    found = {float(row["share"]): row for row in rows("rectifiers", kind)}
    return tuple(tuple(float(found[round(u, 2)][str(rho)]) for u in SHARES) for rho in RESISTANCES)


# --- how the table is made -------------------------------------------------------------------------------------------
def made(kind: Kind, share: float, resistance: float) -> float:
    """One number of the table, by time steps: direct amps over short amps, diodes that lose nothing."""
    from .time_steps import STEPS, time_steps

    wound, battery = _circuit(kind, share, resistance)
    periodic = time_steps(wound, steps=FINE * STEPS)
    return float(periodic.law_amps[:, battery].mean())


def _circuit(kind: Kind, share: float, resistance: float) -> tuple[Wound, int]:
    """A winding of 1 A short with its rectifier and a battery of no resistance to speak of; which law that is."""
    import numpy as np

    from ..dc import device_models as laws
    from ..dc.kron_reduction import stamp
    from .wound import Wound

    volts = 100.0
    ohms = max(resistance, LEAST_RESISTANCE)
    reactance = math.sqrt(max(1.0 - ohms**2, LEAST_RESISTANCE**2))
    diode, least = laws.diode(0.0, 1e-4 * volts), 1e-9
    phases = 3 if kind == "three" else 1
    size = volts / (math.sqrt(3.0) if kind == "three" else 1.0)
    each = Impedance(size, ohms * size, reactance * size)
    direct = share * math.sqrt(2.0) * volts
    # Nodes: 0 the battery's -, 1 its +, then the leads, then the star.
    if kind == "three":
        ends = [Coil(2 + i, 5, each, 2.0 * math.pi * i / phases) for i in range(phases)]
        leads, star, count = [2, 3, 4], 5, 6
    else:
        ends = [Coil(2, 3 if kind == "single" else 0, each)]
        leads, star, count = [2, 3] if kind == "single" else [2], 2, 4
    things = [(lead, 1, diode) for lead in leads]
    if kind != "half":
        things += [(0, lead, diode) for lead in leads]
    siemens = np.zeros((count, count))
    stamp(siemens, [(star, 0, least)])
    siemens[0, 0] += 1.0
    if kind == "half":
        siemens[3, 3] += 1.0
    battery = laws.Curve(slope=1e3, offset=-1e3 * direct)
    things.append((1, 0, battery))
    wound = Wound(
        siemens,
        np.array([a for a, _, _ in things], dtype=np.intp),
        np.array([b for _, b, _ in things], dtype=np.intp),
        tuple(curve for _, _, curve in things),
        coils(ends),
    )
    return wound, len(things) - 1


def printed() -> str:
    """The tables as they stand in ``rectifiers.toml``."""
    lines = []
    for kind in DIODES:
        columns = ", ".join(f'"{rho}"' for rho in RESISTANCES)
        lines += [
            "",
            f"[{kind}]",
            'source = "steps"',
            'how = "computed"',
            f'columns = ["share", {columns}]',
            "rows = [",
        ]
        for u in SHARES:
            numbers = ", ".join(str(round(max(made(kind, u, rho), 0.0), 4)) for rho in RESISTANCES)
            lines.append(f"    [{round(u, 2)}, {numbers}],")
        lines.append("]")
    return "\n".join(lines)


if __name__ == "__main__":
    import sys

    sys.stdout.write(printed() + "\n")
