"""The one solver: Newton on a network of laws that always rise, with an exact search along each step.

The currents at the nodes are the slopes of one convex function of their volts (the network's co-content, Millar 1951),
so each Newton step points downhill and the right share of it is where the function stops falling: a rising function of
one number. Nothing has to be guessed and no start is a bad one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from ...lang.quantities.quantity import shown

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    from numpy.typing import NDArray
    from scipy.sparse import csc_array, csr_array

    from .device_models import DeviceBank

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

TOLERANCE = 1e-8
"""Amps by which the currents at a node may miss zero, beside what rounding leaves of the greatest there."""

ROUNDING = 1e-13

LEAST = 1e-15
"""Of what flows at a node, what rounding leaves in any case: where no more is missing anywhere, no step is of use."""

MOST_STEPS = 100
MOST_CUTS = 60


class NotConvergedError(ArithmeticError):
    """No solution was found: at ``node`` (its index) the currents miss zero by most, by ``amps``."""

    def __init__(self, node: int, amps: float) -> None:
        super().__init__(f"no operating point found: currents at node {node} miss zero by {shown(amps)} A")
        self.node = node
        self.amps = amps


class Conductances(Protocol):
    """The plain resistances between the nodes: a symmetric matrix of siemens."""

    own: Floats
    """The sum of conductances at each node, in S: shape (n,)."""
    siemens: float
    """The greatest of them."""

    def times(self, volts: Floats) -> Floats:
        """A out of each node at ``volts`` V: both of shape (n,)."""

    def step(self, tops: Places, bottoms: Places, slopes: Floats, missing: Floats) -> Floats:
        """V by which each node moves so that the ``missing`` A vanish: both of shape (n,).

        Each of m laws between the nodes ``tops`` and ``bottoms`` counts by its slope in S: shape (m,) each.
        """


class Dense:
    """Conductances as a full matrix."""

    def __init__(self, matrix: Floats) -> None:
        self._matrix = matrix
        self._places: tuple[Places, Places, Places] | None = None
        self.own: Floats = matrix.diagonal()
        self.siemens = float(self.own.max(initial=0.0))

    def times(self, volts: Floats) -> Floats:
        """A out of each node at ``volts`` V: both of shape (n,)."""
        found: Floats = self._matrix @ volts
        return found

    def step(self, tops: Places, bottoms: Places, slopes: Floats, missing: Floats) -> Floats:
        """As ``Conductances.step``. Raises ``numpy.linalg.LinAlgError`` where the matrix is singular."""
        import numpy as np

        size = missing.size
        if self._places is None or self._places[0] is not tops or self._places[1] is not bottoms:
            at = (tops * size + tops, bottoms * size + bottoms, tops * size + bottoms, bottoms * size + tops)
            self._places = tops, bottoms, np.concatenate(at)  # of one solution, whose steps all have the same laws
        weights = np.concatenate((slopes, slopes, -slopes, -slopes))
        jacobian = self._matrix + np.bincount(self._places[2], weights, size * size).reshape(size, size)
        return np.asarray(np.linalg.solve(jacobian, missing), dtype=float)


class Order:
    """In which order the nodes of one large network are taken out, so that next to nothing fills up: those with
    hundreds of branches last. Found once, for all its situations.
    """

    def __init__(self) -> None:
        self.nodes: Places | None = None
        self.rank: Places | None = None


class Sparse:
    """Conductances of a large network: only those that are there. Needs ``scipy``, which small ones do without."""

    def __init__(self, rows: Places, columns: Places, siemens: Floats, size: int, order: Order | None = None) -> None:
        from scipy.sparse import csr_array

        self._matrix = csr_array((siemens, (rows, columns)), shape=(size, size))
        self._entries = rows, columns, siemens
        self._order = order or Order()
        self._pattern: _Pattern | None = None
        self.own: Floats = self._matrix.diagonal()
        self.siemens = float(self.own.max(initial=0.0))

    def times(self, volts: Floats) -> Floats:
        """A out of each node at ``volts`` V: both of shape (n,)."""
        found: Floats = self._matrix @ volts
        return found

    def step(self, tops: Places, bottoms: Places, slopes: Floats, missing: Floats) -> Floats:
        """As ``Conductances.step``. Raises ``RuntimeError`` where the matrix is singular."""
        import numpy as np
        from scipy.sparse.linalg import splu

        order = self._order
        if order.nodes is None or order.rank is None:
            factors = splu(self._whole(self._matrix, tops, bottoms, slopes), permc_spec="MMD_AT_PLUS_A")
            order.rank = np.asarray(factors.perm_c, dtype=np.intp)
            order.nodes = np.argsort(order.rank)
            return np.asarray(factors.solve(missing), dtype=float)
        if self._pattern is None or not self._pattern.is_of(tops, bottoms):
            self._pattern = _Pattern(self._entries, order.rank, tops, bottoms)
        found = np.empty(missing.size)
        whole = self._pattern.whole(slopes)
        found[order.nodes] = splu(whole, permc_spec="NATURAL").solve(missing[order.nodes])
        return found

    @staticmethod
    def _whole(plain: csr_array, tops: Places, bottoms: Places, slopes: Floats) -> csc_array:
        """Plain resistances with the slopes of laws."""
        import numpy as np
        from scipy.sparse import csc_array

        rows = np.concatenate((tops, bottoms, tops, bottoms))
        columns = np.concatenate((tops, bottoms, bottoms, tops))
        slopes = np.concatenate((slopes, slopes, -slopes, -slopes))
        return csc_array(plain + csc_array((slopes, (rows, columns)), plain.shape))


class _Pattern:
    """Where a matrix in order has entries: found once for all steps of a solution, which differ in slopes alone."""

    def __init__(self, entries: tuple[Places, Places, Floats], rank: Places, tops: Places, bottoms: Places) -> None:
        """``entries``: rows, columns and S of the plain resistances, those at one place add up; ``rank``: the place of
        each node in the order.
        """
        import numpy as np

        self._tops, self._bottoms = tops, bottoms
        rows, columns, siemens = entries
        self._size = size = rank.size
        one, other = rank[tops], rank[bottoms]
        at = np.concatenate((rank[columns] * size + rank[rows], one * size + one, other * size + other))
        at = np.concatenate((at, other * size + one, one * size + other))
        found, place = np.unique(at, return_inverse=True)
        self._indices = found % size
        self._ends = np.searchsorted(found, np.arange(size + 1) * size)
        self._plain = np.bincount(place[: rows.size], siemens, found.size)
        self._of_laws = place[rows.size :]

    def is_of(self, tops: Places, bottoms: Places) -> bool:
        """Whether it is that of these laws."""
        return self._tops is tops and self._bottoms is bottoms

    def whole(self, slopes: Floats) -> csc_array:
        """The plain resistances with the slopes of laws."""
        import numpy as np
        from scipy.sparse import csc_array

        weights = np.concatenate((slopes, slopes, -slopes, -slopes))
        values = self._plain + np.bincount(self._of_laws, weights, self._plain.size)
        return csc_array((values, self._indices, self._ends), shape=(self._size, self._size))


class Inner:
    """Conductances as a full matrix, seen from the nodes that laws lie between: only these are solved again and again.

    The others touch nothing but plain resistances. Their volts follow from those of the first, in one step.
    """

    def __init__(self, matrix: Floats, tops: Places, bottoms: Places) -> None:
        """Raises ``numpy.linalg.LinAlgError`` where volts do not follow."""
        import numpy as np

        ends = np.zeros(len(matrix), dtype=np.bool_)
        ends[tops] = ends[bottoms] = True
        self.nodes: Places = ends.nonzero()[0]
        self.others: Places = (~ends).nonzero()[0]
        self.size = len(matrix)
        place = ends.cumsum() - 1
        self.tops, self.bottoms = place[tops], place[bottoms]
        near, across = matrix[self.nodes], matrix[self.others]
        followed = np.linalg.solve(across[:, self.others], -across[:, self.nodes])
        self.follow: Floats = np.asarray(followed, dtype=float)
        self.linear = Dense(near[:, self.nodes] + near[:, self.others] @ self.follow)

    def solve(self, bank: DeviceBank, start: Floats) -> Floats:
        """Volts of all nodes, as ``solve`` gives them. Raises ``NotConvergedError``."""
        import numpy as np

        try:
            inner = solve(self.linear, bank, self.tops, self.bottoms, start[self.nodes])
        except NotConvergedError as error:
            raise NotConvergedError(int(self.nodes[error.node]), error.amps) from error
        volts = np.empty(self.size)
        volts[self.nodes] = inner
        volts[self.others] = self.follow @ inner
        return volts


def solve(
    linear: Conductances,
    bank: DeviceBank,
    tops: Places,
    bottoms: Places,
    start: Floats,
    into: Floats | float = 0.0,
    near: float = 0.0,
) -> Floats:
    """Node volts at which the currents at every node add up to zero.

    ``tops`` and ``bottoms`` are the nodes that each law of ``bank`` lies between; ``into``: A that come into each node
    besides; ``near``: where the currents miss zero by no more A than that no further step is taken. Raises
    ``NotConvergedError``.
    """
    import numpy as np

    volts = start.copy()
    count = volts.size

    def at_nodes(amps: Floats) -> Floats:
        return np.asarray(np.bincount(tops, amps, count) - np.bincount(bottoms, amps, count), dtype=float)

    across = volts[tops] - volts[bottoms]
    amps, slopes = bank.both(across)
    straight = linear.times(volts) - into
    excess = straight + at_nodes(amps)
    for _ in range(MOST_STEPS):
        step = linear.step(tops, bottoms, slopes, -excess)
        along = step[tops] - step[bottoms]
        straight_along = linear.times(step)
        downhill = float(excess @ step)
        fixed, rising = float(straight @ step), float(straight_along @ step)
        steep = rising + float(slopes @ along**2)

        def fall(share: float) -> tuple[float, float]:
            """How steeply the co-content rises at a share of the step, and how much steeper it gets."""
            nonlocal amps, slopes  # those at the share that was looked at last
            amps, slopes = bank.both(across + share * along)  # noqa: B023 - used at once, in this round
            slope = fixed + share * rising + float(amps @ along)  # noqa: B023
            return slope, rising + float(slopes @ along**2)  # noqa: B023

        share = 1.0
        end, _ = fall(1.0)
        if downhill < 0.0 and end > 0.1 * -downhill + 1e-15:
            first = _crossing(*bank.knees_along(across, along), downhill, steep, end)
            share = _bottom(fall, -0.01 * downhill, first)
        volts = volts + share * step
        across = volts[tops] - volts[bottoms]
        straight = linear.times(volts) - into
        before, excess = excess, straight + at_nodes(amps)
        most = float(np.abs(volts).max(initial=0.0))
        enough = TOLERANCE + ROUNDING * (linear.siemens + float(slopes.max(initial=0.0))) * most
        if float(np.abs(before).max(initial=0.0)) < enough:
            return volts
        missing = np.abs(excess)
        worst = float(missing.max(initial=0.0))
        if near and worst < near:
            return volts
        if worst < enough:
            at_node = linear.own + np.bincount(tops, slopes, count) + np.bincount(bottoms, slopes, count)
            if (missing <= LEAST * most * at_node).all():
                return volts
    node = int(np.abs(excess).argmax())
    raise NotConvergedError(node, float(excess[node]))


def _crossing(shares: Floats, more: Floats, start: float, steep: float, end: float) -> float:
    """Where a function crosses zero between 0 and 1 that is ``start`` at 0, ``end`` at 1, rises by ``steep`` at first
    and by that much ``more`` from each of some ``shares`` on: exact but for filaments, whose bend is spread evenly.
    """
    import numpy as np

    edges = np.concatenate(((0.0,), shares, (1.0,)))
    slopes = steep + np.concatenate(((0.0,), more.cumsum()))
    lengths = edges[1:] - edges[:-1]
    slopes += end - start - float(slopes @ lengths)
    values = start + (slopes * lengths).cumsum()
    at = int((values >= 0.0).argmax())
    return float(edges[at + 1] - values[at] / slopes[at]) if slopes[at] > 0.0 else 0.5


def _bottom(fall: Callable[[float], tuple[float, float]], enough: float, first: float) -> float:
    """Where a rising function crosses zero between 0 and 1, to within ``enough``: the share that it was asked last.

    It is tried at ``first``, which is right where no filament bends. Then Newton's way; where it leaves the bounds they
    are halved.
    """
    low, high, better, share = 0.0, 1.0, first, 1.0
    for _ in range(MOST_CUTS):
        share = better if low < better < high else 0.5 * (low + high)
        value, steeper = fall(share)
        if abs(value) <= enough:
            break
        if value > 0.0:
            high = share
        else:
            low = share
        better = share - value / steeper if steeper > 0.0 else low
    return share
