"""Between every two nets: the ohms of what joins them, how often a beeper sounds, what is reached from where.

Published: resistance distance, Klein and Randic (1993), from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet
from ..tables.meter import meter_figures

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Resistances:
    """ohm between each two nets, at least and at most."""

    low: Floats
    high: Floats


def beep_shares(resistances: Resistances, limit: float) -> Floats:
    import numpy as np

    known = meter_figures()
    low, high = (_beep_share(each, limit) for each in (resistances.low, resistances.high))
    return np.where(low == high, low, known.unknown_beeps)


def _beep_share(ohms: Floats, limit: float) -> Floats:
    import numpy as np

    known = meter_figures()
    return np.select(
        [ohms < limit / known.border_factor, ohms <= limit * known.border_factor],
        [1.0 - known.wrong, known.border_beeps],
        known.wrong,
    )


def closed(reach: Flags) -> Flags:
    """Everything that can be reached from each, by squaring."""
    import numpy as np

    while True:
        wider: Flags = (reach.astype(np.float32) @ reach.astype(np.float32)) > 0.0
        if (wider == reach).all():
            return reach
        reach = wider


def resistances_between(count: int, edges: list[tuple[int, int, float]]) -> Floats:
    """ohm between every two of ``count`` nets (``inf`` where not connected), edges of 0 ohm contracted first."""
    import numpy as np

    merged = DisjointSet(range(count))
    for a, b, ohms in edges:
        if ohms <= 0.0:
            merged.merge(a, b)
    leaders = sorted({merged.leader(net) for net in range(count)})
    place = {leader: number for number, leader in enumerate(leaders)}
    node = np.array([place[merged.leader(net)] for net in range(count)], dtype=np.intp)
    size = len(leaders)
    groups = DisjointSet(range(size))
    live = [(int(node[a]), int(node[b]), ohms) for a, b, ohms in edges if 0.0 < ohms < math.inf]
    for a, b, _ in live:
        groups.merge(a, b)
    result = np.full((size, size), math.inf)
    np.fill_diagonal(result, 0.0)
    members: dict[int, list[int]] = {}
    for each in range(size):
        members.setdefault(groups.leader(each), []).append(each)
    for group in members.values():
        if len(group) < 2:
            continue
        inside = {each: number for number, each in enumerate(group)}
        matrix = np.zeros((len(group), len(group)))
        for a, b, ohms in live:
            if a in inside and a != b:
                i, j = inside[a], inside[b]
                matrix[i, i] += 1.0 / ohms
                matrix[j, j] += 1.0 / ohms
                matrix[i, j] -= 1.0 / ohms
                matrix[j, i] -= 1.0 / ohms
        # The all-ones matrix takes the place of the null space; what it adds cancels in the distances.
        inverse = np.linalg.inv(matrix + 1.0 / len(group))
        diagonal = np.diag(inverse)
        result[np.ix_(group, group)] = np.maximum(diagonal[:, None] + diagonal[None, :] - 2.0 * inverse, 0.0)
    for each in range(size):
        result[each, each] = 0.0
    full: Floats = result[np.ix_(node, node)]
    return full
