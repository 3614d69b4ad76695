"""The greedy cover against the best one that scipy's integer programming finds, and the bound that is printed."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from loomwright.checks.bench.proving.cover import Cover, greedy_cover, lower_bound


def best(shows: np.ndarray) -> int:
    """The fewest rows that show all that can be shown, proved by scipy (HiGHS)."""
    table = shows[:, shows.any(axis=0)].T.astype(float)
    if not table.size:
        return 0
    found = milp(
        np.ones(table.shape[1]), constraints=LinearConstraint(table, lb=1.0), integrality=np.ones(table.shape[1]),
        bounds=(0, 1),
    )  # fmt: skip
    assert found.success
    return round(found.fun)


def cover(shows: np.ndarray, groups: list[int] | None = None, most: int = 99, most_groups: int = 99) -> Cover:
    return greedy_cover(shows, groups or [0] * len(shows), most=most, most_groups=most_groups)


@pytest.mark.parametrize("seed", range(40))
def test_greedy_lies_between_the_best_and_what_is_promised(seed: int) -> None:
    chance = np.random.default_rng(seed)
    shows = chance.random((chance.integers(1, 25), chance.integers(1, 30))) < chance.choice((0.05, 0.15, 0.4))
    found, fewest = cover(shows), best(shows)
    assert set(found.missed) == set(np.flatnonzero(~shows.any(axis=0)))
    assert found.bound <= fewest <= len(found.chosen)
    promised = sum(1.0 / n for n in range(1, int(shows.sum(axis=1).max(initial=0)) + 1))  # Johnson 1974
    assert len(found.chosen) <= max(promised, 1.0) * fewest


def test_the_bound_is_the_best_where_rows_share_nothing() -> None:
    shows = np.eye(7, dtype=bool)
    assert lower_bound(shows, np.ones(7, dtype=bool)) == best(shows) == 7


def test_limits_are_kept_and_what_they_leave_out_is_missed() -> None:
    shows = np.eye(6, dtype=bool)
    few = cover(shows, most=4)
    assert len(few.chosen) == 4
    assert len(few.missed) == 2
    two = cover(shows, groups=[0, 0, 1, 1, 2, 2], most_groups=2)
    assert {row // 2 for row in two.chosen} == {0, 1}
    assert two.missed == (4, 5)


def test_of_equals_a_setting_in_use_comes_first_and_then_the_least_awkward() -> None:
    shows = np.array([[1, 1, 0], [0, 0, 1], [0, 0, 1]], dtype=bool)
    assert cover(shows, groups=[5, 4, 5]).chosen == (0, 2)
    alike = np.array([[1], [1]], dtype=bool)
    assert greedy_cover(alike, [0, 1], most=9, most_groups=9, burden=[0.5, 0.1]).chosen == (1,)


def test_a_row_that_later_ones_make_needless_goes() -> None:
    shows = np.array([[1, 1, 1, 0, 0], [1, 1, 0, 1, 0], [0, 0, 1, 0, 1]], dtype=bool)
    assert set(cover(shows).chosen) == {1, 2}
