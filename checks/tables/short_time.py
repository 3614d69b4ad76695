"""What a conductor withstands for seconds: the adiabatic equation, and where bare copper melts.

Figures are read from ``short_time.toml`` and ``conductors.toml``. Areas in mm2, temperatures in degC, times in s.
"""

from __future__ import annotations

import math
from functools import cache

from ...lang.named_tuples import NamedTuple
from .conductors import copper, insulation_class
from .sourced import Cited, rows


class ShortTime(NamedTuple):
    """The adiabatic factor ``k`` in A s^0.5 / mm2 of a class, heated from ``initial`` to ``final`` degC."""

    k: float
    initial: float
    final: float
    cited: Cited


def adiabatic_k(initial: float, final: float) -> float:
    """The factor k in A s^0.5 / mm2 of copper that goes from ``initial`` to ``final`` degC and loses no heat.

    sqrt(Q (b + 20) / rho * ln((b + final) / (b + initial))) with IEC 60364-5-54 annex A's constants; good up to 5 s.
    Raises ``ValueError`` where ``final`` is below ``initial`` or ``initial`` at or below -b (234.5 degC below zero).
    """
    metal = copper()
    if not -metal.zero_resistance < initial <= final:
        raise ValueError(f"a conductor cannot be heated from {initial} to {final} degC")
    folds = math.log((metal.zero_resistance + final) / (metal.zero_resistance + initial))
    return math.sqrt(_i2t_an_e_fold() * folds)


def _i2t_an_e_fold() -> float:
    """The A2s / mm4 of copper for each e-fold of (b + T): 226 squared (IEC 60949)."""
    metal = copper()
    return metal.heat_capacity * (metal.zero_resistance + 20.0) / (metal.resistivity / 1e3)


@cache
def short_time(wire_class: str) -> ShortTime:
    """The adiabatic factor of a class of ISO 6722, from its highest temperature to what its insulation withstands in
    one short circuit of at most 5 s. For a load that comes again and again its highest temperature is the limit.

    The conductor is taken to be as hot as its class allows before the fault. So a higher class may have a lower k where
    the final temperature is the same, as in IEC 60364 (PVC 70: 115, PVC 90: 100). Raises ``ValueError`` for an unknown
    class.
    """
    initial = insulation_class(wire_class).highest
    row = next(row for row in rows("short_time", "final") if row["letter"] == wire_class)
    return ShortTime(adiabatic_k(initial, row["final"]), initial, float(row["final"]), row.cited)


def k_factor(wire_class: str) -> float:
    """k in A s^0.5 / mm2 of a class (see ``short_time``). Raises ``ValueError`` for an unknown class."""
    return short_time(wire_class).k


def withstand_i2t(area: float, wire_class: str) -> float:
    """The I2t in A2s that a conductor of ``area`` mm2 withstands: (k S)^2. Good for faults of up to 5 s.

    Raises ``ValueError`` for an unknown class.
    """
    return float((k_factor(wire_class) * area) ** 2)


def adiabatic_amps(area: float, initial: float, final: float, seconds: float) -> float:
    """The current in A that heats a conductor of ``area`` mm2 from ``initial`` to ``final`` degC in ``seconds``, if all
    heat stays in the copper: k S / sqrt(t). A real conductor loses some on the way and is cooler.

    Raises ``ValueError`` for a time that is not above zero, and as ``adiabatic_k``.
    """
    if not seconds > 0.0:
        raise ValueError(f"a time must be above 0 s, found {seconds}")
    return adiabatic_k(initial, final) * area / math.sqrt(seconds)


def adiabatic_celsius(area: float, initial: float, amps: float, seconds: float) -> float:
    """The degC that a conductor of ``area`` mm2 comes to from ``initial`` degC after ``seconds`` of ``amps`` A, if all
    heat stays in the copper; as a bound it goes far beyond the melting point.
    """
    zero = copper().zero_resistance
    exponent = amps**2 * seconds / (_i2t_an_e_fold() * area**2)
    return (zero + initial) * math.exp(min(exponent, MOST_FOLDS)) - zero


MOST_FOLDS = 20.0
"""e-folds of (234.5 degC + T) beyond which nothing is worked out: copper melts after two."""
