"""The plain resistances of a large harness in one situation after the other, put together by arrays."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .islands import first_nodes
from .kron_reduction import TIE
from .newton import Order, Sparse

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from .kron_reduction import Reduction
    from .laws import Laws
    from .situation import Situation

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

    Edge = tuple[int, int, float]


class LargeEquations:
    """The plain resistances between the nodes of a reduction, and those that may be open. Needs ``scipy``."""

    def __init__(
        self, reduction: Reduction, edges: Sequence[Edge], keys: Sequence[tuple[str, bool]], tied: Sequence[int]
    ) -> None:
        """``edges``: those that may be open or at rest, and of each by ``keys`` its branch and whether that always
        conducts; ``tied``: the nodes at which an island is tied, the first in it.
        """
        import numpy as np

        self._size = len(reduction.kept)
        self._labels = np.array(reduction.labels, dtype=np.intp)
        self._always, self._guarded = _as_arrays(reduction.edges), _as_arrays(edges)
        self._keys = tuple(keys)
        self._tied = np.array(tied, dtype=np.intp)
        self._order = Order()

    def conductances(self, situation: Situation, laws: Laws) -> Sparse:
        """Those of a situation; its ``laws`` hold together what they join."""
        import numpy as np

        conducting, resting = situation.conducting, situation.resting
        there = [(always or key in conducting) and key not in resting for key, always in self._keys]
        a, b, siemens = self._guarded
        a, b, siemens = a[there], b[there], siemens[there]
        joins = siemens > 0.0
        one, other = np.concatenate((a[joins], laws.tops)), np.concatenate((b[joins], laws.bottoms))
        labels = self._labels
        island = first_nodes(int(labels.max(initial=-1)) + 1, labels[one], labels[other])
        ties = self._tied[np.sort(np.unique(island[labels[self._tied]], return_index=True)[1])]
        plain_a, plain_b, plain = self._always
        a, b, siemens = np.concatenate((plain_a, a)), np.concatenate((plain_b, b)), np.concatenate((plain, siemens))
        rows = np.concatenate((a, b, a, b, ties))
        columns = np.concatenate((a, b, b, a, ties))
        values = np.concatenate((siemens, siemens, -siemens, -siemens, np.full(ties.size, TIE)))
        return Sparse(rows, columns, values, self._size, self._order)


def _as_arrays(edges: Sequence[Edge]) -> tuple[Places, Places, Floats]:
    """Resistances between nodes, as ends and siemens."""
    import numpy as np

    return (
        np.array([edge[0] for edge in edges], dtype=np.intp),
        np.array([edge[1] for edge in edges], dtype=np.intp),
        np.array([edge[2] for edge in edges], dtype=float),
    )
