"""Everything that halves can be, together: small islands of halves that share candidates, enumerated exactly.

A state of an island gives each of its halves a *group*: rows (a candidate and a map of leads onto ends) that are alike
in every lead that a reading has touched. Readings reweight states; a reading between two islands merges them, unless
one end of it is certain. Nothing is sampled. What is dropped for being improbable is counted, island by island.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from ...lang.search.disjoint_set import DisjointSet
from .estimates import estimate
from .plugs import Island, Plug, tallied

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .prior import Prior

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

KEPT_PAIR: Final = 1e-5
"""A half on a candidate with less than this, by first estimate, is left out and counted."""

KEPT_STATE: Final = 1e-7
"""A state with less than this of the most probable one is dropped and counted."""

MOST_STATES: Final = 20_000
"""States of an island; the least are dropped and counted."""

MOST_PAIRS: Final = 50 * MOST_STATES
"""Pairs of states that a merging of two islands looks at; the least are dropped and counted."""

CONFLICT: Final = 1e-4
"""Two halves that want one candidate with a higher probability than this are judged together."""

WORTH_SPLITTING: Final = 50
"""States from which it is asked whether an island falls into parts."""

TIED: Final = 1e-3
"""bit that two halves of different islands may tell of each other; it is forgotten."""

ALL_TIED: Final = 0.02
"""bit that the parts of a split island may tell of each other altogether."""

CERTAIN: Final = 0.98
"""A lead that is on one net with this probability: a reading on it needs no merging of islands."""


class Together:
    """All islands, and what readings do to them.

    ``plugs`` by number; a half's number is its place among the prior's, knobs follow. ``island_of`` finds the island.
    """

    def __init__(self, prior: Prior, evidence: Floats | None = None) -> None:
        """``evidence``: what readings say of each half on each candidate by first estimate, as weights."""
        self.prior = prior
        weights = prior.weights if evidence is None else prior.weights * evidence
        self.first, self.wants = estimate(weights)
        self.plugs: list[Plug] = []
        islands = []
        for place in range(len(prior.halves)):
            plug, island = self._alone(place)
            self.plugs.append(plug)
            islands.append(island)
        self.island_of: list[Island] = islands
        self.exclusive = len(islands)
        self._rows: dict[int, Floats] = {}
        self._settle_conflicts()

    def _alone(self, place: int) -> tuple[Plug, Island]:
        """A half by itself, on every candidate that the first estimate leaves it."""
        import numpy as np

        prior, leads = self.prior, len(self.prior.halves[place].wired)
        names, nets, ends, shares = [], [], [], []
        dropped = float(self.first[place][self.first[place] < KEPT_PAIR].sum())
        kept = np.flatnonzero((self.first[place] >= KEPT_PAIR) & (prior.weights[place] > 0.0))
        if not len(kept):
            kept = np.array([prior.nothing])
        whole = float(prior.weights[place, kept].sum())
        for candidate in map(int, kept):
            weight = float(prior.weights[place, candidate]) / whole
            if candidate == prior.nothing:
                names.append(candidate)
                nets.append([prior.nowhere] * leads)
                ends.append([-1] * leads)
                shares.append(weight)
                continue
            found = prior.maps_of(place, candidate)
            dropped += float(self.first[place, candidate]) * found.dropped
            classes = prior.classes[candidate]
            for row, share in zip(found.rows, found.shares, strict=True):
                names.append(candidate)
                nets.append([prior.nowhere if end < 0 else classes[end].net for end in row])
                ends.append(list(row))
                shares.append(weight * share)
        plug = Plug(
            np.array(names, dtype=np.int64),
            np.array(nets, dtype=np.int64).reshape(len(names), leads),
            np.array(ends, dtype=np.int64).reshape(len(names), leads),
            np.array(shares),
            dropped,
        )
        return plug, Island([place], np.arange(plug.count)[:, None], plug.mass / plug.mass.sum(), dropped)

    def _settle_conflicts(self) -> None:
        """No two halves are one candidate: those that may be are judged together, the others by first estimate."""
        import numpy as np

        one_of = self.first[:, : self.prior.nothing]
        wanted = one_of @ one_of.T
        np.fill_diagonal(wanted, 0.0)
        pairs = sorted(
            ((-float(wanted[a, b]), int(a), int(b)) for a, b in np.argwhere(np.triu(wanted) > CONFLICT)),
        )
        for share, a, b in pairs:
            if self.island_of[a] is not self.island_of[b] and not self.merge(a, b, refuse=True):
                for island in (self.island_of[a], self.island_of[b]):
                    island.dropped += -share
        for island in self.islands():
            others = [p for p in range(self.exclusive) if p not in island.plugs]
            free = 1.0 / (1.0 + self.wants[others].sum(axis=0))
            free[self.prior.nothing] = 1.0
            for plug in island.plugs:
                island.weights = island.weights * free[self.plugs[plug].candidate_of[island.column(plug)]]
            self.settle(island)
            self.split(island)

    # --- asking
    def islands(self) -> list[Island]:
        found: dict[int, Island] = {id(island): island for island in self.island_of}
        return list(found.values())

    def groups(self, plug: int) -> Floats:
        """The probability of each group of a half."""

        island = self.island_of[plug]
        return tallied(island.column(plug), island.weights, self.plugs[plug].count)

    def rows(self, plug: int) -> Floats:
        """The probability of each row of a half."""
        import numpy as np

        if plug not in self._rows:
            found, groups = self.plugs[plug], self.groups(plug)
            with np.errstate(divide="ignore", invalid="ignore"):
                within = np.where(found.mass[found.group] > 0.0, found.shares / found.mass[found.group], 0.0)
            self._rows[plug] = groups[found.group] * within
        return self._rows[plug]

    def joint(self, one: int, two: int) -> Floats:
        """The probability of each two groups of two halves of one island."""

        island, counts = self.island_of[one], (self.plugs[one].count, self.plugs[two].count)
        both = island.column(one) * counts[1] + island.column(two)
        return tallied(both, island.weights, counts[0] * counts[1]).reshape(counts)

    def candidates(self, plug: int) -> Floats:

        return tallied(self.plugs[plug].candidates, self.rows(plug), self.prior.nothing + 1)

    def nets(self, plug: int, lead: int) -> Floats:
        """The probability of each net for a lead, the last for a lead that is nowhere on the diagram."""

        return tallied(self.plugs[plug].nets[:, lead], self.rows(plug), self.prior.nowhere + 1)

    # --- changing
    def reweigh(self, plug: int, by_group: Floats) -> float:
        """Multiplies the states of a half's island; gives how probable that was."""
        island = self.island_of[plug]
        island.weights = island.weights * by_group[island.column(plug)]
        return self.settle(island)

    def touch(self, plug: int, lead: int) -> None:
        """Tells states apart by the net of a lead."""
        import numpy as np

        split = self.plugs[plug].touch(lead)
        if split is None:
            return
        old_of, share, order = split
        island = self.island_of[plug]
        place = island.plugs.index(plug)
        counts = np.bincount(old_of, minlength=int(island.states[:, place].max()) + 1)
        starts = np.concatenate(([0], np.cumsum(counts)))
        old = island.states[:, place]
        repeats = counts[old]
        states = np.repeat(island.states, repeats, axis=0)
        weights = np.repeat(island.weights, repeats)
        offset = np.arange(len(states)) - np.repeat(np.cumsum(repeats) - repeats, repeats)
        new = order[np.repeat(starts[old], repeats) + offset]
        states[:, place] = new
        island.states, island.weights = states, weights * share[new]
        self.settle(island)

    def merge(self, a: int, b: int, *, refuse: bool = False) -> bool:
        """Judges two islands together. ``refuse``: not where that has more states than an island may have."""
        import numpy as np

        one, two = self.island_of[a], self.island_of[b]
        if one is two:
            return True
        first, rest = (np.argsort(-each.weights, kind="stable") for each in (one, two))
        top = float(one.weights.max() * two.weights.max())
        least = KEPT_STATE * top / one.weights[first]
        enough = np.searchsorted(-two.weights[rest], -least, side="right")
        enough = enough[np.cumsum(enough) <= MOST_PAIRS + enough[0]]
        left = np.repeat(first[: len(enough)], enough)
        right = rest[np.arange(len(left)) - np.repeat(np.cumsum(enough) - enough, enough)]
        weights = one.weights[left] * two.weights[right]
        before = float(weights.sum())
        fine = np.ones(len(left), dtype=bool)
        for p in one.plugs:
            for q in two.plugs:
                if p < self.exclusive and q < self.exclusive:
                    mine = self.plugs[p].candidate_of[one.column(p)][left]
                    other = self.plugs[q].candidate_of[two.column(q)][right]
                    fine &= (mine != other) | (mine == self.prior.nothing)
        if refuse and int((weights[fine] > KEPT_STATE * top).sum()) > MOST_STATES:
            return False
        states = np.concatenate((one.states[left[fine]], two.states[right[fine]]), axis=1)
        if not len(states):  # the two exclude each other in every way that was kept: left as they are, and counted
            one.dropped, two.dropped = one.dropped + 1.0, two.dropped + 1.0
            return False
        dropped = one.dropped + two.dropped + max(0.0, 1.0 - before)
        merged = Island([*one.plugs, *two.plugs], states, weights[fine], dropped)
        for plug in merged.plugs:
            self.island_of[plug] = merged
        self.settle(merged)
        return True

    def settle(self, island: Island) -> float:
        """Makes weights sum to 1 and drops what is improbable; gives what they summed to."""
        import numpy as np

        for plug in island.plugs:
            self._rows.pop(plug, None)
        whole = float(island.weights.sum())
        if not whole > 0.0 or not math.isfinite(whole):
            island.weights = np.full(len(island.weights), 1.0 / len(island.weights))
            island.dropped += 1.0
            return 0.0
        weights = island.weights / whole
        kept = weights >= KEPT_STATE * weights.max()
        if int(kept.sum()) > MOST_STATES:
            best = np.argsort(-weights, kind="stable")[:MOST_STATES]
            kept = np.zeros(len(weights), dtype=bool)
            kept[best] = True
        lost = float(weights[~kept].sum())
        island.dropped += lost
        island.states, island.weights = island.states[kept], weights[kept] / (1.0 - lost)
        for place, plug in enumerate(island.plugs):
            used = np.unique(island.states[:, place])
            if len(used) < self.plugs[plug].count:
                number = self.plugs[plug].only(used)
                island.states[:, place] = number[island.states[:, place]]
        return whole

    def split(self, island: Island) -> None:
        """Parts an island whose halves have come to tell nothing of each other, within ``ALL_TIED`` bit altogether."""
        if len(island.plugs) < 2 or len(island.weights) < WORTH_SPLITTING:
            return
        merged = DisjointSet(island.plugs)
        alone = {plug: self.groups(plug) for plug in island.plugs}
        for at, p in enumerate(island.plugs):
            for q in island.plugs[at + 1 :]:
                if merged.leader(p) != merged.leader(q) and self._shared(p, q, alone) > TIED:
                    merged.merge(p, q)
        members: dict[int, list[int]] = {}
        for plug in island.plugs:
            members.setdefault(merged.leader(plug), []).append(plug)
        if len(members) < 2:
            return
        new = [self._part(island, plugs) for plugs in members.values()]
        # Each two may tell nothing of each other and all of them together something: asked of the whole, exactly.
        if sum(_entropy(part.weights) for part in new) - _entropy(island.weights) > ALL_TIED:
            return
        for part in new:
            for plug in part.plugs:
                self.island_of[plug] = part

    def _shared(self, p: int, q: int, alone: dict[int, Floats]) -> float:
        """Mutual information of two halves of one island, in bit."""
        return _entropy(alone[p]) + _entropy(alone[q]) - _entropy(self.joint(p, q).ravel())

    def _part(self, island: Island, plugs: list[int]) -> Island:
        """What an island says of some of its halves."""
        import numpy as np

        columns = [island.plugs.index(plug) for plug in plugs]
        states, number = np.unique(island.states[:, columns], axis=0, return_inverse=True)
        return Island(plugs, states, tallied(number.reshape(-1), island.weights), island.dropped)

    def add(self, plug: Plug) -> int:
        """A variable that is no half, such as a knob, in a separate island; gives its number."""
        import numpy as np

        self.plugs.append(plug)
        self.island_of.append(
            Island([len(self.plugs) - 1], np.arange(plug.count)[:, None], plug.mass / plug.mass.sum())
        )
        return len(self.plugs) - 1


def _entropy(shares: Floats) -> float:
    """Entropy in bit."""
    import numpy as np

    some = shares[shares > 0.0]
    return float(-(some * np.log2(some)).sum())


def spread(shares: Iterable[float]) -> float:
    """Entropy in bit."""
    return -sum(share * math.log2(share) for share in shares if share > 0.0)
