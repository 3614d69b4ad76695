"""First estimates of who is what, before anything is enumerated: which pairs count at all, and who is in whose way.

Two views are taken together, since each alone is blind somewhere. Belief propagation of the assignment problem (Huang
and Jebara 2009, from memory) sums over many alternatives, but takes no two of them for one: that two halves are
exchanged it does not see. The best assignment with one pair fixed, by shortest ways of exchanges from the best of all
(the Hungarian method, Kuhn 1955, then Floyd and Warshall 1962, from memory), sees every exchange and sums over none.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

ROUNDS: Final = 60
"""Rounds of belief propagation, which converges in some twenty."""

FAR: Final = 1e6
"""A cost, in units of the logarithm, that nothing real reaches: a weight of zero."""


def estimate(weights: Floats) -> tuple[Floats, Floats]:
    """For each half and each candidate how probable they are, at least about; and how much more a half wants a
    candidate than all its others, if it could have them. The last column may be had by all halves.
    """
    import numpy as np

    shares, wants = propagated(weights)
    return np.maximum(shares, best_with(weights)), wants


def propagated(weights: Floats) -> tuple[Floats, Floats]:
    """The marginals and the wants by belief propagation."""
    import numpy as np

    halves, columns = weights.shape
    scaled = weights / np.maximum(weights.max(axis=1, keepdims=True), 1e-300)
    free: Floats = np.ones((halves, columns))
    wants: Floats = np.zeros((halves, columns))
    for _ in range(ROUNDS):
        weighed = scaled * free
        rest = weighed.sum(axis=1, keepdims=True) - weighed
        wants = scaled / np.maximum(rest, 1e-12)
        wanted = wants.sum(axis=0, keepdims=True) - wants
        new = 1.0 / (1.0 + wanted)
        new[:, -1] = 1.0
        free = 0.5 * free + 0.5 * new
    result: Floats = scaled * free
    result /= np.maximum(result.sum(axis=1, keepdims=True), 1e-300)
    return result, wants


def best_with(weights: Floats) -> Floats:
    """The weight of the best assignment in which a half is a candidate, beside the best of all: 1 on that one."""
    import numpy as np

    halves, columns = weights.shape
    if not halves:
        return np.zeros((0, columns))
    with np.errstate(divide="ignore"):
        costs = np.minimum(-np.log(weights), FAR)
    chosen = best_assignment(costs)
    own = costs[np.arange(halves), chosen]
    owner = np.full(columns, -1)
    for half, column in enumerate(chosen):
        if column != columns - 1:
            owner[column] = half
    held = owner >= 0
    # From half to half: the first takes what the second has. Out of a half: it takes what nobody has.
    away = costs - own[:, None]
    step: Floats = np.full((halves, halves), FAR)
    step[:, owner[held]] = away[:, held]
    np.fill_diagonal(step, 0.0)
    out = away[:, ~held].min(axis=1)
    for middle in range(halves):
        step = np.minimum(step, step[:, middle : middle + 1] + step[middle : middle + 1, :])
    leave = (step + out[None, :]).min(axis=1)
    # A half that takes another one's candidate sets that one off; its way may end outside, or where the first was.
    extra: Floats = away.copy()
    for column in np.flatnonzero(held):
        displaced = int(owner[column])
        others = np.minimum(step[displaced, :], leave[displaced])
        extra[:, column] += np.where(np.arange(halves) == displaced, 0.0, others)
    result: Floats = np.exp(-np.maximum(extra, 0.0))
    return result


def best_assignment(costs: Floats) -> Ints:
    """A column for each row at the least cost, no column twice but the last, which any number of rows may have."""
    import numpy as np

    rows, columns = costs.shape
    own: Floats = np.full((rows, rows), FAR)
    np.fill_diagonal(own, costs[:, -1])
    table = np.concatenate((costs[:, :-1], own), axis=1)
    width = table.shape[1]
    row_price = np.zeros(rows + 1)
    column_price = np.zeros(width + 1)
    taken = np.full(width + 1, rows)  # the row of each column; the last column is where a row comes in
    for row in range(rows):
        taken[width] = row
        column = width
        least = np.full(width, np.inf)
        way = np.full(width, width)
        done = np.zeros(width + 1, dtype=bool)
        while taken[column] != rows:
            done[column] = True
            here = int(taken[column])
            reduced = table[here] - row_price[here] - column_price[:width]
            better = (reduced < least) & ~done[:width]
            least[better] = reduced[better]
            way[better] = column
            following = int(np.where(done[:width], np.inf, least).argmin())
            delta = float(least[following])
            row_price[taken[done]] += delta
            column_price[done] -= delta
            least[~done[:width]] -= delta
            column = following
        while column != width:
            taken[column] = taken[way[column]]
            column = int(way[column])
    result = np.zeros(rows, dtype=np.int64)
    for column in range(width):
        if taken[column] != rows:
            result[taken[column]] = min(column, columns - 1)
    return result
