"""A large network in blocks: what is left of it once the nodes with many branches are taken out.

A harness hangs together at few nodes: the poles of its sources, the splices of its feeds, its grounds. Without these
hubs it falls into blocks, a circuit each, which know of each other by the volts of the hubs alone.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ..dc.islands import graph

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

MANY = 12
"""A node with more branches than that is a hub (ours)."""

LARGEST = 60
"""Nodes of a block at most (ours), since it is solved as a full matrix: from larger ones more hubs are taken out."""

NARROW = 6
"""Nodes at most by which a block is parted at once (ours)."""


def blocks_of(size: int, a: Places, b: Places, hubs: Iterable[int]) -> Places:
    """The block of each of ``size`` nodes, counted from 0, and -1 of a hub. Branches join the nodes ``a`` and ``b`` in
    pairs; ``hubs``: the nodes that are hubs however few branches they have.
    """
    import numpy as np
    from scipy.sparse.csgraph import connected_components

    a, b = a[a != b], b[a != b]
    branches = np.bincount(a, minlength=size) + np.bincount(b, minlength=size)
    is_hub = branches > MANY
    is_hub[list(hubs)] = True
    while True:
        kept = ~is_hub[a] & ~is_hub[b]
        whole = graph(size, a[kept], b[kept])
        count, found = connected_components(whole, directed=False)
        large = np.flatnonzero(np.bincount(found[~is_hub], minlength=count) > LARGEST)
        if not large.size:
            label = np.full(size, -1, dtype=np.intp)
            label[~is_hub] = np.unique(found[~is_hub], return_inverse=True)[1]
            return label
        for block in large.tolist():
            is_hub[_middle(whole, np.flatnonzero((found == block) & ~is_hub), branches)] = True


def _middle(whole: csr_array, nodes: Places, branches: Places) -> Places:
    """The nodes that part a block best: a few that lie equally far from its end, in the middle of it; where those are
    many, the one of the most branches that is nearest there.
    """
    import numpy as np
    from scipy.sparse.csgraph import dijkstra

    part = whole[nodes][:, nodes]
    end = int(dijkstra(part, directed=False, unweighted=True, indices=0).argmax())
    steps = dijkstra(part, directed=False, unweighted=True, indices=end).astype(np.intp)
    width = np.bincount(steps)
    before = np.cumsum(width)
    middle = np.flatnonzero((before >= nodes.size / 3) & (before - width <= 2 * nodes.size / 3))
    step = int(middle[width[middle].argmin()])
    if width[step] <= NARROW:
        return np.asarray(nodes[steps == step])
    most = np.flatnonzero(branches[nodes] == branches[nodes].max())
    return np.asarray(nodes[most[np.abs(steps[most] - step).argmin()]])


class ByBlock:
    """What is in each block, by its places in order; ``self[block]`` are those of one."""

    def __init__(self, block: Places, count: int) -> None:
        """``block``: the one of ``count`` that each is in, and ``count`` of what is in none."""
        import numpy as np

        self._order = np.argsort(block, kind="stable")
        self._ends = np.concatenate(([0], np.cumsum(np.bincount(block, minlength=count)[:count])))

    def __getitem__(self, block: int) -> Places:
        return self._order[self._ends[block] : self._ends[block + 1]]

    @cached_property
    def sizes(self) -> Places:
        """How much is in each block."""
        import numpy as np

        return np.diff(self._ends)

    def of(self, blocks: Places) -> tuple[Places, Places]:
        """What is in some blocks, one after the other, and of each the place of its block among these."""
        import numpy as np

        own = self.sizes[blocks]
        which = np.repeat(np.arange(blocks.size), own)
        first = self._ends[blocks] - (np.cumsum(own) - own)
        return self._order[np.arange(which.size) + first[which]], which


def by_block(label: Places, a: Places, b: Places) -> ByBlock:
    """The branches of each block, by their places among those between the nodes ``a`` and ``b``; those between two hubs
    as if in one block more.
    """
    import numpy as np

    block = np.maximum(label[a], label[b])
    count = int(label.max(initial=-1)) + 1
    return ByBlock(np.where(block < 0, count, block), count + 1)


def inverse_of(nodes_of: ByBlock, label: Places, rows: Places, columns: Places, siemens: Floats) -> csr_array:
    """The inverse of a matrix in blocks, whose entries at one place add up; blocks of one size go together."""
    import numpy as np
    from scipy.sparse import csr_array

    size = label.size
    sizes = nodes_of.sizes
    within, slot = np.zeros(size, dtype=np.intp), np.zeros(sizes.size, dtype=np.intp)
    places, values = [np.zeros((2, 0), dtype=np.intp)], [np.zeros(0)]
    for wide in np.unique(sizes).tolist():
        alike = np.flatnonzero(sizes == wide)
        slot[alike] = np.arange(alike.size)
        nodes = nodes_of.of(alike)[0].reshape(alike.size, wide)
        within[nodes] = np.arange(wide)
        here = sizes[label[rows]] == wide
        at = (slot[label[rows[here]]] * wide + within[rows[here]]) * wide + within[columns[here]]
        full = np.bincount(at, siemens[here], alike.size * wide * wide).reshape(alike.size, wide, wide)
        both = np.repeat(nodes, wide, axis=1).ravel(), np.tile(nodes, wide).ravel()
        places.append(np.array(both))
        values.append(np.linalg.inv(full).ravel())
    return csr_array((np.concatenate(values), tuple(np.concatenate(places, axis=1))), shape=(size, size))
