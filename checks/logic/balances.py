"""Balances: the volts of a few nets between two rails, found net after net, each step on the safe side of it."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from ..dc.device_models import Curve

NEAR_ENOUGH = 1e-5
"""Of the highest volts: by less an island's volts no longer change (ours)."""
MOST_SWEEPS = 400
"""This many times each net of an island is balanced at most (ours); what has not settled by then is no bound."""
A_STEP = 4
MOST_STEPS = 500
"""This many times nets are balanced for one element at most, each with 4 consumers beside it (ours): some 30 ms of
work; demonstrations take 68.
"""
HALVINGS = 24
"""This many times the volts of one net are halved in on (ours): to a millionth of a volt."""

MOST_CHORDS = 16
"""This many chords at most are laid to save halvings (ours); most nets need five."""

PLUS, MINUS = -1, -2
"""Stand for the rails of either side among the numbers of an island's nets."""


def volts_at(nets: dict[int, float], place: int, most: float) -> float:
    """The volts of a net by its number, or of a rail."""
    return most if place == PLUS else 0.0 if place == MINUS else nets[place]


def balanced_before(
    edges: Sequence[tuple[Curve, int, int]], most: float, *, rising: bool
) -> tuple[dict[int, float] | None, int]:
    """As ``balanced``, which is asked once of islands that are alike but for the numbers of their nets: after a change
    elsewhere, or with a wire taken out, most of them are as they were.
    """
    numbers: dict[int, int] = {}
    for _, a, b in edges:
        for place in (a, b):
            if place >= 0:
                numbers.setdefault(place, len(numbers))
    alike = tuple((curve, numbers.get(a, a), numbers.get(b, b)) for curve, a, b in edges)
    nets, steps = _balanced(alike, most, rising)
    return (None if nets is None else {net: nets[number] for net, number in numbers.items()}), steps


@lru_cache(maxsize=4096)
def _balanced(
    edges: tuple[tuple[Curve, int, int], ...],
    most: float,
    rising: bool,
) -> tuple[dict[int, float] | None, int]:
    return balanced(edges, most, rising=rising)


def balanced(
    edges: Sequence[tuple[Curve, int, int]], most: float, *, rising: bool
) -> tuple[dict[int, float] | None, int]:
    """The volts of the nets between rails at ``most`` and 0, what is between them given as laws with their ends; and in
    how many steps, each the balancing of one net with up to ``A_STEP`` consumers beside it.

    Net after net is balanced, from ``most`` downwards or (``rising``) from 0 upwards. As every law rises, each step
    stays on its own side of the solution. ``None`` where it does not settle.
    """
    at: dict[int, list[tuple[Curve, int, bool]]] = {}
    for curve, a, b in edges:
        if a == b:
            continue
        if a >= 0:
            at.setdefault(a, []).append((curve, b, True))
        if b >= 0:
            at.setdefault(b, []).append((curve, a, False))
    nets = dict.fromkeys([place for _, a, b in edges for place in (a, b) if place >= 0], 0.0 if rising else most)
    each = sum(-(-len(beside) // A_STEP) for beside in at.values())
    spent = 0
    for _ in range(MOST_SWEEPS):
        moved = 0.0
        spent += each
        if spent > MOST_STEPS:
            return None, spent
        for net, beside in at.items():
            others = [(curve, volts_at(nets, far, most), out) for curve, far, out in beside]
            better = _balance(others, nets[net], most, rising=rising)
            moved = max(moved, abs(better - nets[net]))
            nets[net] = better
        if moved <= NEAR_ENOUGH * most or len(at) == 1:
            return nets, spent
    return None, spent


def _balance(beside: Sequence[tuple[Curve, float, bool]], was: float, most: float, *, rising: bool) -> float:
    """The volts of one net at which as much comes as goes, on the safe side of it."""

    def goes(volts: float) -> float:
        total = 0.0
        for curve, far, out in beside:
            total += curve.amps(volts - far) if out else -curve.amps(far - volts)
        return total

    low, high = (was, most) if rising else (0.0, was)
    if (under := goes(low)) >= 0.0:
        return low
    if (over := goes(high)) <= 0.0:
        return high
    below, above = _enclosed(goes, low, high, under, over)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if middle >= above or (middle > below and goes(middle) > 0.0):
            high = middle
        else:
            low = middle
    return low if rising else high


def _enclosed(
    goes: Callable[[float], float], low: float, high: float, under: float, over: float
) -> tuple[float, float]:
    """Two places, at most as near each other as the last halving comes, between which something that rises passes 0.

    By chords, the weight of an end that stays halved (Illinois): as no side has to be asked beyond these places, the
    halvings give what they would, for a third of the questions.
    """
    near = (high - low) / (1 << HALVINGS)
    moved = 0
    for _ in range(MOST_CHORDS):
        if high - low <= 2.0 * near:
            break
        guess = low - under * (high - low) / (over - under)
        guess = min(max(guess, low + near), high - near)
        found = goes(guess)
        if found > 0.0:
            under *= 0.5 if moved > 0 else 1.0
            high, over, moved = guess, found, 1
        else:
            over *= 0.5 if moved < 0 else 1.0
            low, under, moved = guess, found, -1
    return low, high
