"""One fault of a large harness: the blocks that it moves, solved by Newton with the hubs, and all others by their
tangents.

Whatever leaves its tangent elsewhere is put right too. All other lamps on a feed that rises by some mV hardly do: what
they take more is put in at the hubs, at the volts just found, again until that stands still. A block in which a law
bends far, or that does not come to stand still, is solved with the others.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..dc.devices import NEGLIGIBLE_OHMS
from ..dc.newton import Dense, NotConvergedError, Sparse, solve
from ..dc.nodal_equations import TIE
from .hubs import ends_apart
from .ports import Struck
from .tangents import OFF

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.newton import Conductances
    from .failure_modes import Damage
    from .tangents import Tangents

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

BENDS = 0.05
"""What a law takes more for a volt, times the ohms that it sees in its block: from this share on the block is solved by
Newton (ours), since what is put in at the hubs would be slow to stand still."""
SLOW = 4
"""Times that what is put in is found again; a block in which it moves still is solved by Newton (ours)."""
MOST_ROUNDS = 40
"""Times in all (ours); a fault that takes more is solved plainly."""
MOST_FULL = 400
"""Nodes up to which a full matrix is the quicker one; as in ``dc.nodal_equations``."""


def strike(of: Tangents, damages: Sequence[Damage], along: Floats) -> Struck:
    """A situation after each of these, one at a time; ``along`` as ``Multiport`` has it."""
    import numpy as np

    count = len(damages)
    hubs, put = np.zeros((count, of.hubs.size)), np.zeros((count, of.laws.bank.count))
    amps = np.tile(of.amps, (count, 1))
    good = np.zeros(count, dtype=bool)
    found = []
    for row, damage in enumerate(damages):
        case = Departures(of, damage, along[row])
        good[row] = case.solve()
        if good[row]:
            hubs[row], put[row], amps[row] = case.hubs, case.put, case.law_amps
            found.append((row, case.nodes, case.volts))
    volts = of.volts + hubs @ of.moves.T
    if put.any():
        volts -= (of.inside @ put.T).T
    for row, nodes, there in found:
        volts[row, nodes] = there
    return Struck(volts, volts, amps, good & np.isfinite(volts).all(axis=1))


class Departures:
    """One fault on its way. ``hubs``: V by which the hubs rise, in the order of ``Tangents.hubs``; ``put``: A that each
    law takes beyond its tangent; ``nodes`` and ``volts``: those that were solved by Newton; ``law_amps`` of all laws.
    """

    def __init__(self, of: Tangents, damage: Damage, along: Floats) -> None:
        """``along``: V by which each law lies further along."""
        import numpy as np

        self._of, self._along = of, along
        opened = {branch.key for branch in damage.opened}
        self._closed, self._gone = of.closed, of.gone
        touched = set(of.turned)
        plain = [of.place[key] for key in opened if key in of.place]
        if plain:
            self._closed = of.closed.copy()
            self._closed[plain] = False
            touched.update(of.block_at(of.tops[place], of.bottoms[place]) for place in plain)
        laws = [of.laws.place[key] for key in opened if key in of.laws.place]
        if laws:
            self._gone = of.gone.copy()
            self._gone[laws] = True
            touched.update(of.block_of_law[laws].tolist())
        self._joint = (0, 0)
        if damage.grounded:
            index = of.network.index
            self._joint = index[damage.grounded], index[of.network.circuit.ground]
            touched.add(of.block_at(*self._joint))
        touched.discard(-1)
        self._blocks = sorted(touched)
        self.hubs = np.zeros(of.hubs.size)
        self.put = np.zeros(of.laws.bank.count)
        self.law_amps = of.amps
        self.volts = of.volts[of.hubs]
        self.nodes = of.hubs

    def solve(self) -> bool:
        """Whether a solution was found."""
        import numpy as np

        of = self._of
        self._gather()
        for turn in range(MOST_ROUNDS):
            if not self._newton():
                return False
            beyond = of.back @ self.hubs
            if self.put.any():
                beyond -= of.near @ self.put
            out = (beyond < of.falls) | (beyond > of.rises)
            out[self._own] = False
            moved = np.flatnonzero(out)
            put = np.zeros(self.put.size)
            far = moved
            if moved.size:
                amps, slopes = of.laws.bank.chosen(moved).both(of.across[moved] + beyond[moved])
                more = amps - of.amps[moved] - of.slopes[moved] * beyond[moved]
                put[moved] = np.where(np.abs(more) > OFF, more, 0.0)
                far = moved[(np.abs(slopes - of.slopes[moved]) * of.own[moved] > BENDS) & (put[moved] != 0.0)]
            unsteady = np.flatnonzero(np.abs(put - self.put) > OFF)
            self.put = put
            if not unsteady.size and not far.size:
                self._tell(beyond)
                return True
            if turn >= SLOW:
                far = np.concatenate((far, unsteady))
            if far.size:
                self._blocks = sorted({*self._blocks, *of.block_of_law[far].tolist()})
                self._gather()
                self.put[self._own] = 0.0
        return False

    def _tell(self, beyond: Floats) -> None:
        """Put down what all laws pass, those solved by Newton and the others."""
        import numpy as np

        of = self._of
        self.law_amps = np.where(self._gone, 0.0, of.amps + of.slopes * beyond + self.put)
        self.law_amps[self._own] = 0.0
        tops, bottoms = self._ends
        self.law_amps[self._laws] = self._bank.amps(self.volts[tops] - self.volts[bottoms])

    def _of_blocks(self, places: Sequence[Places]) -> Places:
        """What is in the blocks that are moved, and between hubs, of what was sorted ``by_block``."""
        import numpy as np

        return np.concatenate([places[block] for block in (*self._blocks, -1)])

    def _gather(self) -> None:
        """Put together what is solved by Newton: the hubs, and the blocks that are moved."""
        import numpy as np

        of = self._of
        local = np.concatenate([of.hubs, *(of.nodes_of[block] for block in self._blocks)])
        place = of.spot
        place[local] = np.arange(local.size)
        plain, self._own = self._of_blocks(of.plain_of), self._of_blocks(of.laws_of)
        plain = plain[self._closed[plain]]
        self._laws = laws = self._own[~self._gone[self._own]]
        a, b, siemens = place[of.tops[plain]], place[of.bottoms[plain]], of.siemens[plain]
        if self._joint[0] != self._joint[1]:
            ends = place[list(self._joint)]
            a, b, siemens = np.append(a, ends[0]), np.append(b, ends[1]), np.append(siemens, 1.0 / NEGLIGIBLE_OHMS)
        self._ends = tops, bottoms = place[of.law_tops[laws]], place[of.law_bottoms[laws]]
        self._seen, self._drawn, one, other = self._elsewhere()
        ties = ends_apart(local.size, np.concatenate((a, tops, one)), np.concatenate((b, bottoms, other)))
        size, hubs = local.size, np.arange(of.hubs.size)
        rows = np.concatenate((a, b, a, b, ties, np.repeat(hubs, hubs.size)))
        columns = np.concatenate((a, b, b, a, ties, np.tile(hubs, hubs.size)))
        values = np.concatenate((siemens, siemens, -siemens, -siemens, np.full(ties.size, TIE), self._seen.ravel()))
        self._linear: Conductances
        if size <= MOST_FULL:
            matrix: Floats = np.bincount(rows * size + columns, values, size * size).astype(float, copy=False)
            self._linear = Dense(matrix.reshape(size, size))
        else:
            self._linear = Sparse(rows, columns, values, size)
        self._bank = of.laws.bank.chosen(laws).moved(self._along[laws])
        known = self.volts[: of.hubs.size]
        self.nodes, self.volts = local, of.volts[local]
        self.volts[: of.hubs.size] = known

    def _newton(self) -> bool:
        """Solve the blocks that are moved and the hubs, from the volts found last; whether there is a solution."""
        import numpy as np

        of = self._of
        count = of.hubs.size
        sound = of.volts[of.hubs]
        into = np.zeros(self.nodes.size)
        into[:count] = self._seen @ sound - self._drawn - self.put @ of.back
        try:
            self.volts = solve(self._linear, self._bank, *self._ends, self.volts, into, OFF)
        except (NotConvergedError, np.linalg.LinAlgError, RuntimeError):
            return False
        self.hubs = self.volts[:count] - sound
        return True

    def _elsewhere(self) -> tuple[Floats, Floats, Places, Places]:
        """What the hubs see of the other blocks, the A that these draw there in the sound situation, and the hubs that
        they join in pairs.
        """
        import numpy as np

        of = self._of
        seen, drawn, joined = of.seen.copy(), of.drawn.copy(), of.joined.copy()
        for block in self._blocks:
            touched, own, amps, joins = of.block(block)
            seen[touched[:, None], touched] -= own
            drawn -= amps
            joined -= joins
        one, other = np.nonzero(joined)
        return seen, drawn, one, other
