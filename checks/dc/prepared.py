"""The equations of a situation as they are solved, and the latest of them kept: one is asked again and again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from .laws import Laws
from .newton import Conductances, Inner, solve

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MOST_NUMBERS: Final = 500_000
"""Entries of matrices that are kept of the latest situations (ours): some 50 of 100 nodes, three of 400."""


@dataclass(frozen=True)
class Prepared:
    """The plain resistances and the laws of a situation."""

    linear: Conductances | Inner
    laws: Laws

    def solve(self, laws: Laws, first: Floats) -> Floats:
        """V of the kept nodes with these laws, the same but for the volts at which machines are held."""
        if isinstance(self.linear, Inner):
            return self.linear.solve(laws.bank, first)
        return solve(self.linear, laws.bank, laws.tops, laws.bottoms, first)


class Latest:
    """What was prepared last of equations between some ``nodes``, by all that it follows from.

    Machines are tuned by solving again, and of a situation it is asked later what flows in moments of a duty.
    """

    def __init__(self, nodes: int) -> None:
        self._most = max(1, MOST_NUMBERS // max(1, nodes**2))
        self._known: dict[Hashable, Prepared] = {}

    def of(self, key: Hashable, prepare: Callable[[], Prepared]) -> Prepared:
        """What is prepared of a situation: that which is there, else a new one."""
        found = self._known.pop(key, None) or prepare()
        if len(self._known) == self._most:
            del self._known[next(iter(self._known))]
        self._known[key] = found
        return found
