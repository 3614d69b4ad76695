"""Who calls one lamp dim and another live sees both with the same eyes."""

from __future__ import annotations

from pathlib import Path

from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"


def diagnoser() -> Diagnoser:
    return detective("stock", "riding-dip")


def asked(seen: str) -> Diagnosis:
    return diagnoser().inquire(observations(seen, diagnoser().places))


def also_dim(found: Diagnosis, lamp: str) -> set[str]:
    groups = (group for group in found.ambiguity_groups if f"{lamp} dim" in group.also)
    return {str(suspect) for group in groups for suspect in group.suspects}


def test_a_lamp_that_would_be_dim_too_is_not_live_beside_one_that_is_called_dim() -> None:
    """Without charge all lamps have 11.8 V instead of 13.6: where one is called dim, the others are dim as well."""
    alone = also_dim(asked("HEAD.dip dim"), "REAR.tail")
    assert {"wire 4 open", "wire 16 open"} <= alone
    beside = {str(each) for each in asked("HEAD.dip dim, REAR.tail live").suspects}
    assert beside.isdisjoint(alone)
    assert "wire 68.1 high resistance" in beside
    assert {str(each) for each in asked("HEAD.dip dim, REAR.tail dim").suspects} >= alone


def test_of_two_lamps_with_the_same_volts_none_is_live_where_the_other_is_dim() -> None:
    """A bad joint in the ground of both takes as much from each: 44 and 46 % of what they have without it."""
    found = asked("HEAD.dip dim, POS live")
    assert [str(group.suspects[0].fault.key) for group in found.ambiguity_groups] == ["wire 20", "KEY 30-15"]
    assert "wire 70 high resistance" in {str(each) for each in asked("HEAD.dip dim, POS dim").suspects}


def test_live_alone_is_live_by_any_eye() -> None:
    """A tail lamp at 11.8 V works, for who calls nothing dim."""
    found = asked("HEAD.dip dead, REAR.tail live")
    assert not found.partial
    assert "wire 68.1 open" in {str(each) for each in found.suspects}


def test_what_does_not_fit_is_given_in_volts() -> None:
    said = " ".join(
        inquiry_text(asked("HEAD.dip dim, POS live, POS dead"), diagnoser().point.circuit.harness, "s").split()
    )
    assert "does not fit: POS live: " in said


def test_the_scale_of_words_and_readings_is_stated() -> None:
    harness = diagnoser().point.circuit.harness
    said = " ".join(inquiry_text(asked("HEAD.dip dim, 11 V at HEAD.56b"), harness, "riding-dip").split())
    assert (
        "the likeliest first. Dim: some 20 to 93 % of the voltage without any fault; live: more. A reading agrees that "
        "is up to some 8 % off."
    ) in said
