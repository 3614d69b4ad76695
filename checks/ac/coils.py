"""Windings as coils: a sine of volts behind a resistance and a reactance, both of them rising with the engine's speed.

What a magneto has is measured at one speed: volts with nothing on it, amps into an ammeter. Volts and reactance rise
alike with the speed, so that only ratios of speeds matter, and neither poles nor revolutions are asked for.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

USUAL_RESISTANCE = 0.2
"""Of a winding's impedance at running speed, its resistance where none is written (ours)."""

LEAST_RESISTANCE = 1e-3
"""Of its impedance: with less a shorted coil would never lose the direct current that it began with."""


@dataclass(frozen=True, slots=True)
class Impedance:
    """A winding at running speed: V (rms) with nothing on it, ``ohms`` and ``reactance`` in ohm."""

    volts: float
    ohms: float
    reactance: float

    @property
    def size(self) -> float:
        """Its impedance in ohm: the volts with nothing on it over the amps into an ammeter."""
        return math.hypot(self.ohms, self.reactance)

    @property
    def short_amps(self) -> float:
        """A rms into an ammeter."""
        return self.volts / self.size

    def of_turns(self, share: float) -> Impedance:
        """A ``share`` of its turns: volts and resistance go with the turns, reactance with their square."""
        return Impedance(self.volts * share, self.ohms * share, self.reactance * share**2)


def impedance(open_volts: float, short_amps: float, ohms: float | None = None) -> Impedance:
    """A winding from what is measured at running speed: V rms open, A rms shorted, ohm. All above 0."""
    size = open_volts / short_amps
    resistance = USUAL_RESISTANCE * size if ohms is None else min(max(ohms, LEAST_RESISTANCE * size), size)
    return Impedance(open_volts, resistance, math.sqrt(max(size**2 - resistance**2, (LEAST_RESISTANCE * size) ** 2)))


def from_watts(watts: float, volts: float) -> Impedance:
    """A winding of which only W are known, made for ``volts`` V: the one whose most power that is, but for its
    resistance.
    """
    return impedance(math.sqrt(2.0) * volts, math.sqrt(2.0) * watts / volts)


def star_phase(line: Impedance) -> Impedance:
    """One of the three phases of a star. ``line``: V between two leads, A in each lead with all three shorted together,
    ohm between two leads.
    """
    volts = line.volts / math.sqrt(3.0)
    size, ohms = volts / line.short_amps, 0.5 * line.ohms
    return Impedance(volts, ohms, math.sqrt(max(size**2 - ohms**2, (LEAST_RESISTANCE * size) ** 2)))


@dataclass(frozen=True)
class Coils:
    """Coils between nodes: ``tops`` and ``bottoms`` by index; the rest for each coil at the speed asked about.

    ``volts``: peak V as complex numbers, whose angle is the phase; ``ohms``; ``reactance``: ohm, mutual ones beside the
    diagonal. Currents are counted into a coil's bottom and out of its top, as of a source.
    """

    tops: Places
    bottoms: Places
    volts: NDArray[np.complex128]
    ohms: Floats
    reactance: Floats

    @property
    def count(self) -> int:
        return len(self.ohms)

    @property
    def least_impedance(self) -> float:
        """The smallest impedance of a coil, in ohm."""
        import numpy as np

        return float(np.hypot(self.ohms, np.diagonal(self.reactance)).min()) if self.count else 1.0

    @property
    def greatest_impedance(self) -> float:
        """The largest impedance of a coil, in ohm."""
        import numpy as np

        return float(np.hypot(self.ohms, np.diagonal(self.reactance)).max()) if self.count else 1.0


@dataclass(frozen=True, slots=True)
class Coil:
    """A coil before it is put among others: its nodes, its figures at running speed, its ``phase`` in radians."""

    top: int
    bottom: int
    is_: Impedance
    phase: float = 0.0


def coils(each: Sequence[Coil], coupling: Sequence[tuple[int, int, float]] = (), speed: float = 1.0) -> Coils:
    """Coils at a ``speed``, as a share of running; ``coupling`` of pairs, by index, from 0 to 1."""
    import numpy as np

    reactance = np.diag([coil.is_.reactance for coil in each])
    for i, j, share in coupling:
        reactance[i, j] = reactance[j, i] = share * math.sqrt(reactance[i, i] * reactance[j, j])
    volts = [math.sqrt(2.0) * coil.is_.volts * complex(math.cos(coil.phase), math.sin(coil.phase)) for coil in each]
    return Coils(
        np.array([coil.top for coil in each], dtype=np.intp),
        np.array([coil.bottom for coil in each], dtype=np.intp),
        np.array(volts, dtype=np.complex128) * speed,
        np.array([coil.is_.ohms for coil in each]),
        speed * reactance,
    )
