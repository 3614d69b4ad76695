"""Many faults of one situation at once.

The plain resistances are reduced once to the ports of the laws: what a current into one port does to the volts of
another. A conductor that opens, or comes to be shorted to ground, is a change of rank one of that small matrix (Sherman
and Morrison 1950; of several at once, Woodbury 1950), so a fault costs Newton on the ports alone, and all faults take
their steps together.
"""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from ...lang.records import dataclass
from ..dc.newton import ROUNDING
from .ports import CUT_OFF, GONE, Ports, Struck

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.nodal_equations import NodalEquations
    from ..dc.situation import Situation
    from .failure_modes import Damage

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

SHARED = 0.1
"""Siemens of every law that are counted among the plain resistances (ours): with less, what is connected to blocking
diodes alone would make the matrix too stiff to invert.
"""

MOST_STEPS = 40

CUTS = 40
"""Times at most that the end of a step is sought: Newton from its far end, halving where that leaves the bounds."""

EXACT = 1e-8
"""Amps by which the currents at a node may miss zero, beside what rounding leaves; as in ``dc.newton``."""

STILL, SPARE = 1e-3, 4
"""Volts by which the last step may still move, and the steps that are spent on that when the currents are exact: what
is connected to what blocks moves far for next to no current (ours)."""

RESIDUE = 1e-5
"""Amps by which they may miss zero before a fault is solved plainly."""


class Multiport(Ports):
    """The ports of one situation of a network."""

    def __init__(self, network: NodalEquations, situation: Situation) -> None:
        import numpy as np

        super().__init__(network, situation)
        self._matrix, self.laws = network.reduced(situation)
        tops, bottoms = self.laws.tops, self.laws.bottoms
        np.add.at(self._matrix, (tops, tops), SHARED)
        np.add.at(self._matrix, (bottoms, bottoms), SHARED)
        np.add.at(self._matrix, (tops, bottoms), -SHARED)
        np.add.at(self._matrix, (bottoms, tops), -SHARED)
        self._inverse = np.asarray(np.linalg.inv(self._matrix), dtype=float)
        self._most = float(self._matrix.diagonal().max(initial=0.0))
        self._to_ports = self._inverse[:, tops] - self._inverse[:, bottoms]
        self._z = self._to_ports[tops] - self._to_ports[bottoms]
        self._between = np.zeros((tops.size, self._matrix.shape[0]))
        self._between[np.arange(tops.size), tops] += 1.0
        self._between[np.arange(tops.size), bottoms] -= 1.0

    def strike(self, damages: Sequence[Damage], along: Floats, start: Floats) -> Struck:
        """The situation after each of these, one at a time.

        ``along``: volts by which each law lies further along, (faults, laws); ``start``: volts near by of the nodes
        that stay, (nodes) or (faults, nodes).
        """
        import numpy as np

        changed = self._changed(damages, along)
        kept, good = self._newton(changed, start)
        volts = kept @ self.network.reduction.recovery.T
        volts -= np.matmul(changed.currents(kept)[:, None, :], changed.inside)[:, 0]
        if changed.off.any():
            far = np.abs(changed.all_nodes) > 0.5 * changed.own[:, None]
            far &= changed.off[:, None]
            volts -= np.where(far, self._adrift(volts, far)[:, None], 0.0)
            good &= ~(changed.off & (np.abs(changed.ports[:, 0]).max(axis=1, initial=0.0) > 0.5 * changed.own))
        for row, damage in enumerate(damages):
            if self.elsewhere(damage):
                self.own_zero(damage, volts[row])
                good[row] &= not damage.opened and not damage.resisting  # these may part what joins the islands' halves
        across = self._across(kept)
        law_amps = self._beyond(changed, across)[0] + SHARED * across
        return Struck(kept, volts, law_amps, good & np.isfinite(volts).all(axis=1))

    def _adrift(self, volts: Floats, far: NDArray[np.bool_]) -> Floats:
        """V of what is 0 V in each half that a fault has parted from the rest, as ``NodalEquations`` chooses it: the
        return pole of a source, batteries first. A half without one carries nothing: any of its nodes.
        """
        import numpy as np

        poles = list(self.network.return_poles)
        first = far.argmax(axis=1)
        if poles:
            there = far[:, poles]
            first = np.where(there.any(axis=1), np.array(poles)[there.argmax(axis=1)], first)
        return np.asarray(volts[np.arange(len(volts)), first])

    # --- what a fault changes ----------------------------------------------------------------------------------------
    def _changed(self, damages: Sequence[Damage], along: Floats) -> _Changed:
        """Each damage as currents between nodes, and as laws that are gone."""
        import numpy as np

        reduction = self.network.reduction
        changes = [list(self.changes(damage)) for damage in damages]
        most = max((len(each) for each in changes), default=0) or 1
        a = np.zeros((len(damages), most), dtype=np.intp)
        b = np.zeros_like(a)
        siemens = np.zeros(a.shape)
        dead = np.zeros((len(damages), self.laws.bank.count), dtype=bool)
        for row, damage in enumerate(damages):
            for column, (top, bottom, change) in enumerate(changes[row]):
                a[row, column], b[row, column], siemens[row, column] = top, bottom, change
            for branch in damage.opened:
                place = self.laws.place.get(branch.key)
                if place is not None:
                    dead[row, place] = True
        seen = reduction.recovery[a] - reduction.recovery[b]
        inside = reduction.within[a] - reduction.within[b]
        within = np.take_along_axis(inside, a[:, None, :], 2) - np.take_along_axis(inside, b[:, None, :], 2)
        nodes = seen @ self._inverse
        answer = within + nodes @ seen.transpose(0, 2, 1)
        own = answer[:, 0, 0]
        off = (siemens[:, 0] < 0.0) & (np.count_nonzero(siemens, axis=1) == 1)
        off &= own * -siemens[:, 0] > 1.0 - CUT_OFF
        used = (siemens != 0.0) & ~off[:, None]
        with np.errstate(divide="ignore"):
            ohms = np.where(used, 1.0 / siemens, 1.0)
        resists = np.zeros_like(answer)
        diagonal = np.arange(most)
        resists[:, diagonal, diagonal] = ohms
        only = used[:, :, None] & used[:, None, :]
        change = np.linalg.inv(resists + np.where(only, answer, 0.0)) * only
        seen_change = np.linalg.inv(resists + np.where(only, within, 0.0)) * only
        ports = nodes[:, :, self.laws.tops] - nodes[:, :, self.laws.bottoms]
        z = self._z - ports.transpose(0, 2, 1) @ (change @ ports)
        everywhere = nodes[:, 0] @ reduction.recovery.T + inside[:, 0] if off.any() else np.zeros((len(damages), 0))
        return _Changed(seen, inside, nodes, change, seen_change, ports, z, dead, along, off, own, everywhere)

    # --- solving -----------------------------------------------------------------------------------------------------
    def _newton(self, changed: _Changed, start: Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """The volts of the nodes that stay after each fault, and which of them are good; (faults, nodes).

        As in ``dc.newton``, each step is cut where the network's co-content stops falling along it. A step costs a
        solution on the ports: what the plain resistances answer is known.
        """
        import numpy as np

        count = changed.z.shape[0]
        kept = np.array(np.broadcast_to(start, (count, self._matrix.shape[0])))
        good = np.zeros(count, dtype=bool)
        active = np.arange(count)
        spare = np.full(count, SPARE)
        here = changed
        for _ in range(MOST_STEPS):
            volts = kept[active]
            straight = self._straight(here, volts)
            across = self._across(volts)
            beyond, rise = self._beyond(here, across)
            excess = straight + beyond @ self._between
            step = self._step(here, rise, -excess)
            share = self._share(here, across, step, straight, (excess * step).sum(axis=1))
            kept[active] = volts + share[:, None] * step
            worst = np.abs(excess).max(axis=1, initial=0.0)
            good[active] = worst < RESIDUE
            rounding = ROUNDING * self._steepest(rise) * np.abs(volts).max(axis=1, initial=0.0)
            moving = (np.abs(step).max(axis=1, initial=0.0) > STILL) & (spare[active] > 0)
            spare[active] -= worst < EXACT + rounding
            going = (worst >= EXACT + rounding) | moving
            if not going.any():
                break
            if not going.all():
                active, here = active[going], here.rows(going)
        return kept, good

    def _steepest(self, rise: Floats) -> Floats:
        found: Floats = self._most + rise.max(axis=1, initial=0.0)
        return found

    def _across(self, kept: Floats) -> Floats:
        found: Floats = kept[:, self.laws.tops] - kept[:, self.laws.bottoms]
        return found

    def _beyond(self, changed: _Changed, across: Floats) -> tuple[Floats, Floats]:
        """What the laws pass beyond their shared siemens, and by how much more a volt."""
        import numpy as np

        amps, slopes = self.laws.bank.many(across - changed.along)
        if changed.dead.any():
            amps, slopes = np.where(changed.dead, GONE * across, amps), np.where(changed.dead, GONE, slopes)
        return amps - SHARED * across, slopes - SHARED

    def _straight(self, changed: _Changed, kept: Floats) -> Floats:
        """The currents that the plain resistances and shared siemens take from each node; (faults, nodes)."""
        import numpy as np

        taken = kept @ self._matrix
        taken += np.matmul(changed.currents(kept)[:, None, :], changed.seen)[:, 0]
        return np.asarray(taken, dtype=float)

    def _step(self, changed: _Changed, rise: Floats, missing: Floats) -> Floats:
        """The volts by which the nodes move so that ``missing`` amps vanish, laws counted by their slopes."""
        import numpy as np

        plain = missing @ self._inverse
        answer = np.matmul(changed.nodes, missing[:, :, None])
        plain -= np.matmul(np.matmul(changed.change, answer).transpose(0, 2, 1), changed.nodes)[:, 0]
        small = changed.z * rise[:, None, :]
        diagonal = np.arange(rise.shape[1])
        small[:, diagonal, diagonal] += 1.0
        passed = rise * np.linalg.solve(small, self._across(plain)[:, :, None])[:, :, 0]
        plain -= passed @ self._to_ports.T
        weighed = np.matmul(changed.change, np.matmul(changed.ports, passed[:, :, None]))
        plain += np.matmul(weighed.transpose(0, 2, 1), changed.nodes)[:, 0]
        return np.asarray(plain, dtype=float)

    def _share(self, changed: _Changed, across: Floats, step: Floats, straight: Floats, downhill: Floats) -> Floats:
        """The share of each fault's step to take: all of it, unless the co-content rises again before its end."""
        import numpy as np

        along = self._across(step)
        fixed = (straight * step).sum(axis=1)
        rising = (self._straight(changed, step) * step).sum(axis=1)

        def fall(share: Floats, rows: _Changed, at: Places | slice) -> tuple[Floats, Floats]:
            """How steeply the co-content rises at a share of the step, and how much steeper it gets."""
            beyond, rise = self._beyond(rows, across[at] + share[:, None] * along[at])
            slope = fixed[at] + share * rising[at] + (beyond * along[at]).sum(axis=1)
            return slope, rising[at] + (rise * along[at] ** 2).sum(axis=1)

        shares = np.ones(step.shape[0])
        end, steeper = fall(shares, changed, slice(None))
        at = np.flatnonzero((downhill < 0.0) & (end > -0.1 * downhill + 1e-15))
        if at.size:
            rows = changed.rows(at)
            low, high, share = np.zeros(at.size), np.ones(at.size), np.ones(at.size)
            value, steeper, enough = end[at], steeper[at], -0.01 * downhill[at]
            for _ in range(CUTS):
                with np.errstate(divide="ignore", invalid="ignore"):
                    better = share - value / steeper
                share = np.where((better > low) & (better < high), better, 0.5 * (low + high))
                value, steeper = fall(share, rows, at)
                if (np.abs(value) <= enough).all():
                    break
                falls = value <= 0.0
                low, high = np.where(falls, share, low), np.where(falls, high, share)
            shares[at] = share
        return shares


@dataclass(frozen=True)
class _Changed:
    """Some faults as changes of the network, ``k`` a fault at most.

    ``seen``: each change as a current between the nodes that stay, (faults, k, nodes that stay); ``inside``: the volts
    of all nodes for an amp there while those that stay are held, (faults, k, nodes); ``nodes``: what an amp there does
    to those that stay; ``change``, ``seen_change``: the amps of the change for a volt across it in the whole network,
    and in it held at the nodes that stay, (faults, k, k); ``ports``: the volts of every port for an amp there,
    (faults, k, laws); ``z``: the small matrix of each fault. ``dead``: laws that are gone; ``along``: how far laws are
    moved. ``off``: what opens joined two halves between which nothing flows; ``own``: the ohms between its ends;
    ``all_nodes``: what an amp there does to all nodes.
    """

    seen: Floats
    inside: Floats
    nodes: Floats
    change: Floats
    seen_change: Floats
    ports: Floats
    z: Floats
    dead: NDArray[np.bool_]
    along: Floats
    off: NDArray[np.bool_]
    own: Floats
    all_nodes: Floats

    def rows(self, chosen: NDArray[Any]) -> _Changed:
        """The same of some of the faults."""
        return _Changed(*(getattr(self, each.name)[chosen] for each in fields(self)))

    def currents(self, kept: Floats) -> Floats:
        """The amps of each change at these volts of the nodes that stay; (faults, k)."""
        import numpy as np

        across = np.matmul(self.seen, kept[:, :, None])
        return np.asarray(np.matmul(self.seen_change, across)[:, :, 0], dtype=float)
