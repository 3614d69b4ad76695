"""Resistances in a network of resistors, and what they become when one opens or two points touch, by rank-one updates.

The inverse of the conductance matrix of each component is worked out once (its all-ones matrix takes the place of the
null space). To open an edge or to join two points then changes it by one outer product (Sherman and Morrison 1950, from
memory), of which only the resistances between the asked pairs are worked out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from ....lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

COPPER: Final = 5e-3
"""ohm of a piece of copper or a contact: far below what a hand-held meter shows, and enough to solve with (ours)."""

_ALONE: Final = 1e-7
"""The share of an edge's own conductance below which what leads beside it counts as nothing."""


class Resistances:
    """Resistances between ``count`` points; ``edges`` are (a, b, ohm), those of ``inf`` ohm conduct nothing."""

    def __init__(self, count: int, edges: Sequence[tuple[int, int, float]]) -> None:
        import numpy as np

        together = DisjointSet(range(count))
        self._ohms = [max(ohms, COPPER) for _, _, ohms in edges]
        self._ends = [(a, b) for a, b, _ in edges]
        live = [i for i, (a, b) in enumerate(self._ends) if a != b and not math.isinf(self._ohms[i])]
        for i in live:
            together.merge(*self._ends[i])
        members: dict[int, list[int]] = {}
        for point in range(count):
            members.setdefault(together.leader(point), []).append(point)
        self._component = np.array([together.leader(point) for point in range(count)], dtype=np.intp)
        inside = {point: number for group in members.values() for number, point in enumerate(group)}
        matrices = {leader: np.zeros((len(group), len(group))) for leader, group in members.items()}
        for i in live:
            a, b = self._ends[i]
            matrix = matrices[together.leader(a)]
            here, there, siemens = inside[a], inside[b], 1.0 / self._ohms[i]
            matrix[here, here] += siemens
            matrix[there, there] += siemens
            matrix[here, there] -= siemens
            matrix[there, here] -= siemens
        self._inverse: Floats = np.zeros((count, count))
        for leader, group in members.items():
            if len(group) > 1:
                self._inverse[np.ix_(group, group)] = np.linalg.inv(matrices[leader] + 1.0 / len(group))

    def component(self, point: int) -> int:
        """What names the component of a point."""
        return int(self._component[point])

    def between(self, a: Places, b: Places) -> Floats:
        """ohm between points, elementwise; ``inf`` where they are not connected."""
        import numpy as np

        inverse = self._inverse
        ohms = inverse[a, a] + inverse[b, b] - inverse[a, b] - inverse[b, a]
        found: Floats = np.where(self._component[a] == self._component[b], np.maximum(ohms, 0.0), math.inf)
        return found

    def opened(self, faults: Sequence[Sequence[int]], a: Places, b: Places) -> Floats:
        """The same with the edge of each fault open: (faults, pairs). A fault of no live edge changes nothing."""
        import numpy as np

        sound = self.between(a, b)
        result = np.tile(sound, (len(faults), 1))
        for row, edges in enumerate(faults):
            for edge in edges:
                c, d = self._ends[edge]
                ohms = self._ohms[edge]
                if c == d or math.isinf(ohms):
                    continue
                x = self._seen(c, d, a, b)
                here = (self._component[a] == self._component[c]) & (self._component[b] == self._component[c])
                left = ohms - float(self.between(np.array([c]), np.array([d]))[0])
                if left < _ALONE * ohms:  # nothing else joins its two sides
                    result[row] = np.where(here & (np.abs(x) > 0.5 * ohms), math.inf, result[row])
                else:
                    result[row] = np.where(here, sound + x * x / left, result[row])
        return result

    def joined(self, points: Iterable[int], to: int, a: Places, b: Places) -> Floats:
        """The same with each of some points connected to one other: (points, pairs)."""
        import numpy as np

        sound = self.between(a, b)
        rows = []
        for point in points:
            if self._component[point] == self._component[to]:
                x = self._seen(point, to, a, b)
                across = float(self.between(np.array([point]), np.array([to]))[0])
                here = (self._component[a] == self._component[to]) & (self._component[b] == self._component[to])
                rows.append(np.where(here & (across > 0.0), sound - x * x / max(across, 1e-12), sound))
                continue
            ways = []
            for one, other in ((a, b), (b, a)):
                near, far = np.full_like(one, point), np.full_like(other, to)
                ways.append(self.between(one, near) + self.between(other, far))
            rows.append(np.minimum(sound, np.minimum(*ways)))
        found: Floats = np.maximum(np.array(rows).reshape(len(rows), len(sound)), 0.0)
        return found

    def _seen(self, c: int, d: int, a: Places, b: Places) -> Floats:
        """V between each pair for a unit current from ``c`` to ``d``; of no meaning in another component."""
        inverse = self._inverse
        found: Floats = inverse[a, c] - inverse[a, d] - inverse[b, c] + inverse[b, d]
        return found
