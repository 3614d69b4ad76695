"""What hangs together in a network, by numbers: quickly for a large one where ``scipy`` is there."""

from __future__ import annotations

import importlib.util
from typing import TYPE_CHECKING

from ...lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    Places = NDArray[np.intp]

MANY = 400
"""Nodes from which ``scipy`` is the quicker one (measured)."""


def islands_of(size: int, joined: Sequence[tuple[int, int]]) -> Sequence[int]:
    """Something for each of ``size`` nodes that is the same for those that hang together, ``joined`` in pairs."""
    if size > MANY and joined and importlib.util.find_spec("scipy") is not None:
        import numpy as np

        pairs = np.array(joined, dtype=np.intp)
        found: list[int] = first_nodes(size, pairs[:, 0], pairs[:, 1]).tolist()
        return found
    merged = DisjointSet(range(size))
    for a, b in joined:
        merged.merge(a, b)
    return [merged.leader(node) for node in range(size)]


def first_nodes(size: int, a: Places, b: Places) -> Places:
    """For each of ``size`` nodes the first one of its island; the nodes ``a`` and ``b`` are joined in pairs. Needs
    ``scipy``.
    """
    import numpy as np
    from scipy.sparse.csgraph import connected_components

    _, found = connected_components(graph(size, a, b), directed=False)
    first = np.unique(found, return_index=True)[1]
    return np.asarray(first[found], dtype=np.intp)


def graph(size: int, a: Places, b: Places) -> csr_array:
    """A graph of ``size`` nodes as ``scipy`` has it: the nodes ``a`` and ``b`` joined in pairs."""
    import numpy as np
    from scipy.sparse import csr_array

    return csr_array((np.ones(a.size), (a, b)), shape=(size, size))
