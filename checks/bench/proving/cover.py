"""A few rows that together show all that has to be shown: greedy cover, and a bound below which no choice can be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ....lang.records import dataclass

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Cover:
    """``chosen`` rows in their order, ``missed`` elements that no row shows or that the limits left out, and the least
    number of rows that anybody needs to show what these show (``bound``).
    """

    chosen: tuple[int, ...]
    missed: tuple[int, ...]
    bound: int


def greedy_cover(
    shows: Flags, groups: Sequence[int], *, most: int, most_groups: int, burden: Sequence[float] = ()
) -> Cover:
    """Rows that show all elements that can be shown. ``shows``: (rows, elements); ``groups``: each row's setting.

    Each time the row that shows most of what is left; of those one in a setting that is in use, of those the one of
    least ``burden`` (from 0 to below 1), of those the first: at most H(n) times as many as needed, n the most that one
    row shows (Johnson 1974, from memory). ``most`` rows and ``most_groups`` settings are the limits.
    """
    import numpy as np

    left = shows.any(axis=0)
    reachable = left.copy()
    chosen: list[int] = []
    used: set[int] = set()
    group = np.array(groups, dtype=np.intp)
    weight = np.array(burden or [0.0] * len(groups))
    while left.any() and len(chosen) < most:
        gain = (shows & left).sum(axis=1).astype(float)
        known = np.isin(group, list(used))
        if len(used) >= most_groups:
            gain[~known] = 0.0
        best = int(np.argmax(np.where(gain > 0.0, gain + 0.5 * known - 0.5 * weight, 0.0)))
        if gain[best] == 0.0:
            break
        chosen.append(best)
        used.add(int(group[best]))
        left &= ~shows[best]
    shown: Flags = np.logical_and(reachable, ~left)
    chosen = _needed(shows, chosen, shown)
    missed = tuple(int(i) for i in np.flatnonzero(~reachable | left))
    return Cover(tuple(chosen), missed, lower_bound(shows, shown))


def _needed(shows: Flags, chosen: Sequence[int], wanted: Flags) -> list[int]:
    """Without the rows that later ones made needless."""
    kept = list(chosen)
    for row in chosen:
        others = [other for other in kept if other != row]
        if not (wanted & ~shows[others].any(axis=0)).any():
            kept = others
    return kept


def lower_bound(shows: Flags, wanted: Flags) -> int:
    """At least this many rows are needed: a solution of the dual problem, whose value no cover undercuts.

    Each element gets a price such that no row's elements together cost more than 1; the prices' sum is the bound (weak
    duality of linear programming). The price is one over the most that any row with it shows, then raised as far as it
    goes, the rarest elements first.
    """
    import numpy as np

    table = shows[:, wanted]
    if not table.size or not table.any():
        return 0
    sizes = table.sum(axis=1)
    price = np.array([1.0 / sizes[table[:, i]].max() for i in range(table.shape[1])])
    spent = table @ price
    for element in np.argsort(table.sum(axis=0), kind="stable"):
        slack = float((1.0 - spent[table[:, element]]).min())
        if slack > 0.0:
            price[element] += slack
            spent[table[:, element]] += slack
    return math.ceil(float(price.sum()) - 1e-9)
