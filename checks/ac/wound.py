"""A network with coils in it, and what it does over one period: the one form that both ways of solving start from."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ..tables import device_constants as figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..dc.device_models import Curve
    from .coils import Coils, Floats, Places

FOLLOWS = 0.75
"""How much of the way, as a power, a lamp's resistance goes in one round to what its volts ask for (ours)."""

STEADY = 1e-4
"""Of any resistance that is looked for, what may be left to change (ours)."""

LEAST_SIEMENS = 1e-7
"""A limiter that has nothing to do (ours)."""


KEPT = 4
"""Rounds before that a guess of what stays is made from (Anderson 1965)."""


class NotPeriodicError(ArithmeticError):
    """No steady period was found; ``off`` is the share by which the last two differ."""

    def __init__(self, off: float) -> None:
        super().__init__(f"no steady period: the last two differ by {shown(100.0 * off)} % of the largest current")
        self.off = off


@dataclass(frozen=True, slots=True)
class Limiter:
    """What keeps the rms V between two nodes at ``volts`` or below, whatever it takes for that."""

    top: int
    bottom: int
    volts: float


@dataclass(frozen=True)
class Wound:
    """``siemens``: plain resistances between n nodes, every island tied to 0 V, of shape (n, n). ``curves``: the m laws
    between ``tops`` and ``bottoms``, of which lamps follow their rms V and all others every moment.
    """

    siemens: Floats
    tops: Places
    bottoms: Places
    curves: tuple[Curve, ...]
    coils: Coils
    limiters: tuple[Limiter, ...] = ()

    @cached_property
    def lamps(self) -> tuple[int, ...]:
        """The laws that are filaments, by index."""
        return tuple(i for i, curve in enumerate(self.curves) if curve.filament is not None)

    @cached_property
    def straight(self) -> tuple[int, ...]:
        """The other laws, which are straight stretches, by index."""
        return tuple(i for i, curve in enumerate(self.curves) if curve.filament is None)

    @cached_property
    def slow(self) -> Slow:
        """What holds its resistance over a period: lamps, then limiters."""
        import numpy as np

        filaments = [f for c in self.curves if (f := c.filament) is not None]
        tops = [*self.tops[list(self.lamps)], *(each.top for each in self.limiters)]
        bottoms = [*self.bottoms[list(self.lamps)], *(each.bottom for each in self.limiters)]
        return Slow(
            np.array(tops, dtype=np.intp),
            np.array(bottoms, dtype=np.intp),
            np.array([f.volts for f in filaments]),
            np.array([f.amps for f in filaments]),
            np.array([each.volts for each in self.limiters]),
            np.concatenate(
                (np.zeros(len(filaments)), np.full(len(self.limiters), 1.0 / self.coils.greatest_impedance))
            ),
        )

    def incidence(self, tops: Places, bottoms: Places) -> Floats:
        """For things between nodes the matrix (n, things) that is 1 at each top and -1 at each bottom."""
        import numpy as np

        found = np.zeros((len(self.siemens), len(tops)))
        each = np.arange(len(tops))
        np.add.at(found, (tops, each), 1.0)
        np.add.at(found, (bottoms, each), -1.0)
        return found


@dataclass(frozen=True)
class Slow:
    """Lamps and limiters between nodes: what they are made for, and the conductances that rms volts ask of them.

    ``beside``: S of the windings, beside which what a limiter takes shows in the volts; 0 for a lamp.
    """

    tops: Places
    bottoms: Places
    lamp_volts: Floats
    lamp_amps: Floats
    limits: Floats
    beside: Floats

    def scaled(self, siemens: Floats) -> Floats:
        """Conductances as the numbers in which a round changes them by the share that its volts are off."""
        import numpy as np

        found: Floats = np.log(siemens + self.beside)
        return found

    def siemens(self, scaled: Floats) -> Floats:
        """The conductances of such numbers."""
        import numpy as np

        found: Floats = np.maximum(np.exp(scaled) - self.beside, LEAST_SIEMENS)
        return found

    def first(self) -> Floats:
        """Conductances to begin with, S: lamps at their rated volts, limiters off."""
        import numpy as np

        return np.concatenate((self.lamp_amps / self.lamp_volts, np.full(self.limits.size, LEAST_SIEMENS)))

    def wanted(self, siemens: Floats, rms: Floats) -> Floats:
        """The conductances of the next round, from those of this one and the rms V across each; along the last axis."""
        import numpy as np

        known = figures.laws()
        lamps = self.lamp_volts.size
        share = np.maximum(rms[..., :lamps] / self.lamp_volts, 1e-9)
        hot = share ** (known.lamp_exponent - 1.0)
        asked = self.lamp_amps / self.lamp_volts * np.minimum(known.lamp_hot_over_cold, hot)
        followed = siemens[..., :lamps] * (asked / siemens[..., :lamps]) ** FOLLOWS
        beside = self.beside[lamps:]
        held = rms[..., lamps:] / self.limits * (beside + siemens[..., lamps:]) - beside
        return np.concatenate((followed, np.maximum(held, LEAST_SIEMENS)), axis=-1)

    def settled(self, siemens: Floats, wanted: Floats) -> bool:
        import numpy as np

        return bool(np.all(np.abs(self.scaled(wanted) - self.scaled(siemens)) < STEADY))


@dataclass(frozen=True)
class Periodic:
    """One period in N equal steps: ``volts`` of the nodes (N, n), ``coil_amps`` (N, coils) out of each top, and the
    ``siemens`` that lamps and then limiters came to.
    """

    wound: Wound
    volts: Floats
    coil_amps: Floats
    siemens: Floats

    @cached_property
    def law_amps(self) -> Floats:
        """A through each law (N, m)."""
        import numpy as np

        wound = self.wound
        across = self.volts[:, wound.tops] - self.volts[:, wound.bottoms]
        found = np.zeros_like(across)
        for place, i in enumerate(wound.lamps):
            found[:, i] = self.siemens[place] * across[:, i]
        if wound.straight:
            from ..dc.device_models import DeviceBank

            chosen = list(wound.straight)
            found[:, chosen] = DeviceBank([wound.curves[i] for i in chosen]).many(across[:, chosen])[0]
        return found

    @cached_property
    def limiter_amps(self) -> Floats:
        """A through each limiter (N, limiters)."""
        slow = self.wound.slow
        lamps = slow.lamp_volts.size
        across = self.volts[:, slow.tops[lamps:]] - self.volts[:, slow.bottoms[lamps:]]
        return across * self.siemens[lamps:]


def rms(samples: Floats) -> Floats:
    """The root of the mean square of what is sampled along the first axis."""
    import numpy as np

    found: Floats = np.sqrt(np.mean(samples**2, axis=0))
    return found


def stretch(curve: Curve, volts: float) -> tuple[float, float, float, float]:
    """A law's straight stretch at ``volts`` V: its slope in S, its A at 0 V, and the V where it begins and ends."""
    slope, offset, low, high = curve.slope, curve.offset, -float("inf"), float("inf")
    for knee in curve.breakpoints:
        if (volts > knee.volts) is knee.up:
            slope += knee.slope
            offset -= knee.slope * knee.volts
        if volts > knee.volts:
            low = max(low, knee.volts)
        else:
            high = min(high, knee.volts)
    return slope, offset, low, high


def knees(curves: Sequence[Curve]) -> tuple[Places, Floats, Floats, Floats]:
    """All knees of some laws: whose each is, at which V, by which slope, and 1 upwards or -1 downwards."""
    import numpy as np

    each = [(i, k.volts, k.slope, 1.0 if k.up else -1.0) for i, c in enumerate(curves) for k in c.breakpoints]
    return (
        np.array([k[0] for k in each], dtype=np.intp),
        np.array([k[1] for k in each]),
        np.array([k[2] for k in each]),
        np.array([k[3] for k in each]),
    )


def likely_steady(tried: list[tuple[Floats, Floats]]) -> Floats:
    """A guess of what would repeat itself, from states and what a period made of each."""
    import numpy as np

    reached = tried[-1][1]
    if len(tried) < 3:
        return reached
    misses = [after - before for before, after in tried]
    steps = np.array([misses[i + 1] - misses[i] for i in range(len(misses) - 1)]).T
    moves = np.array([tried[i + 1][1] - tried[i][1] for i in range(len(tried) - 1)]).T
    weights = np.linalg.lstsq(steps, misses[-1], rcond=1e-8)[0]
    guess: Floats = reached - moves @ weights
    # A guess far away is none: conductances are in powers of e here, and currents in shares of a short's.
    return guess if bool(np.all(np.abs(guess - reached) < 3.0)) else reached
