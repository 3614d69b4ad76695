"""Faults of a large harness: the blocks that each moves, solved by Newton with the hubs, and all others by their
tangents.

Whatever leaves its tangent elsewhere is put right too. All other lamps on a feed that rises by some mV hardly do: what
they take more is put in at the hubs, at the volts just found, again until that stands still. A block in which a law
bends far, or that does not come to stand still, is solved with the others.

Hundreds of faults go at once, each in the situation that it has come to: those whose blocks have about as many nodes
are solved in one lot (``lots``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..dc.newton import NotConvergedError, solve
from .lots import MOST_FULL, Hurt, Lot
from .ports import Struck
from .tangents import OFF

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

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
ALIKE = 0.8
"""Of the nodes of the largest network in a stack, those that each other has at least (ours)."""
MOST_NUMBERS = 500_000
"""Of the full matrices of one stack (ours): with more they are slower, not quicker."""


def strike(ports: Sequence[Tangents], damages: Sequence[Damage], along: Floats) -> Struck:
    """The situation of each of these, which all have the same tangents, after a damage; ``along`` as ``Multiport`` has
    it.
    """
    return Departures(ports, damages, along).solved()


class Departures:
    """Faults on their way, each in a row. ``hubs``: V by which the hubs rise, in the order of ``Tangents.hubs``;
    ``put``: A that each law takes beyond its tangent; ``law_amps`` of all laws.
    """

    def __init__(self, ports: Sequence[Tangents], damages: Sequence[Damage], along: Floats) -> None:
        """``along``: V by which each law lies further along."""
        import numpy as np

        self.of = ports[0]
        self.hurt = Hurt(ports, damages, along)
        count = len(damages)
        self.hubs = np.zeros((count, self.of.hubs.size))
        self.put = np.zeros((count, self.of.laws.bank.count))
        self.law_amps = np.tile(self.of.amps, (count, 1))
        self.good = np.zeros(count, dtype=bool)
        self._found: list[tuple[Places, Places, Floats]] = []

    def solved(self) -> Struck:
        """What was found; ``good`` where there is a solution."""
        import numpy as np

        of = self.of
        lots = list(self._lots(range(len(self.good))))
        for turn in range(MOST_ROUNDS):
            going: list[Lot] = []
            wider: list[int] = []
            for lot in lots:
                lot = lot.chosen(self._newton(lot))
                if lot.rows.size:
                    stay, grown = self._look(lot, turn)
                    wider += grown
                    if stay.size:
                        going.append(lot.chosen(stay))
            lots = [*going, *self._lots(wider)]
            if not lots:
                break
        volts = of.volts + self.hubs @ of.moves.T
        if self.put.any():
            volts -= (of.inside @ self.put.T).T
        for rows, nodes, there in self._found:
            volts[rows, nodes] = there
        return Struck(volts, volts, self.law_amps, self.good & np.isfinite(volts).all(axis=1))

    def _lots(self, rows: Sequence[int]) -> Iterator[Lot]:
        """Some faults in lots of about as many nodes."""
        nodes = {row: self.hurt.nodes(row) for row in rows}
        lot: list[int] = []
        for row in sorted(rows, key=lambda row: (-nodes[row], row)):
            most = nodes[lot[0]] if lot else 0
            if lot and (most > MOST_FULL or nodes[row] < ALIKE * most or (len(lot) + 1) * most**2 > MOST_NUMBERS):
                yield self._lot(lot, most)
                lot = []
            lot.append(row)
        if lot:
            yield self._lot(lot, nodes[lot[0]])

    def _lot(self, rows: Sequence[int], most: int) -> Lot:
        """Some faults in one lot, of which the largest has ``most`` nodes."""
        lot = Lot(self.hurt, rows, most, self.hubs[rows])
        self.put[lot.rows[lot.own_of], lot.own] = 0.0
        return lot

    def _newton(self, lot: Lot) -> Places:
        """Solve the networks of a lot, from the volts found last; those that have a solution, by their places."""
        import numpy as np

        of, count = self.of, self.of.hubs.size
        sound = of.volts[of.hubs]
        into = np.zeros(lot.volts.shape)
        into[:, :count] = lot.seen @ sound - lot.drawn - self.put[lot.rows] @ of.back
        if lot.sparse is None:
            lot.volts, found = lot.stack.solve(lot.volts, into, OFF)
        else:
            found = np.ones(1, dtype=bool)
            try:
                ends = lot.stack.tops, lot.stack.bottoms
                lot.volts[0] = solve(lot.sparse, lot.stack.bank, *ends, lot.volts[0], into[0], OFF)
            except (NotConvergedError, RuntimeError):
                found[0] = False
        self.hubs[lot.rows[found]] = lot.volts[found, :count] - sound
        return np.flatnonzero(found)

    def _look(self, lot: Lot, turn: int) -> tuple[Places, list[int]]:
        """Look at all laws of the faults of a lot: those by their places in which what is put in moves still, and those
        by their rows in which more blocks are to be solved by Newton. What stands still is put down.
        """
        import numpy as np

        of, rows = self.of, lot.rows
        before = self.put[rows]
        beyond = self.hubs[rows] @ of.back.T
        if before.any():
            beyond -= (of.near @ before.T).T
        out = (beyond < of.falls) | (beyond > of.rises)
        out[lot.own_of, lot.own] = False
        at, law = out.nonzero()
        volts = beyond[at, law]
        amps, slopes = of.laws.bank.chosen(law).both(of.across[law] + volts)
        more = amps - of.amps[law] - of.slopes[law] * volts
        more[np.abs(more) <= OFF] = 0.0
        put = np.zeros(before.shape)
        put[at, law] = more
        bent = (np.abs(slopes - of.slopes[law]) * of.own[law] > BENDS) & (more != 0.0)
        unsteady = np.abs(put - before) > OFF
        self.put[rows] = put
        far = np.zeros(before.shape, dtype=bool)
        far[at[bent], law[bent]] = True
        still = ~np.any(unsteady | far, axis=1)
        if still.any():
            self._tell(lot.chosen(np.flatnonzero(still)), beyond[still])
        if turn >= SLOW:
            far |= unsteady
        wider = np.any(far, axis=1) & ~still
        for place in np.flatnonzero(wider).tolist():
            row = int(rows[place])
            self.hurt.widen(row, of.block_of_law[far[place]].tolist())
        return np.flatnonzero(~still & ~wider), rows[wider].tolist()

    def _tell(self, lot: Lot, beyond: Floats) -> None:
        """Put down what all laws pass, those solved by Newton and the others, and the volts of the solved nodes."""
        import numpy as np

        of, rows, stack = self.of, lot.rows, lot.stack
        amps = np.where(self.hurt.gone[rows], 0.0, of.amps + of.slopes * beyond + self.put[rows])
        amps[lot.own_of, lot.own] = 0.0
        amps[stack.of, lot.laws] = stack.bank.amps(stack.across(lot.volts))
        self.law_amps[rows] = amps
        self.good[rows] = True
        self._found.append((rows[lot.node_of], lot.nodes, lot.volts[lot.node_of, lot.spots]))
