"""How the leads of a half can lie on the ends of a candidate: the sum over all one-to-one maps, and those that count.

The sum over maps is a permanent with two extra possibilities, a lead that nobody drew and an end without its lead. It
is worked out over subsets of ends (Ryser's problem by dynamic programming, from memory); the best map alone would leave
out several per cent and be wrongly sure. Maps are distinguished only by the class of ends that a lead is on: ends of
one net and one colour are one class.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from itertools import permutations
from operator import mul
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour
from ..tables.survey import survey_figures
from .colours import anywhere, colour_share

if TYPE_CHECKING:
    from ...lang.survey.record import Lead, SeenColour

SUBSET_STATES: Final = 20_000
"""Subsets of ends that a sum over maps may have; beyond, the least are dropped and counted."""

FEW: Final = 64
"""This many subsets are all kept."""

SCANT: Final = 1e-7
"""Subsets less probable than this, beside the most probable of as many leads, are dropped and counted."""

LARGEST: Final = 30_000_000
"""Possibilities at once times leads times the square of the classes of ends, at most (ours): 20,000 at 11 leads."""

MAPS: Final = 3_000
"""Maps of one half on one candidate that are distinguished; the rest is counted as dropped."""

TOGETHER: Final = 4
"""Wires in one way whose order is tried in every way; more count by their sorted colours."""

FAINT: Final = 1e-5
"""Maps less probable than this, beside the best, are left out and counted."""


@dataclass(frozen=True, slots=True)
class EndClass:
    """Ends alike in net and colour: ``count`` of them; ``nodes`` in the order of the diagram."""

    net: int
    colours: tuple[Colour | None, ...]
    nodes: tuple[str, ...]

    @property
    def count(self) -> int:
        return len(self.nodes)


@dataclass(frozen=True, slots=True)
class Maps:
    """Maps of leads onto classes of ends (an index, -1 for a lead that nobody drew), with shares that sum to at most 1.

    ``dropped``: the share of all that is not among them.
    """

    rows: tuple[tuple[int, ...], ...]
    shares: tuple[float, ...]
    dropped: float


@cache
def way_share(seen: tuple[SeenColour, ...], drawn: tuple[Colour | None, ...]) -> float:
    """How probable it is to see these wires in one way where the diagram draws those."""
    if len(seen) == len(drawn) == 1:
        return colour_share(seen[0], drawn[0])
    known = survey_figures()
    few, many = len(seen), len(drawn)
    if max(few, many) > TOGETHER:
        pairs = zip(sorted(seen, key=str), sorted(drawn, key=str), strict=False)
        share = math.prod(colour_share(a, b) for a, b in pairs)
    elif few <= many:
        orders = list(permutations(range(many), few))
        share = sum(math.prod(colour_share(seen[i], drawn[j]) for i, j in enumerate(o)) for o in orders) / len(orders)
    else:
        orders = list(permutations(range(few), many))
        share = sum(math.prod(colour_share(seen[i], drawn[j]) for j, i in enumerate(o)) for o in orders) / len(orders)
        share *= math.prod(anywhere(each) for each in seen) ** ((few - many) / few)
    return share * known.lead_lost ** max(0, many - few) * known.lead_extra ** max(0, few - many)


def stray_share(lead: Lead) -> float:
    """How probable it is to see a lead that nobody drew, colour included."""
    return survey_figures().lead_extra * math.prod(map(anywhere, lead.colours))


def unknown_share(leads: Sequence[Lead]) -> float:
    """How probable the colours of a half are that is on no diagram."""
    return math.prod(anywhere(colour) for lead in leads for colour in lead.colours)


def shares_on(leads: Sequence[Lead], classes: Sequence[EndClass]) -> list[list[float]]:
    """The share of each lead on each class of ends."""
    return [[way_share(lead.colours, each.colours) for each in classes] for lead in leads]


def could_fit(leads: int, ends: int) -> bool:
    """Whether a half of this many leads can be a candidate of this many ends: a third may be lost or extra (ours)."""
    return abs(leads - ends) <= max(1, max(leads, ends) // 3)


def total(
    leads: Sequence[Lead], classes: Sequence[EndClass], shares: Sequence[Sequence[float]], least: float = 0.0
) -> tuple[float, float]:
    """The sum over all maps, divided by the number of orders, and the share of it that was dropped. A sum that cannot
    reach ``least`` is given up: 0, all dropped.
    """
    counts, shares = _by_colour(classes, shares)
    orders = math.factorial(max(len(leads), sum(counts), 1))
    order = _surest_first(shares)
    # A lead adds at most its shares on all ends together, whatever is left of them.
    most = [stray_share(leads[place]) + sum(map(mul, shares[place], counts)) for place in order]
    beyond = [math.prod(most[step + 1 :]) for step in range(len(order))]
    lost = survey_figures().lead_lost
    sums: dict[tuple[int, ...], float] = {counts: 1.0}
    dropped = 0.0
    for step, place in enumerate(order):
        row, stray = shares[place], stray_share(leads[place])
        following: dict[tuple[int, ...], float] = {}
        for left, share in sums.items():
            following[left] = following.get(left, 0.0) + share * stray
            for number, free in enumerate(left):
                if free:
                    rest = (*left[:number], free - 1, *left[number + 1 :])
                    following[rest] = following.get(rest, 0.0) + share * free * row[number]
        if len(following) > FEW:
            whole = math.fsum(following.values())
            scant = SCANT * max(following.values())
            kept = sorted(
                (item for item in following.items() if item[1] >= scant), key=lambda item: (-item[1], item[0])
            )[: _most(len(counts), len(leads), SUBSET_STATES)]
            following = dict(kept)
            dropped += 1.0 - math.fsum(following.values()) / whole if whole else 0.0
        sums = following
        if math.fsum(sums.values()) * beyond[step] < least * orders:
            return 0.0, 1.0
    result = math.fsum(share * lost ** sum(left) for left, share in sums.items())
    return result / orders, min(dropped, 1.0)


def maps(leads: Sequence[Lead], classes: Sequence[EndClass], shares: Sequence[Sequence[float]], whole: float) -> Maps:
    """The maps that count, the most probable first; ``whole`` is what ``total`` gave."""
    lost = survey_figures().lead_lost
    ends = sum(each.count for each in classes)
    scale = whole * math.factorial(max(len(leads), ends, 1))
    if scale <= 0.0:
        return Maps((), (), 1.0)
    order = _surest_first(shares)
    strays = [stray_share(lead) for lead in leads]
    best_first = [sorted(((share, n) for n, share in enumerate(row)), reverse=True) for row in shares]
    # A part map is dropped where it is faint beside the best of its depth; what that loses, the sum over all tells.
    partial: list[tuple[tuple[int, ...], tuple[int, ...], float]] = [((), tuple(each.count for each in classes), 1.0)]
    for step, place in enumerate(order):
        spare = len(order) - step - 1
        beyond = [(strays[later], best_first[later]) for later in order[step + 1 :]]
        fits, stray = shares[place], strays[place]
        following: list[tuple[float, int, int, float]] = []  # rated how; which part map; on which class; share
        for i, (_, left, share) in enumerate(partial):
            whole_left = sum(left)
            outlook, without = _outlook(left, beyond)
            following.append((share * stray * outlook * lost ** max(0, whole_left - spare), i, -1, share * stray))
            beside = lost ** max(0, whole_left - 1 - spare)
            for number, free in enumerate(left):
                if free and fits[number] > 0.0:
                    here = share * free * fits[number]
                    most = outlook * without.get(number, 1.0) if free == 1 else outlook
                    following.append((here * most * beside, i, number, here))
        least = FAINT * max(each[0] for each in following)
        rated = sorted(
            (
                (-value, (*partial[i][0], number), _without(partial[i][1], number), share)
                for value, i, number, share in following
                if value >= least
            ),
        )
        partial = [(chosen, left, share) for _, chosen, left, share in rated][
            : _most(len(classes), len(leads), MAPS * 2)
        ]
    found: list[tuple[tuple[int, ...], float]] = []
    for chosen, left, share in partial:
        row = [0] * len(order)
        for step, place in enumerate(order):
            row[place] = chosen[step]
        found.append((tuple(row), share * lost ** sum(left) / scale))
    found.sort(key=lambda each: (-each[1], each[0]))
    del found[MAPS:]
    kept = math.fsum(share for _, share in found)
    return Maps(tuple(row for row, _ in found), tuple(share for _, share in found), max(0.0, 1.0 - kept))


def _by_colour(
    classes: Sequence[EndClass], shares: Sequence[Sequence[float]]
) -> tuple[tuple[int, ...], list[list[float]]]:
    """How many ends of each colour there are, and each lead's share on one: for the sum, nets make no difference."""
    first: dict[tuple[Colour | None, ...], int] = {}
    counts: list[int] = []
    for number, each in enumerate(classes):
        if each.colours not in first:
            first[each.colours] = number
            counts.append(0)
        counts[list(first).index(each.colours)] += each.count
    return tuple(counts), [[row[number] for number in first.values()] for row in shares]


def _most(classes: int, leads: int, most: int) -> int:
    """How many possibilities are followed at once: fewer where each is long, so that no plug takes minutes."""
    return max(50, min(most, LARGEST // max(1, classes * classes * leads)))


def _outlook(
    left: tuple[int, ...], beyond: list[tuple[float, list[tuple[float, int]]]]
) -> tuple[float, dict[int, float]]:
    """The most that the leads still to come can add: each on the best end that is free, or on none that is drawn; and
    by which factor that falls once the last end of a class is taken.
    """
    most = 1.0
    without: dict[int, float] = {}
    for stray, best in beyond:
        free = ((share, number) for share, number in best if left[number])
        first, class_ = next(free, (stray, -1))
        if first <= stray:
            most *= stray
            continue
        most *= first
        second = max(next(free, (stray, -1))[0], stray)
        without[class_] = without.get(class_, 1.0) * second / first
    return most, without


def _without(left: tuple[int, ...], number: int) -> tuple[int, ...]:
    """What is left once an end of a class is taken; all where the lead is on none that is drawn."""
    return left if number < 0 else (*left[:number], left[number] - 1, *left[number + 1 :])


def _surest_first(shares: Sequence[Sequence[float]]) -> list[int]:
    """Leads in an order that keeps few possibilities open: those that fit few classes first."""

    def openness(row: Sequence[float]) -> float:
        whole = sum(row)
        return -max(row) / whole if whole else 0.0

    return sorted(range(len(shares)), key=lambda place: (openness(shares[place]), place))
