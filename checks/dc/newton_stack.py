"""Newton for many small networks at once, each with its own laws: what ``newton`` does for one of them, with the same
bounds. A network of a few dozen nodes is solved in less time than it takes to call for it; a stack of them shares that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.records import dataclass
from .newton import MOST_CUTS, MOST_STEPS, ROUNDING, TOLERANCE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .device_models import DeviceBank

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Stack:
    """Some networks of equally many nodes: the plain resistances of each as a full matrix, (networks, n, n), and the
    laws of all together, each with the network that it is in, by ``of`` in rising order, and the nodes there that it
    lies between.
    """

    matrices: Floats
    bank: DeviceBank
    of: Places
    tops: Places
    bottoms: Places

    def chosen(self, rows: Places) -> Stack:
        """Some of these networks, by their places in rising order."""
        import numpy as np

        count = len(self.matrices)
        if rows.size == count:
            return self
        place = np.full(count, -1, dtype=np.intp)
        place[rows] = np.arange(rows.size)
        laws = np.flatnonzero(place[self.of] >= 0)
        bank = self.bank.chosen(laws)
        return Stack(self.matrices[rows], bank, place[self.of[laws]], self.tops[laws], self.bottoms[laws])

    def across(self, volts: Floats) -> Floats:
        """V across each law, in one line, at V of the nodes, (networks, n)."""
        found: Floats = volts[self.of, self.tops] - volts[self.of, self.bottoms]
        return found

    def straight(self, volts: Floats) -> Floats:
        """A that the plain resistances take from each node; (networks, n)."""
        import numpy as np

        return np.asarray(np.matmul(self.matrices, volts[:, :, None])[:, :, 0], dtype=float)

    def at_nodes(self, amps: Floats) -> Floats:
        """A that the laws take from each node; (networks, n)."""
        import numpy as np

        count, size = self.matrices.shape[:2]
        first = self.of * size
        out = np.bincount(first + self.tops, amps, count * size)
        out -= np.bincount(first + self.bottoms, amps, count * size)
        return np.asarray(out.reshape(count, size), dtype=float)

    def summed(self, each: Floats) -> Floats:
        """The sum of something over the laws of each network."""
        import numpy as np

        return np.asarray(np.bincount(self.of, each, len(self.matrices)), dtype=float)

    def step(self, slopes: Floats, missing: Floats) -> tuple[Floats, Flags]:
        """V by which each node moves so that the ``missing`` A vanish, each law counted by its slope, (networks, n);
        and the networks of which that says nothing: their matrix is singular.
        """
        import numpy as np

        count, size = self.matrices.shape[:2]
        first = self.of * size
        top, bottom = (first + self.tops) * size, (first + self.bottoms) * size
        at = np.concatenate((top + self.tops, bottom + self.bottoms, top + self.bottoms, bottom + self.tops))
        weights = np.concatenate((slopes, slopes, -slopes, -slopes))
        jacobians = np.bincount(at, weights, count * size * size).reshape(count, size, size) + self.matrices
        try:
            found = np.linalg.solve(jacobians, missing[:, :, None])[:, :, 0]
        except np.linalg.LinAlgError:
            if count == 1:
                return np.zeros_like(missing), np.ones(1, dtype=bool)
            halves = np.split(np.arange(count), [count // 2])
            parts = [self.chosen(half).step(slopes[np.isin(self.of, half)], missing[half]) for half in halves]
            return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])
        return np.asarray(found, dtype=float), np.zeros(count, dtype=bool)

    def solve(self, start: Floats, into: Floats, near: float) -> tuple[Floats, Flags]:
        """V of the nodes of each network, (networks, n), as ``newton.solve`` finds them, and which were found."""
        import numpy as np

        volts = start.copy()
        good = np.zeros(len(volts), dtype=bool)
        rows = np.arange(len(volts))
        here, known = self, start
        across = here.across(known)
        amps, slopes = here.bank.both(across)
        straight = here.straight(known) - into
        for _ in range(MOST_STEPS):
            excess = straight + here.at_nodes(amps)
            step, singular = here.step(slopes, -excess)
            along = here.across(step)
            straight_along = here.straight(step)
            downhill = (excess * step).sum(axis=1)
            fixed, rising = (straight * step).sum(axis=1), (straight_along * step).sum(axis=1)
            new_amps, new_slopes = here.bank.both(across + along)
            end = fixed + rising + here.summed(new_amps * along)
            long = np.flatnonzero((downhill < 0.0) & (end > 0.1 * -downhill + 1e-15))
            share = np.ones(rows.size)
            if long.size:
                steeper = rising + here.summed(new_slopes * along**2)
                share[long] = here.bottom(across, along, long, fixed, rising, -0.01 * downhill, end, steeper)
                new_amps, new_slopes = here.bank.both(across + share[here.of] * along)
            known = known + share[:, None] * step
            across = here.across(known)
            straight = here.straight(known) - into
            amps, slopes = new_amps, new_slopes
            steepest = np.zeros(rows.size)
            np.maximum.at(steepest, here.of, slopes)
            steepest += here.matrices.diagonal(0, 1, 2).max(axis=1, initial=0.0)
            rounding = ROUNDING * steepest * np.abs(known).max(axis=1, initial=0.0)
            found = np.abs(excess).max(axis=1, initial=0.0) < TOLERANCE + rounding
            found |= np.abs(straight + here.at_nodes(amps)).max(axis=1, initial=0.0) < near
            found &= ~singular
            ends = found | singular
            if ends.any():
                volts[rows[ends]], good[rows[ends]] = known[ends], found[ends]
                left = np.flatnonzero(~ends)
                if not left.size:
                    break
                on = ~ends[here.of]
                rows, here, known, into, straight = (
                    rows[left],
                    here.chosen(left),
                    known[left],
                    into[left],
                    straight[left],
                )
                across, amps, slopes = across[on], amps[on], slopes[on]
        return volts, good

    def bottom(
        self,
        across: Floats,
        along: Floats,
        rows: Places,
        fixed: Floats,
        rising: Floats,
        enough: Floats,
        value: Floats,
        steeper: Floats,
    ) -> Floats:
        """The shares of their steps at which the co-content of some networks stops falling, as ``newton`` seeks it:
        Newton from the far end, halving where that leaves the bounds.
        """
        import numpy as np

        shares = np.ones(rows.size)
        on = np.isin(self.of, rows)
        here, across, along = self.chosen(rows), across[on], along[on]
        fixed, rising, enough, value, steeper = (each[rows] for each in (fixed, rising, enough, value, steeper))
        left = np.arange(rows.size)
        low, high, share = np.zeros(rows.size), np.ones(rows.size), np.ones(rows.size)
        for _ in range(MOST_CUTS):
            with np.errstate(divide="ignore", invalid="ignore"):
                better = np.where(steeper > 0.0, share - value / steeper, low)
            share = np.where((low < better) & (better < high), better, 0.5 * (low + high))
            amps, slopes = here.bank.both(across + share[here.of] * along)
            value = fixed + share * rising + here.summed(amps * along)
            steeper = rising + here.summed(slopes * along**2)
            low, high = np.where(value > 0.0, low, share), np.where(value > 0.0, share, high)
            shares[left] = share
            going = np.flatnonzero(np.abs(value) > enough)
            if not going.size:
                break
            if going.size < left.size:
                on = np.isin(here.of, going)
                left, here, across, along = left[going], here.chosen(going), across[on], along[on]
                fixed, rising, enough, value, steeper, low, high, share = (
                    each[going] for each in (fixed, rising, enough, value, steeper, low, high, share)
                )
        return shares
