"""How the leads of some halves may lie: one plug, and plugs that must be weighed together."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


class Plug:
    """A half with its rows. ``group`` numbers their groups; ``nets_of`` gives, for a touched lead, a group's net."""

    def __init__(self, candidates: Ints, nets: Ints, ends: Ints, shares: Floats, dropped: float) -> None:
        self.candidates = candidates
        self.nets = nets
        self.ends = ends
        self.shares = shares
        self.dropped = dropped
        self.touched: set[int] = set()
        self.group: Ints = numbered(candidates)
        self._describe()

    def _describe(self) -> None:
        import numpy as np

        self.count = int(self.group.max()) + 1 if len(self.group) else 0
        self.mass: Floats = tallied(self.group, self.shares, self.count)
        first = np.zeros(self.count, dtype=np.int64)
        first[self.group[::-1]] = np.arange(len(self.group))[::-1]
        self.candidate_of: Ints = self.candidates[first]
        self.nets_of: dict[int, Ints] = {lead: self.nets[first, lead] for lead in self.touched}

    def touch(self, lead: int) -> tuple[Ints, Floats, Ints] | None:
        """Tells the rows apart by the net of a lead; ``None`` where they are already.

        Gives the old group of each new one, the share of the old one that it has, and the new groups of each old one by
        their order: the new groups are sorted by the old.
        """
        import numpy as np

        if lead in self.touched:
            return None
        old, old_mass = self.group, self.mass
        span = int(self.nets[:, lead].max()) + 1
        self.group = numbered(old * span + self.nets[:, lead])
        self.touched.add(lead)
        self._describe()
        old_of = np.zeros(self.count, dtype=np.int64)
        old_of[self.group] = old
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(old_mass[old_of] > 0.0, self.mass / old_mass[old_of], 0.0)
        order = np.argsort(old_of, kind="stable")
        return old_of, share, order

    def by_group(self, lead: int, nets: int) -> Floats:
        """The probability of each of the nets 0 to ``nets`` for a lead, group by group: shape (groups, nets + 1)."""
        import numpy as np

        found = np.zeros((self.count, nets + 1))
        np.add.at(found, (self.group, self.nets[:, lead]), self.shares)
        return found / np.maximum(self.mass, 1e-300)[:, None]

    def only(self, groups: Ints) -> Ints:
        """Keeps the rows of these groups; gives the new number of each old group (-1 for one that is gone)."""
        import numpy as np

        number = np.full(self.count, -1, dtype=np.int64)
        number[groups] = np.arange(len(groups))
        kept = number[self.group] >= 0
        self.candidates, self.nets, self.ends = self.candidates[kept], self.nets[kept], self.ends[kept]
        self.shares, self.group = self.shares[kept], number[self.group[kept]]
        self._describe()
        return number


class Island:
    """Halves judged together: ``states`` gives each of ``plugs`` a group, ``weights`` sum to 1."""

    def __init__(self, plugs: list[int], states: Ints, weights: Floats, dropped: float = 0.0) -> None:
        self.plugs = plugs
        self.states = states
        self.weights = weights
        self.dropped = dropped

    def column(self, plug: int) -> Ints:
        return self.states[:, self.plugs.index(plug)]


def tallied(places: Ints, weights: Floats, count: int = 0) -> Floats:
    """The sum of the weights that each place has."""
    import numpy as np

    result: Floats = np.bincount(places, weights, count).astype(np.float64)
    return result


def numbered(keys: Ints) -> Ints:
    """Keys as numbers from 0, in their sorted order."""
    import numpy as np

    _, number = np.unique(keys, return_inverse=True)
    return np.asarray(number, dtype=np.int64).reshape(-1)
