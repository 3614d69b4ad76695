"""What each reading of a meter would leave of the suspects, in rows no finer than it tells on a loaded motorcycle."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..tables.meter import tolerance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


DIGIT = 0.01
"""V: the last digit of a common meter in its range of 20 V, 2000 counts. Bounds that are no further apart are one."""


@dataclass(frozen=True, slots=True)
class Row:
    """Readings from ``over`` to ``under`` V, and the places in the list of the suspects that they leave."""

    over: float
    under: float
    left: frozenset[int]


def rows_of(least: Floats, most: Floats, nominal: float) -> list[Row]:
    """What is left by each reading. Where all suspects fall in groups that a meter tells apart for certain, those; else
    every stretch of volts with what may show it.
    """
    groups = _apart(least.tolist(), most.tolist(), nominal)
    if len(groups) > 1:
        tops = [max(float(most[i]) for i in group) for group in groups]
        cuts = [(top + float(least[after].min())) / 2.0 for top, after in zip(tops, groups[1:], strict=False)]
        edges = [-math.inf, *cuts, math.inf]
        return [Row(*ends, frozenset(group)) for ends, group in zip(pairwise(edges), groups, strict=True)]
    spans = [
        (low - tolerance(low, nominal), high + tolerance(high, nominal))
        for low, high in zip(least.tolist(), most.tolist(), strict=True)
    ]
    bounds = _bounds({end for span in spans for end in span})
    spans = [(bounds[low], bounds[high]) for low, high in spans]
    edges = sorted(set(bounds.values()))
    rows: list[Row] = []
    for over, under in pairwise(edges):
        left = frozenset(i for i, (low, high) in enumerate(spans) if low <= over and under <= high)
        if rows and rows[-1].left == left:
            rows[-1] = replace(rows[-1], under=under)
        else:
            rows.append(Row(over, under, left))
    rows = _wide_enough(rows, nominal)
    rows[0] = replace(rows[0], over=-math.inf)
    rows[-1] = replace(rows[-1], under=math.inf)
    return rows


def _bounds(ends: Iterable[float]) -> dict[float, float]:
    """For each end of a stretch where it lies on a meter: with the lowest that is less than a digit below it. A stretch
    between two such ends would be added to one beside it, with suspects that show nothing there.
    """
    found: dict[float, float] = {}
    last = -math.inf
    for end in sorted(ends):
        if end - last >= DIGIT:
            last = end
        found[end] = last
    return found


def _wide_enough(rows: Sequence[Row], nominal: float) -> list[Row]:
    """The rows, each at least as wide as a meter on a loaded motorcycle can tell there; what is narrower is added to
    the neighbour of which it changes least, and leaves what either leaves.
    """
    found = list(rows)

    def lack(place: int) -> float:
        row = found[place]
        return tolerance(max(abs(row.over), abs(row.under)), nominal) - (row.under - row.over)

    def added(place: int, other: int) -> int:
        return len(found[place].left ^ found[other].left)

    while len(found) > 1:
        thin = max(range(len(found)), key=lambda place: (lack(place), -place))
        if lack(thin) <= 0.0:
            break
        beside = [other for other in (thin - 1, thin + 1) if 0 <= other < len(found)]
        first, second = sorted((thin, min(beside, key=lambda other: (added(thin, other), other))))
        one, two = found[first], found[second]
        found[first : second + 1] = [Row(one.over, two.under, one.left | two.left)]
    merged: list[Row] = []
    for row in found:
        if merged and merged[-1].left == row.left:
            merged[-1] = replace(merged[-1], under=row.under)
        else:
            merged.append(row)
    return merged


def bits_of(rows: Sequence[Row], least: Floats, most: Floats, weights: Floats) -> float:
    """How much of what is suspected a reading takes away on average, in bits."""
    import numpy as np

    remaining = np.array([max(float(sum(weights[i] for i in sorted(row.left))), 1e-12) for row in rows])
    bits = -np.log2(np.minimum(remaining, 1.0))
    over, under = (np.array([getattr(row, name) for row in rows])[:, None] for name in ("over", "under"))
    width = np.maximum(most - least, 1e-9)
    middle = (most + least) / 2.0
    low, high = middle - width / 2.0, middle + width / 2.0
    share = np.clip(np.minimum(under, high) - np.maximum(over, low), 0.0, None) / width  # (rows, suspects)
    return float((bits[:, None] * share * weights[None, :]).sum())


def _apart(least: Sequence[float], most: Sequence[float], nominal: float) -> list[list[int]]:
    """Readings in groups that a meter tells apart for certain, in rising order: by their places in the list."""
    groups: list[list[int]] = []
    top = 0.0
    for i in sorted(range(len(least)), key=lambda i: (least[i], most[i], i)):
        if groups and least[i] - tolerance(least[i], nominal) < top + tolerance(top, nominal):
            groups[-1].append(i)
            top = max(top, most[i])
        else:
            groups.append([i])
            top = most[i]
    return groups
