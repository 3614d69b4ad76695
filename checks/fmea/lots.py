"""Faults of a large harness in lots: what each changes of it, and the networks of many put together, each of the hubs
and of the blocks that it moves.
"""

from __future__ import annotations

from copy import copy
from typing import TYPE_CHECKING

from ..dc.devices import NEGLIGIBLE_OHMS
from ..dc.islands import first_nodes
from ..dc.kron_reduction import TIE
from ..dc.newton import Sparse
from ..dc.newton_stack import Stack

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from .failure_modes import Damage
    from .tangents import Tangents

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]
    Flags = NDArray[np.bool_]

MOST_FULL = 400
"""Nodes up to which a full matrix is the quicker one; as in ``dc.nodal_equations``."""


class Hurt:
    """What some faults change, each in a row. ``closed`` and ``gone`` as ``Tangents`` has them, of each fault;
    ``joints``: the nodes that a short joins, the same one twice where none is; ``blocks``: those that are moved;
    ``along``: V by which each law lies further along.
    """

    def __init__(self, ports: Sequence[Tangents], damages: Sequence[Damage], along: Floats) -> None:
        """``ports``: the situation of each, all with the same tangents."""
        import numpy as np

        self.of, self.along = ports[0], along
        self.closed: Flags = np.array([each.closed for each in ports])
        self.gone: Flags = np.array([each.gone for each in ports])
        self.joints: list[tuple[int, int]] = []
        self.blocks = [self._put(row, *each) for row, each in enumerate(zip(ports, damages, strict=True))]

    def _put(self, row: int, here: Tangents, damage: Damage) -> list[int]:
        """Put down what a damage opens and joins; the blocks that it is in."""
        of, touched = self.of, set(here.turned)
        for branch in damage.opened:
            place = of.place.get(branch.key)
            if place is not None:
                self.closed[row, place] = False
                touched.add(of.block_at(of.tops[place], of.bottoms[place]))
            place = of.laws.place.get(branch.key)
            if place is not None:
                self.gone[row, place] = True
                touched.add(int(of.block_of_law[place]))
        joint = (0, 0)
        if damage.grounded:
            index = of.network.index
            joint = index[damage.grounded], index[of.network.circuit.ground]
            touched.add(of.block_at(*joint))
        self.joints.append(joint)
        return sorted(touched - {-1})

    def nodes(self, row: int) -> int:
        """How many nodes the network of a fault has."""
        return int(self.of.hubs.size + self.of.nodes_of.sizes[self.blocks[row]].sum())

    def widen(self, row: int, blocks: Iterable[int]) -> None:
        """Take more blocks into the network of a fault."""
        self.blocks[row] = sorted({*self.blocks[row], *blocks})


class Lot:
    """Faults that are solved together, each a network of the hubs, which come first, and of the blocks that it moves.

    ``rows``: which faults; ``nodes``: those of the whole network that are in it, for the fault at the place ``node_of``
    at ``spots``; ``own``: the laws in it, those that are gone too, for the faults ``own_of``; ``laws``: those of
    ``stack``. ``volts``: those found last, (faults, n); ``seen`` and ``drawn``: what the hubs see of all other blocks,
    as ``Tangents`` has it. ``sparse``: the plain resistances of a large network, which is the only one then.
    """

    def __init__(self, hurt: Hurt, rows: Sequence[int], size: int, rise: Floats) -> None:
        """``size``: nodes of the largest; where a network has less the others touch nothing. ``rise``: V by which
        the hubs of each lie higher than in the sound situation.
        """
        import numpy as np

        of, count, hubs = hurt.of, len(rows), hurt.of.hubs.size
        self.rows = np.array(rows, dtype=np.intp)
        self._put_blocks(hurt)
        fault, block, _ = self._blocks
        real = np.flatnonzero(block < of.count)
        nodes, which = of.nodes_of.of(block[real])
        self.nodes = np.concatenate((np.tile(of.hubs, count), nodes))
        self.node_of = np.concatenate((np.repeat(np.arange(count), hubs), fault[real][which]))
        self.spots = np.concatenate((np.tile(np.arange(hubs), count), self._spots(of, nodes, real[which])))
        self.own, which = of.laws_of.of(block)
        self.own_of = fault[which]
        kept = ~hurt.gone[self.rows[self.own_of], self.own]
        self.laws, which, law_of = self.own[kept], which[kept], self.own_of[kept]
        tops, bottoms = (self._spots(of, ends[self.laws], which) for ends in (of.law_tops, of.law_bottoms))
        bank = of.laws.bank.chosen(self.laws).moved(hurt.along[self.rows[law_of], self.laws])
        self.stack = Stack(self._conductances(hurt, size, law_of, tops, bottoms), bank, law_of, tops, bottoms)
        self.volts: Floats = np.zeros((count, size))
        self.volts[self.node_of, self.spots] = of.volts[self.nodes]
        self.volts[:, :hubs] += rise

    def _put_blocks(self, hurt: Hurt) -> None:
        """Put the blocks of each fault one after the other, what is between hubs as if in one more; and what the hubs
        see of the others, and which of them these join.
        """
        import numpy as np

        of, count = hurt.of, self.rows.size
        self.seen, self.drawn = np.tile(of.seen, (count, 1, 1)), np.tile(of.drawn, (count, 1))
        self._joined = np.tile(of.joined, (count, 1, 1))
        pairs: list[tuple[int, int, int]] = []
        shorts: list[tuple[int, int, int]] = []
        for place, row in enumerate(self.rows.tolist()):
            start, end = {-1: 0}, of.hubs.size
            for block in hurt.blocks[row]:
                pairs.append((place, block, end))
                start[block] = end
                end += int(of.nodes_of.sizes[block])
                known = of.block(block)
                self.seen[place][known.at] -= known.siemens
                self.drawn[place] -= known.drawn
                np.subtract.at(self._joined[place], known.joined, 1)
            pairs.append((place, of.count, 0))
            one, other = hurt.joints[row]
            if one != other:
                one, other = (int(of.spot[node]) + start[int(of.label[node])] for node in (one, other))
                shorts.append((place, one, other))
        self._blocks: Places = np.array(pairs, dtype=np.intp).T
        self._shorts: Places = np.array(shorts, dtype=np.intp).reshape(-1, 3).T

    def _spots(self, of: Tangents, nodes: Places, which: Places) -> Places:
        """The places of nodes in the networks that the blocks ``which`` are put in."""
        import numpy as np

        return np.where(of.label[nodes] < 0, of.spot[nodes], of.spot[nodes] + self._blocks[2][which])

    def _conductances(self, hurt: Hurt, size: int, law_of: Places, tops: Places, bottoms: Places) -> Floats:
        """The plain resistances of each network, what the hubs see of other blocks among them, and its ties, as full
        matrices. The laws between ``tops`` and ``bottoms`` hold together what they join.
        """
        import numpy as np

        of, count, hubs = hurt.of, self.rows.size, hurt.of.hubs.size
        plain, which = of.plain_of.of(self._blocks[1])
        closed = hurt.closed[self.rows[self._blocks[0][which]], plain]
        plain, which = plain[closed], which[closed]
        short, *ends = self._shorts
        fault = np.concatenate((self._blocks[0][which], short))
        a, b = (
            np.concatenate((self._spots(of, nodes[plain], which), end))
            for nodes, end in zip((of.tops, of.bottoms), ends, strict=True)
        )
        siemens = np.concatenate((of.siemens[plain], np.full(short.size, 1.0 / NEGLIGIBLE_OHMS)))
        seen_of, one, other = self._joined.nonzero()
        first = np.concatenate((fault, law_of, seen_of)) * size
        joined = first + np.concatenate((a, tops, one)), first + np.concatenate((b, bottoms, other))
        islands = first_nodes(count * size, *joined)
        tied, tie = np.divmod(np.flatnonzero(islands == np.arange(islands.size)), size)
        rows, columns = np.concatenate((a, b, a, b, tie)), np.concatenate((a, b, b, a, tie))
        values = np.concatenate((siemens, siemens, -siemens, -siemens, np.full(tie.size, TIE)))
        self.sparse: Sparse | None = None
        if size > MOST_FULL:
            one, other = np.divmod(np.arange(hubs * hubs), hubs)
            values = np.concatenate((values, self.seen.ravel()))
            self.sparse = Sparse(np.concatenate((rows, one)), np.concatenate((columns, other)), values, size)
            return np.zeros((1, 0, 0))
        at = (np.concatenate((fault, fault, fault, fault, tied)) * size + rows) * size + columns
        found: Floats = np.bincount(at, values, count * size * size).astype(float, copy=False)
        matrices = found.reshape(count, size, size)
        matrices[:, :hubs, :hubs] += self.seen
        return matrices

    def chosen(self, places: Places) -> Lot:
        """Some of the faults, by their places in rising order."""
        import numpy as np

        if places.size == self.rows.size:
            return self
        place = np.full(self.rows.size, -1, dtype=np.intp)
        place[places] = np.arange(places.size)
        other = copy(self)
        other.rows, other.volts = self.rows[places], self.volts[places]
        other.seen, other.drawn = self.seen[places], self.drawn[places]
        nodes, own = np.flatnonzero(place[self.node_of] >= 0), np.flatnonzero(place[self.own_of] >= 0)
        other.nodes, other.node_of, other.spots = self.nodes[nodes], place[self.node_of[nodes]], self.spots[nodes]
        other.own, other.own_of = self.own[own], place[self.own_of[own]]
        other.laws = self.laws[place[self.stack.of] >= 0]
        other.stack = self.stack.chosen(places)
        return other
