"""Where a sheet that is too full is parted: the fewest wires between two halves of nearly one size."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from heapq import heappop, heappush
from typing import Final

from .assignment import Link

Things = frozenset[str]
_LEAST: Final = 0.2
"""The smaller half of a parted sheet has at least this share of its things (ours)."""


class Joins:
    """How many wires there are between things."""

    def __init__(self, links: Iterable[Link]) -> None:
        self._of: dict[str, Counter[str]] = {}
        for link in links:
            if link.upper is not None and link.lower is not None and link.upper != link.lower:
                self._of.setdefault(link.upper, Counter())[link.lower] += 1
                self._of.setdefault(link.lower, Counter())[link.upper] += 1

    def of(self, thing: str) -> Mapping[str, int]:
        """What else wires from a thing go to, and how many."""
        return self._of.get(thing, {})

    def between(self, sheets: Sequence[Things]) -> Counter[frozenset[int]]:
        """How many wires there are between each two of some sheets, by their numbers."""
        on = {thing: number for number, things in enumerate(sheets) for thing in things}
        found: Counter[frozenset[int]] = Counter()
        for thing, number in on.items():
            for other, wires in self.of(thing).items():
                if on.get(other, number) > number:
                    found[frozenset((number, on[other]))] += wires
        return found

    def in_reach(self, things: Things) -> list[str]:
        """Things in an order in which each is the one with the most wires to those before it.

        What has the fewest wires begins, and begins again wherever nothing is left that a wire reaches.
        """
        left = set(things)
        starts = sorted(things, key=lambda thing: (len(self.of(thing)), thing))
        ordered: list[str] = []
        for start in starts:
            waiting = [(0, start)]
            wires: Counter[str] = Counter()
            while waiting:
                _, thing = heappop(waiting)
                if thing not in left:
                    continue
                left.remove(thing)
                ordered.append(thing)
                for other, count in self.of(thing).items():
                    if other in left:
                        wires[other] += count
                        heappush(waiting, (-wires[other], other))
        return ordered

    def halves(self, orders: Iterable[Sequence[str]]) -> tuple[Things, Things]:
        """The first and the last of the things in one of some orders, with the fewest wires between."""
        best: tuple[float, Things, Things] | None = None
        for ordered in orders:
            least = max(1, int(len(ordered) * _LEAST))
            first: set[str] = set()
            things = frozenset(ordered)
            cut = 0
            for count, thing in enumerate(ordered[:-least], 1):
                for other, wires in self.of(thing).items():
                    if other in things:
                        cut += -wires if other in first else wires
                first.add(thing)
                cost = cut + abs(count / len(ordered) - 0.5)
                if count >= least and (best is None or cost < best[0]):
                    best = cost, frozenset(first), things - first
        if best is None:
            raise ValueError("fewer than two things have no halves")
        return best[1], best[2]
