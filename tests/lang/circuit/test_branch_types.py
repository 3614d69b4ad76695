"""Branch types: each record is whole, and the tables have the rows that it names."""

from __future__ import annotations

from typing import get_args

import pytest

from loomwright.checks.tables.device_constants import shares
from loomwright.checks.tables.odds import of_kind
from loomwright.lang.circuit.branch_types import OF_ELEMENT, BranchType, Direction
from loomwright.lang.vocabulary.kinds import WHATS, What

TYPES = pytest.mark.parametrize("branch_type", BranchType, ids=lambda each: each.title)


@TYPES
def test_the_tables_have_the_rows_that_a_type_names(branch_type: BranchType) -> None:
    assert branch_type.share_row in {"", *shares()}
    assert branch_type.odds_row == "" or of_kind(branch_type.odds_row) > 0.0


@TYPES
def test_what_fails_is_given_odds(branch_type: BranchType) -> None:
    assert branch_type.odds_row or not branch_type.fails_open


@TYPES
def test_copper_joins_both_ways_and_a_consumer_joins_nothing(branch_type: BranchType) -> None:
    assert not branch_type.conductor or branch_type.joined is Direction.BOTH
    assert not (branch_type.consumes and branch_type.conductor)
    assert branch_type.consumes == (
        branch_type.joined is Direction.NEVER and branch_type.as_load is not Direction.NEVER
    )


def test_what_stands_in_series_is_no_load_by_itself() -> None:
    assert {each.title for each in BranchType if each.in_series} == {"resistor", "field", "sensor"}
    assert not any(each.share_row for each in BranchType if each.in_series)


def test_what_conducts_one_way_as_a_load_is_polarised() -> None:
    assert {each.title for each in BranchType if each.polarised} == {"led", "electronics", "unit supply"}


def test_every_element_that_the_text_can_say_has_its_type() -> None:
    assert set(OF_ELEMENT) == set(WHATS) == set(get_args(What))
