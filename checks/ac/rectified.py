"""A rectifier into a battery: how many direct amps a winding gives at how many direct volts, from a table.

Only two numbers decide: the direct volts as a share ``u`` of the open peak, and resistance as a share ``rho`` of the
impedance. The table holds direct current over short-circuit current, made once by ``time_steps`` with diodes that lose
nothing; what real ones lose is put to the volts and to the resistance, which is exact as long as each is in the
current's only way.
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

Kind = Literal["half", "single", "three", "single-open", "single-shorted", "three-open", "three-shorted"]
"""A rectifier that is solved: of half waves, of one phase, of three; with one of its diodes open, or shorted, which is
what a lead on ground does as well. Whether that diode is an upper or a lower one is the same mirrored.
"""

DIODES: Final[dict[Kind, tuple[float, float]]] = {
    "half": (1, 1),
    "single": (2, 2),
    "three": (2, 2),
    "single-open": (2, 2),
    "single-shorted": (1, 1),
    "three-open": (2, 2),
    "three-shorted": (1, 0.55),
}
"""How many diodes' volts, and how many diodes' ohms, the current meets on its way. Past a shorted one of three phases
two leads have a diode and the third has none, and most of what goes round is direct current of both: this many of a
diode's ohms fit that to 5 % (ours).
"""

ROUND: Final = (0.05, 0.1)
"""Of the direct volts, those of the diodes by which current comes round past a shorted one and the battery, of two
tables: they are what ends it.
"""

TABLES: Final[dict[str, tuple[Kind, float]]] = {
    **{kind: (kind, 0.0) for kind in ("half", "single", "three", "three-open")},
    **{f"{kind}-{round(100.0 * lost)}": (kind, lost) for kind in ("single-shorted", "three-shorted") for lost in ROUND},
}
"""What each table is of: the kind, and which of ``ROUND``. With one diode open a single phase gives half waves."""

SHARES: Final = tuple(0.05 * i for i in range(21))
"""Of the open peak, the direct volts in the table."""

RESISTANCES: Final = (0.02, 0.06, 0.12, 0.2, 0.35, 0.55, 0.8, 1.0)
"""Of the impedance, the resistances in the tables."""

FINE_RESISTANCES: Final = (0.02, 0.04, 0.06, 0.09, 0.12, 0.16, 0.2, 0.27, 0.35, 0.45, 0.55, 0.8, 1.0)
"""Those where a diode is shorted: there they end what goes round."""

FINE: Final = 5
"""Times as many steps a period as elsewhere, so that neighbours in the table differ smoothly."""

LEAST_PEAK: Final = 1e-6


def direct_amps(kind: Kind, winding: Impedance, volts: float, speed: float = 1.0) -> float:
    """Mean A into direct ``volts`` from a winding at a ``speed`` as a share of running; never below 0.

    ``winding``: of ``three`` the line figures: V between two leads, A in each with all shorted, ohm of a phase twice.
    """
    lost, (drops, ohms) = figures.laws(), DIODES[kind]
    here = at_speed(winding, speed, lost.diode_ohms * ohms)
    peak = math.sqrt(2.0) * here.volts
    direct = volts + lost.diode_volts * drops
    share = direct / max(peak, LEAST_PEAK)
    if share >= 1.0:
        return 0.0
    near = _tables(kind, lost.diode_volts / max(direct, lost.diode_volts))
    return sum(w * _looked_up(name, share, here.ohms / here.size) for name, w in near) * _short(kind, here)


def _tables(kind: Kind, lost: float) -> tuple[tuple[str, float], ...]:
    """The tables of a kind with their weights. ``lost``: of the direct volts, those of one diode."""
    if kind == "single-open":
        return (("half", 1.0),)
    if not kind.endswith("-shorted"):
        return ((kind, 1.0),)
    low, high = (name for name, (of, _) in TABLES.items() if of == kind)
    weight = min(max((lost - ROUND[0]) / (ROUND[1] - ROUND[0]), -0.5), 1.0)
    return ((low, 1.0 - weight), (high, weight))


@cache
def lead_amps(kind: Kind, winding: Impedance, volts: float, speed: float = 1.0) -> float:
    """The most A rms in a lead of a ``winding``, as ``direct_amps`` has it, into direct ``volts``; by time steps."""
    from .time_steps import time_steps
    from .wound import rms

    lost, (drops, ohms) = figures.laws(), DIODES[kind]
    here = at_speed(winding, speed, lost.diode_ohms * ohms)
    direct = volts + lost.diode_volts * drops
    share = min(direct / (math.sqrt(2.0) * here.volts), 1.0)
    round_ = lost.diode_volts / direct if kind.endswith("-shorted") else 0.0
    wound, _ = _circuit(kind, share, here.ohms / here.size, round_)
    return float(rms(time_steps(wound).coil_amps).max()) * _short(kind, here)


def at_speed(winding: Impedance, speed: float, more_ohms: float = 0.0) -> Impedance:
    """A winding at another speed, with some resistance more in its way."""
    return Impedance(speed * winding.volts, winding.ohms + more_ohms, speed * winding.reactance)


def _short(kind: Kind, winding: Impedance) -> float:
    return winding.volts / (winding.size * (math.sqrt(3.0) / 2.0 if has_three(kind) else 1.0))


def has_three(kind: Kind) -> bool:
    """Whether all three phases of a stator give something."""
    return kind.startswith("three")


def line_of(phase: Impedance) -> Impedance:
    """A star as it is seen between two of its leads: sqrt 3 of the volts, two phases of the rest."""
    return Impedance(math.sqrt(3.0) * phase.volts, 2.0 * phase.ohms, 2.0 * phase.reactance)


def _looked_up(name: str, share: float, resistance: float) -> float:
    """Direct current over short-circuit current, straight lines between the table's numbers."""
    table, known = _table(name), _resistances(name)
    i = min(max(bisect_right(known, resistance) - 1, 0), len(known) - 2)
    j = min(int(share * (len(SHARES) - 1)), len(SHARES) - 2)
    low, high = known[i], known[i + 1]
    a = min(max((resistance - low) / (high - low), 0.0), 1.0)
    b = share * (len(SHARES) - 1) - j
    below = (1.0 - a) * table[i][j] + a * table[i + 1][j]
    above = (1.0 - a) * table[i][j + 1] + a * table[i + 1][j + 1]
    return (1.0 - b) * below + b * above


@cache
def _table(name: str) -> tuple[tuple[float, ...], ...]:
    """A row for each of its resistances, a column for each of ``SHARES``."""
    found = {float(row["share"]): row for row in rows("rectifiers", name)}
    return tuple(tuple(float(found[round(u, 2)][str(rho)]) for u in SHARES) for rho in _resistances(name))


def _resistances(name: str) -> tuple[float, ...]:
    return FINE_RESISTANCES if TABLES[name][1] else RESISTANCES


# --- how the table is made -------------------------------------------------------------------------------------------
def made(kind: Kind, share: float, resistance: float, lost: float = 0.0) -> float:
    """One number of a table, by time steps: direct current over short-circuit current, diodes that lose nothing but
    what is ``lost`` of the direct volts where current comes round past a shorted one.
    """
    from .time_steps import STEPS, time_steps

    wound, battery = _circuit(kind, share, resistance, lost)
    periodic = time_steps(wound, steps=FINE * STEPS)
    return float(periodic.law_amps[:, battery].mean())


def _circuit(kind: Kind, share: float, resistance: float, lost: float) -> tuple[Wound, int]:
    """A winding of 1 A short with its rectifier and a battery of no resistance to speak of; which law that is."""
    import numpy as np

    from ..dc import device_models as laws
    from ..dc.kron_reduction import stamp
    from .wound import Wound

    volts = 100.0
    ohms = max(resistance, LEAST_RESISTANCE)
    reactance = math.sqrt(max(1.0 - ohms**2, LEAST_RESISTANCE**2))
    diode, least = laws.diode(0.0, 1e-4 * volts), 1e-9
    size = volts / (math.sqrt(3.0) if has_three(kind) else 1.0)
    each = Impedance(size, ohms * size, reactance * size)
    direct = share * math.sqrt(2.0) * volts
    # Nodes: 0 the battery's -, 1 its +, then the leads, then the star.
    if has_three(kind):
        ends = [Coil(2 + i, 5, each, 2.0 * math.pi * i / 3) for i in range(3)]
        leads, star, count = [2, 3, 4], 5, 6
    else:
        ends = [Coil(2, 0 if kind == "half" else 3, each)]
        leads, star, count = [2] if kind == "half" else [2, 3], 2, 4
    things = [(lead, 1, diode) for lead in leads]
    if kind != "half":
        lower = laws.diode(lost * direct, 1e-4 * volts)
        things += [(0, lead, lower) for lead in leads]
    if kind.endswith("-open"):
        things.remove((leads[0], 1, diode))
    siemens = np.zeros((count, count))
    stamp(siemens, [(star, 0, least)])
    siemens[0, 0] += 1.0
    if kind == "half":
        siemens[3, 3] += 1.0
    if kind.endswith("-shorted"):
        things.remove((0, leads[0], lower))
        stamp(siemens, [(0, leads[0], 1e3)])
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
    """The tables as they are in ``rectifiers.toml``."""
    lines = []
    for name, (kind, lost) in TABLES.items():
        columns = ", ".join(f'"{rho}"' for rho in _resistances(name))
        lines += [
            "",
            f"[{name}]",
            'source = "steps"',
            'how = "computed"',
            f'columns = ["share", {columns}]',
            "rows = [",
        ]
        for u in SHARES:
            numbers = ", ".join(str(round(max(made(kind, u, rho, lost), 0.0), 4)) for rho in _resistances(name))
            lines.append(f"    [{round(u, 2)}, {numbers}],")
        lines.append("]")
    return "\n".join(lines)


if __name__ == "__main__":
    import sys

    sys.stdout.write(printed() + "\n")
