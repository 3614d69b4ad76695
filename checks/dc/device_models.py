"""How much current an element takes, as a function of the volts across it.

Every law is continuous and always rises, so a network of them has one solution and Newton's way down to it cannot go
astray. Sources are laws too: what gives current is below zero. Volts from ``a`` to ``b``, amps in at ``a``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..tables import device_constants as figures

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

LEAK = 1e-7
"""Conductance in S of what blocks (ours): small beside any drain that matters, large enough to leave no node loose."""

TINY = 1e-300
"""A share of its volts at which a lamp is cold, to divide by in place of none."""

REFERENCE_SHARE = 1e-3
"""Of its volts, what a reference output loses at its rated current (ours): it is made to hold them."""


@dataclass(frozen=True, slots=True)
class Breakpoint:
    """From ``volts`` on, upwards (``up``) or downwards, the law's slope changes by ``slope`` S."""

    volts: float
    slope: float
    up: bool = True


@dataclass(frozen=True, slots=True)
class Filament:
    """A lamp: ``amps`` at ``volts``, current to the 0.55, and never less than its cold resistance."""

    volts: float
    amps: float


@dataclass(frozen=True, slots=True)
class Curve:
    """A law as straight stretches: ``offset`` A at 0 V, ``slope`` S around it, knees beyond; or a filament."""

    slope: float = 0.0
    offset: float = 0.0
    breakpoints: tuple[Breakpoint, ...] = ()
    filament: Filament | None = None

    def moved(self, along: float) -> Curve:
        """The same law this many volts further along."""
        knees = tuple(Breakpoint(k.volts + along, k.slope, k.up) for k in self.breakpoints)
        return Curve(self.slope, self.offset - self.slope * along, knees, self.filament)

    def amps(self, volts: float) -> float:
        """The current at ``volts`` V, in A."""
        total = self.offset + self.slope * volts
        for breakpoint_ in self.breakpoints:
            beyond = volts - breakpoint_.volts
            if (beyond > 0.0) is breakpoint_.up:
                total += breakpoint_.slope * beyond
        if self.filament:
            total += _filament_amps(self.filament, volts)
        return total


def _filament_amps(lamp: Filament, volts: float) -> float:
    share = abs(volts) / lamp.volts
    known = figures.laws()
    amps = float(lamp.amps * min(known.lamp_hot_over_cold * share, share**known.lamp_exponent))
    return amps if volts >= 0.0 else -amps


# --- consumers -------------------------------------------------------------------------------------------------------
def resistor(ohms: float) -> Curve:
    """A plain resistance in ohm, above 0."""
    return Curve(slope=1.0 / ohms)


def lamp(watts: float, volts: float) -> Curve:
    """A filament of ``watts`` at the lamp standard's ``volts``."""
    return Curve(filament=Filament(volts, watts / volts))


def saturating(amps: float, nominal: float, share: float, *, one_way: bool = False) -> Curve:
    """A resistor up to ``share`` of nominal volts, then constant but for the least slope; ``one_way``: backwards none.

    A constant current would have no slope at all, and taking its feed off would then ask for endless volts.
    """
    least = figures.laws().least_slope * amps / nominal
    breakpoint_ = share * nominal
    steep = (amps - least * breakpoint_) / breakpoint_
    if one_way:
        return Curve(slope=LEAK, breakpoints=(Breakpoint(0.0, least + steep - LEAK), Breakpoint(breakpoint_, -steep)))
    return Curve(
        slope=least + steep, breakpoints=(Breakpoint(breakpoint_, -steep), Breakpoint(-breakpoint_, -steep, up=False))
    )


def led(amps: float, nominal: float, dark: float, full: float) -> Curve:
    """Nothing to speak of below ``dark``, rated current from ``full`` of nominal volts on; blocks backwards."""
    least = figures.laws().least_slope * amps / nominal
    rise = (amps - least * full * nominal) / ((full - dark) * nominal)
    return Curve(
        slope=LEAK,
        breakpoints=(
            Breakpoint(0.0, least - LEAK),
            Breakpoint(dark * nominal, rise),
            Breakpoint(full * nominal, -rise),
        ),
    )


# --- what lets current through one way -------------------------------------------------------------------------------
def diode(threshold: float, ohms: float) -> Curve:
    """A diode: ``ohms`` in ohm above its ``threshold`` in V, leakage below it and backwards."""
    return Curve(slope=LEAK, breakpoints=(Breakpoint(threshold, 1.0 / ohms - LEAK),))


def one_way(conductance: float) -> Curve:
    """``conductance`` in S forwards, leakage backwards."""
    return Curve(slope=LEAK, breakpoints=(Breakpoint(0.0, conductance - LEAK),))


# --- sources ---------------------------------------------------------------------------------------------------------
def battery(volts: float, ohms: float, charge_amps: float, regulated: float) -> Curve:
    """Open-circuit ``volts`` behind ``ohms`` when it gives; ``charge_amps`` at ``regulated`` volts when it takes.

    As volts behind resistance both ways it would swallow the whole machine and show 12.7 V where 13.9 V is true.
    """
    giving = 1.0 / ohms
    taking = charge_amps / max(regulated - volts, 0.05 * volts)
    return Curve(slope=giving, offset=-volts * giving, breakpoints=(Breakpoint(volts, taking - giving),))


def reference(volts: float, most: float | None) -> Curve:
    """What a reference output gives from its unit's return (top) to its terminal: ``volts`` V less a thousandth at
    ``most`` A, and hardly more than that at lower volts; nothing flows back into it. ``None``: no limit is known.
    """
    steep = (most or 1.0) / (REFERENCE_SHARE * volts)
    breakpoints = [Breakpoint(-volts, steep - LEAK)]
    if most:
        least = figures.laws().least_slope * most / volts
        breakpoints.append(Breakpoint(most / steep - volts, least - steep))
    return Curve(slope=LEAK, offset=LEAK * volts, breakpoints=tuple(breakpoints))


def machine(volts: float, most: float, ohms: float) -> Curve:
    """``volts`` behind a small resistance, up to ``most`` A; at lower volts hardly more. Nothing flows back into it.

    Held at other volts it is the same law this many volts further along (``Bank.moved``).
    """
    least = figures.laws().least_slope * most / volts
    steep = 1.0 / ohms
    start = volts - most / steep  # below this it runs at full output
    return Curve(
        slope=least,
        offset=-most - least * start,
        breakpoints=(Breakpoint(start, steep - least), Breakpoint(volts, LEAK - steep)),
    )


# --- many at once ----------------------------------------------------------------------------------------------------
class DeviceBank:
    """Many laws, evaluated together. ``amps`` and ``slopes`` take and give arrays of shape (m,), in V, A and S."""

    def __init__(self, curves: Sequence[Curve]) -> None:
        import numpy as np

        self._np = np
        self._along: Floats | float = 0.0
        self.count = len(curves)
        self.slope = np.array([c.slope for c in curves], dtype=float)
        self.offset = np.array([c.offset for c in curves], dtype=float)
        breakpoints = [
            (i, k.volts, k.slope, 1.0 if k.up else -1.0) for i, c in enumerate(curves) for k in c.breakpoints
        ]
        self._of = np.array([k[0] for k in breakpoints], dtype=np.intp)
        self._at = np.array([k[1] for k in breakpoints], dtype=float)
        self._by = np.array([k[2] for k in breakpoints], dtype=float)
        self._side = np.array([k[3] for k in breakpoints], dtype=float)
        lamps = [(i, c.filament.volts, c.filament.amps) for i, c in enumerate(curves) if c.filament]
        self._lamp = np.array([x[0] for x in lamps], dtype=np.intp)
        self._lamp_volts = np.array([x[1] for x in lamps], dtype=float)
        self._lamp_amps = np.array([x[2] for x in lamps], dtype=float)
        self._exponent = figures.laws().lamp_exponent
        self._cold = figures.laws().lamp_hot_over_cold

    def moved(self, along: Floats) -> DeviceBank:
        """The same laws, each this many volts further along."""
        import copy

        other = copy.copy(self)
        other._along = along  # noqa: SLF001 - a copy of itself
        return other

    def chosen(self, places: Places) -> DeviceBank:
        """Some of the laws, by their places."""
        import copy

        np = self._np
        other = copy.copy(self)
        other.__dict__.pop("_belongs", None)
        other.count = places.size
        other.slope, other.offset = self.slope[places], self.offset[places]
        other._along = self._along if isinstance(self._along, float) else self._along[places]  # noqa: SLF001 - a copy
        first, end = np.searchsorted(self._of, places), np.searchsorted(self._of, places, side="right")
        own = end - first
        knees = np.repeat(end - np.cumsum(own), own) + np.arange(own.sum())
        other._of = np.repeat(np.arange(places.size), own)  # noqa: SLF001
        other._at, other._by, other._side = self._at[knees], self._by[knees], self._side[knees]  # noqa: SLF001
        lamps = np.searchsorted(self._lamp, places)
        there = np.flatnonzero(np.append(self._lamp, -1)[lamps] == places)
        other._lamp = there  # noqa: SLF001
        other._lamp_volts = self._lamp_volts[lamps[there]]  # noqa: SLF001
        other._lamp_amps = self._lamp_amps[lamps[there]]  # noqa: SLF001
        return other

    def straight(self, volts: Floats, off: float) -> tuple[Floats, Floats]:
        """By how many V what is across each law may fall and rise from ``volts`` while the law stays within ``off`` A
        of its tangent there: to its next knee, or along a filament's bend.
        """
        np = self._np
        volts = volts - self._along
        falls, rises = np.full(self.count, -np.inf), np.full(self.count, np.inf)
        to_knee = self._at - volts[self._of]
        np.maximum.at(falls, self._of, np.where(to_knee <= 0.0, to_knee, -np.inf))
        np.minimum.at(rises, self._of, np.where(to_knee >= 0.0, to_knee, np.inf))
        across, size = volts[self._lamp], np.abs(volts[self._lamp])
        knee = self._lamp_volts * self._cold ** (1.0 / (self._exponent - 1.0))
        least = np.maximum(0.9 * size, knee)  # where a filament bends most, of where it may go
        bend = self._exponent * (1.0 - self._exponent) * self._lamp_amps / self._lamp_volts**2
        bend *= (least / self._lamp_volts) ** (self._exponent - 2.0)
        far = np.sqrt(2.0 * off / bend)
        hot, near = size > knee, np.minimum(far, size - least)
        down = np.where(hot, -np.where(across > 0.0, near, far), -knee - across)
        up = np.where(hot, np.where(across > 0.0, far, near), knee - across)
        falls[self._lamp] = np.maximum(falls[self._lamp], down)
        rises[self._lamp] = np.minimum(rises[self._lamp], up)
        return falls, rises

    def knees_along(self, volts: Floats, step: Floats) -> tuple[Floats, Floats]:
        """The knees that laws come to on their way from ``volts`` by ``step`` V: at which shares of the way, in order,
        and by how many W their power along it, currents times ``step``, then rises more a share.
        """
        np = self._np
        ahead = step[self._of]
        left = self._at - (volts - self._along)[self._of]
        more = self._by * self._side * ahead * np.abs(ahead)
        met = ((left * ahead > 0.0) | ((left == 0.0) & (more > 0.0))) & (np.abs(left) < np.abs(ahead))
        shares = left[met] / ahead[met]
        order = shares.argsort()
        return shares[order], more[met][order]

    def amps(self, volts: Floats) -> Floats:
        """A through each law at V across each: shape (m,), as given."""
        return self.both(volts)[0]

    def many(self, volts: Floats) -> tuple[Floats, Floats]:
        """Amps and slopes for many sets of volts at once: arrays of shape (k, m)."""
        np = self._np
        volts = volts - self._along
        amps = self.offset + self.slope * volts
        slopes = np.broadcast_to(self.slope, volts.shape).copy()
        if self._of.size:
            beyond = volts[:, self._of] - self._at
            active = self._by * (beyond * self._side > 0.0)
            amps += (active * beyond) @ self._belongs
            slopes += active @ self._belongs
        if self._lamp.size:
            across = volts[:, self._lamp]
            size, rise = self._filaments(across)
            amps[:, self._lamp] += size
            slopes[:, self._lamp] += rise
        return amps, slopes

    @cached_property
    def _belongs(self) -> Floats:
        """Which knee is whose: 1 at (knee, law)."""
        matrix: Floats = self._np.zeros((self._of.size, self.count))
        matrix[self._np.arange(self._of.size), self._of] = 1.0
        return matrix

    def _filaments(self, across: Floats) -> tuple[Floats, Floats]:
        """Amps and slopes of the lamps at volts whose last axis runs over them."""
        np = self._np
        share = np.abs(across) / self._lamp_volts
        cold = self._cold * share
        hot = share**self._exponent
        size = np.copysign(self._lamp_amps * np.minimum(cold, hot), across)
        rise = np.where(cold <= hot, self._cold, self._exponent * hot / np.maximum(share, TINY))
        return np.asarray(size, dtype=float), np.asarray(rise * self._lamp_amps / self._lamp_volts, dtype=float)

    def both(self, volts: Floats) -> tuple[Floats, Floats]:
        """Amps and slopes at ``volts``."""
        np = self._np
        volts = volts - self._along
        amps = self.offset + self.slope * volts
        slopes = self.slope.copy()
        if self._of.size:
            beyond = volts[self._of] - self._at
            active = self._by * (beyond * self._side > 0.0)
            amps += np.bincount(self._of, active * beyond, self.count)
            slopes += np.bincount(self._of, active, self.count)
        if self._lamp.size:
            size, rise = self._filaments(volts[self._lamp])
            amps[self._lamp] += size
            slopes[self._lamp] += rise
        return amps, slopes
