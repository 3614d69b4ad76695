"""Which piece is cut from which spool, so that least is bought and least is left in ends too short to use.

The solver is HiGHS through ``scipy.optimize.milp``; it stops after a number of nodes, never after seconds, and its
bound says how much better any plan could be. Where a plan by plain rule meets a bound that counting gives, nobody needs
to ask it. Lengths in m.
"""

from __future__ import annotations

import contextlib
import math
import os
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any, Final

from ...lang.records import dataclass
from ..tables.bench import bench_figure

NODES: Final = 20_000
"""Nodes of the search after which the solver gives the best plan that it has (ours)."""
GAP: Final = 1e-6
"""Relative gap between plan and bound at which the search ends (ours)."""
BOUGHT: Final = 10.0
"""A metre that is bought counts as this many metres in short ends (ours)."""
MOST_SPOOLS: Final = 200
"""Of one kind (ours)."""
_LEAST: Final = 1e-9


class NoSolverError(RuntimeError):
    """SciPy is not installed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A piece by its name, and its length."""

    piece: str
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """A spool of ``length``, ``bought`` or from the shelf, with what is cut from it, longest first."""

    length: float
    bought: bool
    cuts: tuple[Cut, ...]

    @property
    def rest(self) -> float:
        return round(self.length - sum(cut.length for cut in self.cuts), 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The spools of one kind of wire that pieces are cut from.

    ``bound`` is the least cost that any plan can have, ``by_solver`` whether the solver gave it; a cost is metres
    bought times ``BOUGHT`` plus metres in short ends.
    """

    kind: str
    spools: tuple[Used, ...]
    bound: float
    by_solver: bool

    @property
    def bought(self) -> float:
        return round(sum(spool.length for spool in self.spools if spool.bought), 6)

    @property
    def short(self) -> float:
        """m in ends that are too short to use."""
        return round(sum(_wasted(spool.rest) for spool in self.spools), 6)

    @property
    def cost(self) -> float:
        return BOUGHT * self.bought + self.short

    @property
    def gap(self) -> float:
        """By how much of its cost a better plan could cost less."""
        return max(0.0, self.cost - self.bound) / self.cost if self.cost > _LEAST else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplanned:
    """A kind of wire that has no plan, and why."""

    kind: str
    why: str


def plan(kind: str, cuts: Sequence[Cut], shelf: Sequence[float], pack: float) -> Plan | Unplanned:
    """From which spool each piece is cut; ``pack`` is the length of a new one, 0 where it is not known.

    Raises ``NoSolverError`` where the solver is needed and not installed.
    """
    cuts = sorted(cuts, key=lambda cut: -cut.length)
    longest = max((*shelf, pack), default=0.0)
    if cuts and cuts[0].length > longest + _LEAST:
        if not pack:
            return Unplanned(
                kind=kind, why=f"the shelf has no spool that holds piece {cuts[0].piece}, and says no `pack`"
            )
        return Unplanned(kind=kind, why=f"piece {cuts[0].piece} is longer than every spool")
    new = _first_fit(cuts, shelf, pack)
    if new is None:
        return Unplanned(kind=kind, why="the shelf has too little, and does not say the `pack` that it is sold in")
    if len(new) > MOST_SPOOLS:
        return Unplanned(kind=kind, why=f"that takes more than {MOST_SPOOLS} spools")
    least = _counted_bound(cuts, shelf, pack)
    by_rule = Plan(kind=kind, spools=tuple(new), bound=least, by_solver=False)
    if by_rule.cost <= least + _LEAST:
        return by_rule
    return _solved(kind, cuts, shelf, pack, sum(spool.bought for spool in new), by_rule)


def _wasted(rest: float) -> float:
    return rest if _LEAST < rest < bench_figure("short_end").value - _LEAST else 0.0


def _first_fit(cuts: Sequence[Cut], shelf: Sequence[float], pack: float) -> list[Used] | None:
    """Longest first, each from the shortest spool that holds it; ``None`` where one is needed and no pack is known."""
    lengths = [*sorted(shelf)]
    held: list[list[Cut]] = [[] for _ in lengths]
    rests = [*lengths]
    for cut in cuts:
        fitting = [place for place, rest in enumerate(rests) if rest >= cut.length - _LEAST]
        if not fitting:
            if pack < cut.length - _LEAST:
                return None
            lengths.append(pack)
            held.append([])
            rests.append(pack)
            fitting = [len(rests) - 1]
        place = min(fitting, key=lambda each: (rests[each], each))
        held[place].append(cut)
        rests[place] -= cut.length
    return [
        Used(length=length, bought=place >= len(shelf), cuts=tuple(each))
        for place, (length, each) in enumerate(zip(lengths, held, strict=True))
        if each
    ]


def _counted_bound(cuts: Sequence[Cut], shelf: Sequence[float], pack: float) -> float:
    """What the metres alone ask for: this many new spools, and no short end."""
    lacking = sum(cut.length for cut in cuts) - sum(shelf)
    return BOUGHT * pack * math.ceil(lacking / pack - 1e-9) if pack and lacking > _LEAST else 0.0


def _solved(kind: str, cuts: Sequence[Cut], shelf: Sequence[float], pack: float, most_new: int, by_rule: Plan) -> Plan:
    """The plan of the solver, or the one by rule where that is no worse."""
    try:
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp
    except ImportError:
        raise NoSolverError from None
    sizes = sorted(Counter(cut.length for cut in cuts).items(), reverse=True)
    spools = [*sorted(shelf), *([pack] * most_new)]
    kinds, count = len(sizes), len(spools)
    # Columns: how many of each size from each spool; used; with a short end; metres in it.
    width = kinds * count + 3 * count
    used, short, wasted = (kinds * count + part * count for part in range(3))
    rows: list[tuple[Any, float, float]] = []

    def row(cells: dict[int, float], low: float, high: float) -> None:
        values = np.zeros(width)
        for place, value in cells.items():
            values[place] = value
        rows.append((values, low, high))

    end = bench_figure("short_end").value
    for size in range(kinds):
        row({size * count + spool: 1.0 for spool in range(count)}, sizes[size][1], sizes[size][1])
    for spool, length in enumerate(spools):
        cut = {size * count + spool: sizes[size][0] for size in range(kinds)}
        row({**cut, used + spool: -length}, -np.inf, 0.0)  # no more than it holds
        row({**{k: -v for k, v in cut.items()}, used + spool: length - end, short + spool: end}, 0.0, np.inf)
        # what is left, where the end is short: length used - cut - length (1 - short) <= wasted
        row({**{k: -v for k, v in cut.items()}, used + spool: length, short + spool: length, wasted + spool: -1.0},
            -np.inf, length)  # fmt: skip
        if spool > len(shelf):
            row({used + spool - 1: 1.0, used + spool: -1.0}, 0.0, np.inf)  # new spools are alike: the first ones first
    costs = np.zeros(width)
    costs[used + len(shelf) : used + count] = BOUGHT * pack
    costs[wasted : wasted + count] = 1.0
    high = np.concatenate([
        np.repeat([float(number) for _, number in sizes], count), np.ones(2 * count), np.full(count, np.inf)
    ])  # fmt: skip
    integral = np.concatenate([np.ones(kinds * count + 2 * count), np.zeros(count)])
    matrix, lows, highs = np.array([r[0] for r in rows]), [r[1] for r in rows], [r[2] for r in rows]
    with _silent():
        found = milp(
            costs,
            integrality=integral,
            bounds=Bounds(np.zeros(width), high),
            constraints=LinearConstraint(matrix, lows, highs),
            options={"node_limit": NODES, "mip_rel_gap": GAP},
        )
    bound = max(float(found.mip_dual_bound or 0.0), by_rule.bound)
    if found.x is None:
        return Plan(kind=kind, spools=by_rule.spools, bound=bound, by_solver=True)
    waiting = {length: [cut for cut in cuts if cut.length == length] for length, _ in sizes}
    made = []
    for spool, length in enumerate(spools):
        taken = [
            waiting[of].pop(0)
            for size, (of, _) in enumerate(sizes)
            for _ in range(round(found.x[size * count + spool]))
        ]
        if taken:
            made.append(Used(length=length, bought=spool >= len(shelf), cuts=tuple(taken)))
    solved = Plan(kind=kind, spools=tuple(made), bound=bound, by_solver=True)
    better = min(solved, by_rule, key=lambda each: each.cost)
    return Plan(kind=kind, spools=better.spools, bound=min(bound, better.cost), by_solver=True)


@contextlib.contextmanager
def _silent() -> Iterator[None]:
    """The solver writes on standard output by itself, below Python: it would be in the middle of a CSV file."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output to keep clean
        yield
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.close(nowhere)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
