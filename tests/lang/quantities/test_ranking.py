"""What ties goes by place: the last digits of a computed figure choose nothing."""

from __future__ import annotations

import math
from operator import itemgetter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.quantities.ranking import exceeds, largest, ranked, smallest

AMPS = itemgetter(1)


def test_of_figures_that_differ_by_noise_the_first_is_the_largest_and_the_smallest() -> None:
    rows = [("A", 14.4), ("B", 14.4 + 1e-12), ("C", 3.0), ("D", 3.0 - 1e-12)]
    assert largest(rows, key=AMPS)[0] == "A"
    assert smallest(rows, key=AMPS)[0] == "C"
    assert [name for name, _ in ranked(reversed(rows), key=AMPS)] == ["B", "A", "D", "C"]


def test_what_a_meter_can_tell_apart_is_ranked_by_it() -> None:
    rows = [("A", 14.4), ("B", 14.40001)]
    assert largest(rows, key=AMPS)[0] == "B"
    assert [name for name, _ in ranked(rows, key=AMPS)] == ["B", "A"]
    assert [name for name, _ in ranked(rows, AMPS, 0.01)] == ["A", "B"]


def test_nothing_to_choose_from_is_the_default_or_an_error() -> None:
    assert largest([], key=AMPS, default=None) is None
    assert smallest([], key=AMPS, default=None) is None
    with pytest.raises(ValueError, match="nothing to choose from"):
        largest([], key=AMPS)


def test_infinity_exceeds_every_number_and_not_itself() -> None:
    assert exceeds(math.inf, 1e300)
    assert not exceeds(math.inf, math.inf)
    assert not exceeds(0.0, -1e-13)


@given(st.lists(st.integers(0, 5)), st.randoms(use_true_random=False))
def test_ranking_with_noise_is_the_ranking_without_it(whole: list[int], random) -> None:  # type: ignore[no-untyped-def]
    rows = [(place, each * (1.0 + random.uniform(-1e-11, 1e-11))) for place, each in enumerate(whole)]
    exact = sorted(enumerate(whole), key=lambda row: -row[1])
    assert [place for place, _ in ranked(rows, key=AMPS)] == [place for place, _ in exact]
