"""The greatest sum of some tables over the positions of their variables, one variable after the other taken out.

What depends on a variable is added up, its best position is kept for each position of the others, and it is gone
(elimination, as in dynamic programming). Exact, and quick where each table depends on few variables.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


MOST_CELLS = 1 << 20
"""Positions of several controls together that one step may keep (ours); beyond, one is fixed at its best by itself."""


@dataclass(frozen=True, slots=True)
class Factor:
    """A number for every combination of the positions of some variables, one axis each."""

    names: tuple[str, ...]
    values: Floats


def sliced(factor: Factor, fixed: Mapping[str, int]) -> Factor:
    """What is left of a factor where some variables stand in one position."""
    if fixed.keys().isdisjoint(factor.names):
        return factor
    names = tuple(name for name in factor.names if name not in fixed)
    return Factor(names, factor.values[tuple(fixed.get(name, slice(None)) for name in factor.names)])


def maximum(factors: Iterable[Factor]) -> tuple[dict[str, int], float]:
    """The position of every variable at which the factors' sum is greatest; of several the first, which is rest."""
    import numpy as np

    sums = _Sums(factors)
    undo: list[tuple[str, tuple[str, ...], Floats]] = []
    while (name := sums.easiest()) is not None:
        if sums.cells[name] > MOST_CELLS:
            name, place = _best_alone(sums, name)
            undo.append((name, (), np.array(place)))
            for number in sorted(sums.of[name]):
                sums.put(sliced(sums.take(number), {name: place}), number)
            continue
        around = tuple(sorted(sums.beside[name] - {name}))
        axes = (name, *around)
        total = np.zeros([1] * len(axes))
        for number in sorted(sums.of[name]):
            factor = sums.take(number)
            order = sorted(range(len(factor.names)), key=lambda i: axes.index(factor.names[i]))
            view = factor.values.transpose(order)
            shape = [sums.sizes[axis] if axis in factor.names else 1 for axis in axes]
            total = total + view.reshape(shape)
        undo.append((name, around, total.argmax(axis=0)))
        sums.put(Factor(around, total.max(axis=0)))
    chosen: dict[str, int] = {}
    for name, around, places in reversed(undo):
        chosen[name] = int(places[tuple(chosen[other] for other in around)])
    return chosen, sums.constant


class _Sums:
    """Factors that are added up, so that one variable after the other can be taken out: what one leaves behind changes
    only its neighbours.

    ``factors`` by number; ``of`` each variable the numbers of its factors, ``beside`` each every variable of these, and
    ``cells`` the positions of all those together; ``constant`` is what depends on no variable.
    """

    def __init__(self, factors: Iterable[Factor]) -> None:
        self.constant = 0.0
        self.sizes: dict[str, int] = {}
        self.factors: dict[int, Factor] = {}
        self.of: dict[str, set[int]] = {}
        self.beside: dict[str, set[str]] = {}
        self.cells: dict[str, int] = {}
        self._count = 0
        self._changed: set[str] = set()
        self._waiting: list[tuple[int, str]] = []
        for factor in factors:
            self.put(factor)

    def put(self, factor: Factor, number: int | None = None) -> None:
        """Add a factor, as the last one where it has no number yet."""
        if not factor.names:
            self.constant += float(factor.values)
            return
        if number is None:
            number = self._count
            self._count += 1
        self.factors[number] = factor
        self.sizes.update(zip(factor.names, factor.values.shape, strict=True))
        for name in factor.names:
            self.of.setdefault(name, set()).add(number)
        self._changed.update(factor.names)

    def take(self, number: int) -> Factor:
        """Take a factor out."""
        factor = self.factors.pop(number)
        for name in factor.names:
            self.of[name].discard(number)
        self._changed.update(factor.names)
        return factor

    def easiest(self) -> str | None:
        """The variable with the fewest cells, the first by name; ``None`` where none is left."""
        for name in self._changed:
            self.beside[name] = set().union(*(self.factors[number].names for number in self.of[name]))
            self.cells[name] = math.prod(map(self.sizes.__getitem__, self.beside[name]))
            heapq.heappush(self._waiting, (self.cells[name], name))
        self._changed.clear()
        while self._waiting:
            cells, name = heapq.heappop(self._waiting)
            if self.of[name] and cells == self.cells[name]:
                return name
        return None


def _best_alone(sums: _Sums, among: str) -> tuple[str, int]:
    """Of a variable and those beside it the one in most factors, and the position at which each of those could be
    greatest.
    """
    import numpy as np

    name = max(sums.beside[among], key=lambda n: (len(sums.of[n]), n))
    total = np.zeros(sums.sizes[name])
    for number in sorted(sums.of[name]):
        factor = sums.factors[number]
        axis = factor.names.index(name)
        total += factor.values.max(axis=tuple(i for i in range(len(factor.names)) if i != axis))
    return name, int(total.argmax())
