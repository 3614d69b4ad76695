"""Many faults of one situation of a large harness, each in the blocks that it moves.

The harness is parted at its hubs (``hubs``, with ``scipy``). At the volts of the sound situation each block is seen
from the hubs, every law replaced by its tangent: how its currents there follow the volts there (Schur 1917). A fault is
solved in its own block and at the hubs by Newton, all other blocks so seen (``departures``). So it costs what its own
circuit does, and a look at all laws: none leaves its tangent unseen, however far away.
"""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.ids import source_of
from ...lang.records import dataclass
from ..dc.connectivity import always
from ..dc.islands import first_nodes
from ..dc.kron_reduction import TIE
from ..dc.machines import Inside
from .hubs import ByBlock, blocks_of, by_block, inverse_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.nodal_equations import NodalEquations
    from ..dc.situation import Situation

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]
    Counts = NDArray[np.intp]


OFF = 1e-9
"""A by which a law may be off its tangent and count as on it (ours): a tenth of what Newton lets currents miss."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What one block is to the hubs that it touches: ``at`` which, by their places in a matrix of all hubs, ``siemens``
    A there for a volt at each, ``drawn`` A that it takes at all hubs in the sound situation, and ``joined`` the hubs
    that it joins, in pairs.
    """

    at: tuple[Places, Places]
    siemens: Floats
    drawn: Floats
    joined: tuple[Places, Places]


class Tangents:
    """The blocks of one situation, and their tangents.

    ``hubs``: the nodes that are hubs, return poles first; ``label``: the block of each node, -1 of a hub, ``spot`` its
    place among those of its block or among the hubs; ``count``: how many blocks there are; ``nodes_of``, ``plain_of``
    and ``laws_of``: what is in each, what is between hubs as if in one more. Plain resistances are numbered, and so are
    laws; ``tops``, ``bottoms`` and ``siemens`` are those of resistances, ``law_tops`` and ``law_bottoms`` of laws.
    ``closed`` and ``gone``: which resistances conduct, and which laws are not
    there, in this situation; ``turned``: the blocks in which that differs from where the tangents were taken.

    ``moves``: V of all nodes for a volt at each hub, (nodes, hubs); ``back``: V across each law for it, which is A at
    each hub for an A that a law takes more; ``inside``: V of all nodes for an A through each law while the hubs are
    held, ``near``: V across each law for it, both sparse; ``seen``: A at each hub for a volt at each by way of all
    blocks; ``drawn``: A that all blocks take at each hub in the sound situation; ``joined``: how many blocks join each
    two hubs, (hubs, hubs). ``falls`` and ``rises``: V by which a law may leave its tangent's place and count as on it.
    """

    def __init__(
        self, network: NodalEquations, situation: Situation, kept: Floats, setpoints: Mapping[str, float]
    ) -> None:
        """``kept``: V of the nodes that stay in the sound situation, its machines held at ``setpoints``."""
        import numpy as np

        self.network, self.situation = network, situation
        # What does not conduct here may in a situation near by: laws of all branches, of which some count as gone.
        every = situation.conducting.union(branch.key for branch in network.curved)
        self.laws = laws = network.laws_of(replace(situation, conducting=every))
        self._guarded: dict[str, int] = {
            b.key: laws.place[b.key] for b in network.curved if not always(b) and b.key in laws.place
        }
        self.gone = np.zeros(laws.bank.count, dtype=bool)
        self.gone[[place for key, place in self._guarded.items() if key not in situation.conducting]] = True
        along = np.zeros(laws.bank.count)
        for machine in situation.machines:
            along[laws.place[source_of(machine.supply)]] = setpoints[machine.supply] - network.regulated[machine.supply]
        index = network.index
        plain = [b for b in (*network.static, *network.guarded) if b.a != b.b and b.key not in situation.resting]
        self.place = {b.key: place for place, b in enumerate(plain)}
        self.tops = np.array([index[b.a] for b in plain], dtype=np.intp)
        self.bottoms = np.array([index[b.b] for b in plain], dtype=np.intp)
        self.siemens = np.array([network.siemens(b) for b in plain])
        self._contacts: dict[str, int] = {
            b.key: self.place[b.key] for b in network.guarded if not always(b) and b.key in self.place
        }
        self.closed = np.ones(len(plain), dtype=bool)
        self.closed[[place for key, place in self._contacts.items() if key not in situation.conducting]] = False
        self._sound = self.closed
        to = np.array(network.reduction.kept, dtype=np.intp)
        self.law_tops, self.law_bottoms = to[laws.tops], to[laws.bottoms]
        self.volts = network.all_volts(kept)
        self.across = self.volts[self.law_tops] - self.volts[self.law_bottoms]
        amps, slopes = laws.bank.both(self.across - along)
        self.amps, self.slopes = np.where(self.gone, 0.0, amps), np.where(self.gone, 0.0, slopes)
        self.falls, self.rises = laws.bank.straight(self.across - along, OFF)
        self.falls[self.gone], self.rises[self.gone] = -np.inf, np.inf  # where one comes back its block is solved
        self.turned: frozenset[int] = frozenset()
        self._divide()
        self._see()

    def _divide(self) -> None:
        """Find the hubs, the blocks and what is in each."""
        import numpy as np

        network = self.network
        ends = np.concatenate((self.tops, self.law_tops)), np.concatenate((self.bottoms, self.law_bottoms))
        ground = network.index.get(network.circuit.ground)
        poles = [*network.return_poles, *([] if ground is None else [ground])]
        for supply in network.circuit.supplies:
            poles += [network.index[pole] for pole in (*supply.plus, supply.minus)]
            if supply.kind == "machine":
                poles.append(network.index[Inside(supply)])
        poles = list(dict.fromkeys(poles))
        self.label = blocks_of(self.volts.size, *ends, poles)
        others = np.flatnonzero(self.label < 0)
        self.hubs = np.concatenate((np.array(poles, dtype=np.intp), others[~np.isin(others, poles)]))
        self.plain_of = by_block(self.label, self.tops, self.bottoms)
        self.laws_of = by_block(self.label, self.law_tops, self.law_bottoms)
        self.block_of_law = np.maximum(self.label[self.law_tops], self.label[self.law_bottoms])
        self.count = int(self.label.max(initial=-1)) + 1
        self.nodes_of = ByBlock(np.where(self.label < 0, self.count, self.label), self.count)
        self.spot = np.zeros(self.volts.size, dtype=np.intp)
        nodes, block = self.nodes_of.of(np.arange(self.count))
        sizes = self.nodes_of.sizes[: self.count]
        self.spot[nodes] = np.arange(nodes.size) - (np.cumsum(sizes) - sizes)[block]
        self.spot[self.hubs] = np.arange(self.hubs.size)
        self._known: dict[int, Seen] = {}

    def _see(self) -> None:
        """What the hubs see of the blocks."""
        import numpy as np
        from scipy.sparse import csr_array

        size, hubs = self.volts.size, self.hubs
        there = ~self.gone
        a = np.concatenate((self.tops[self.closed], self.law_tops[there]))
        b = np.concatenate((self.bottoms[self.closed], self.law_bottoms[there]))
        siemens = np.concatenate((self.siemens[self.closed], self.slopes[there]))
        is_hub = self.label < 0
        place = self.spot
        apart = first_nodes(size, a, b)
        reached = np.zeros(size, dtype=bool)
        reached[apart[hubs]] = True
        ties = np.flatnonzero((apart == np.arange(size)) & ~reached)
        own = ~is_hub[a] & ~is_hub[b]
        rows = np.concatenate((a[own], b[own], a, b, ties))
        columns = np.concatenate((b[own], a[own], a, b, ties))
        values = np.concatenate((-siemens[own], -siemens[own], siemens, siemens, np.full(ties.size, TIE)))
        within = ~is_hub[rows]
        held = inverse_of(self.nodes_of, self.label, rows[within], columns[within], values[within])
        outer = np.where(is_hub[a], b, a), np.where(is_hub[a], a, b)
        to_hub = is_hub[a] != is_hub[b]
        self._outward = csr_array(
            (-siemens[to_hub], (outer[0][to_hub], place[outer[1][to_hub]])), shape=(size, hubs.size)
        )
        self.moves: Floats = -(held @ self._outward).toarray()
        self.moves[hubs, np.arange(hubs.size)] = 1.0
        count = self.laws.bank.count
        signs = np.concatenate((np.ones(count), -np.ones(count)))
        shape = (np.concatenate((self.law_tops, self.law_bottoms)), np.tile(np.arange(count), 2))
        ends = csr_array((signs, shape), shape=(size, count))
        self.inside = csr_array(held @ ends)
        self.near = csr_array(ends.T @ self.inside)
        self.own: Floats = self.near.diagonal()
        self.back: Floats = self.moves[self.law_tops] - self.moves[self.law_bottoms]
        self.seen: Floats = self._outward.T @ np.where(is_hub[:, None], 0.0, self.moves)
        self.seen -= np.diag(self._outward.sum(axis=0))
        every = np.arange(self.tops.size)[np.maximum(self.label[self.tops], self.label[self.bottoms]) >= 0]
        self.drawn = self._drawn(every, np.flatnonzero(self.block_of_law >= 0))
        self._join(apart, a, b)

    def _join(self, apart: Places, a: Places, b: Places) -> None:
        """Find which hubs each block joins with each other: those that one piece of it touches."""
        import numpy as np

        is_hub = self.label < 0
        own = ~is_hub[a] & ~is_hub[b]
        piece = first_nodes(apart.size, a[own], b[own])
        to_hub = is_hub[a] != is_hub[b]
        inner, outer = np.where(is_hub[a], b, a)[to_hub], np.where(is_hub[a], a, b)[to_hub]
        touched = np.unique(piece[inner] * self.hubs.size + self.spot[outer])
        first, hub = np.divmod(touched, self.hubs.size)
        alike = first[1:] == first[:-1]
        self._joints = hub[:-1][alike], hub[1:][alike], self.label[first[1:][alike]]
        self.joined: Counts = np.zeros((self.hubs.size, self.hubs.size), dtype=np.intp)
        np.add.at(self.joined, self._joints[:2], 1)

    def _drawn(self, plain: Places, laws: Places) -> Floats:
        """A that some resistances and laws take at each hub in the sound situation."""
        import numpy as np

        plain = plain[self._sound[plain]]
        through = self.siemens[plain] * (self.volts[self.tops[plain]] - self.volts[self.bottoms[plain]])
        amps = np.concatenate((through, self.amps[laws]))
        size = self.volts.size
        out, into = (
            np.bincount(np.concatenate(each), amps, size)
            for each in ((self.tops[plain], self.law_tops[laws]), (self.bottoms[plain], self.law_bottoms[laws]))
        )
        return np.asarray(out - into, dtype=float)[self.hubs]

    def block(self, number: int) -> Seen:
        """What one block is to the hubs."""
        import numpy as np

        if number not in self._known:
            nodes = self.nodes_of[number]
            outward = self._outward[nodes].toarray()
            touched = np.flatnonzero(outward.any(axis=0))
            outward = outward[:, touched]
            siemens = outward.T @ self.moves[nodes][:, touched] - np.diag(outward.sum(axis=0))
            one, other, block = self._joints
            own = block == number
            drawn = self._drawn(self.plain_of[number], self.laws_of[number])
            self._known[number] = Seen((touched[:, None], touched), siemens, drawn, (one[own], other[own]))
        return self._known[number]

    def alike(self, other: Tangents) -> bool:
        """Whether these are the same tangents, what conducts apart."""
        return self.moves is other.moves

    def switched(self, situation: Situation) -> Tangents | None:
        """The same in another situation, where only contacts and outputs differ: its tangents are those of this one.
        ``None`` where more differs.
        """
        here = self.situation
        alike = (here.asleep, here.resting) == (situation.asleep, situation.resting)
        running = [[(m.supply, m.amps) for m in each.machines] for each in (here, situation)]
        if not alike or running[0] != running[1]:
            return None
        other = copy(self)
        other.situation = situation
        other.gone, other.closed = self.gone.copy(), self.closed.copy()
        turned: set[int] = set()
        for key in here.conducting ^ situation.conducting:
            conducts = key in situation.conducting
            if key in self._guarded:
                place = self._guarded[key]
                other.gone[place] = not conducts
                turned.add(int(self.block_of_law[place]))
            elif key in self._contacts:
                place = self._contacts[key]
                other.closed[place] = conducts
                turned.add(self.block_at(self.tops[place], self.bottoms[place]))
        other.turned = frozenset(turned - {-1})
        return other

    def block_at(self, *nodes: int) -> int:
        """The block that some nodes are in, hubs left aside; -1: none."""
        return max(int(self.label[node]) for node in nodes)
