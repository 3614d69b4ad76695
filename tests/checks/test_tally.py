"""Work is counted while it is done, so that what asks for too much is stopped in the middle of it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.runner.run import RuleStudy
from loomwright.checks.tally import SITUATION, Tally, TooMuchWorkError
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[2] / "specs"
TODAY = date(2026, 1, 1)


def test_what_is_counted_adds_up() -> None:
    tally = Tally()
    tally.space(2048)
    tally.situation()
    tally.went_through(3)
    tally.island()
    assert (tally.spaces, tally.combinations, tally.situations, tally.tables) == (1, 2048, 1, 3)
    assert tally.work == 450 + 2 * 29 + 1300 + 3 * 16 + 450
    tally.most = tally.work + SITUATION
    tally.situation()
    with pytest.raises(TooMuchWorkError):
        tally.went_through(1)


def test_one_study_has_one_count() -> None:
    study = RuleStudy(read_file(str(SPECS / "small" / "points-single.loom")).harness, today=TODAY)
    assert study.logic.network.tally is study.tally
    assert study.operation.network.tally is study.tally
    assert study.operation.loaded_points
    assert study.tally.situations > 0
    assert study.tally.tables > 0


def test_the_islands_of_elements_are_counted() -> None:
    """On an odd motorcycle they took two thirds of a search for a likely cause that nothing stopped."""
    study = RuleStudy(read_file(str(SPECS / "stock.loom")).harness, today=TODAY)
    assert study.found
    assert study.tally.islands > 0


def test_one_analysis_that_asks_for_too_much_is_stopped_in_the_middle() -> None:
    harness = read_file(str(SPECS / "small" / "points-single.loom")).harness
    whole = RuleStudy(harness, today=TODAY)
    assert whole.operation.loadings
    study = RuleStudy(harness, today=TODAY)
    assert study.logic
    study.tally.most = (study.tally.work + whole.tally.work) // 2
    with pytest.raises(TooMuchWorkError):
        _ = study.operation.loadings
    assert study.tally.work <= whole.tally.work
