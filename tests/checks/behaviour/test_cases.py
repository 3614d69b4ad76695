"""Sets of combinations: they are reckoned with as sets of Python are, and shown as the logic shows its tables."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.behaviour import Behaviour, Question
from loomwright.checks.behaviour.cases import Cases
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text

STOCK = Behaviour.of(build_circuit(read_file(Path(__file__).parents[3] / "specs" / "stock.loom").harness))
QUESTIONS = (
    *(STOCK.live(branch.key) for branch in STOCK.consumers[:6]),
    STOCK.fed("KILL.2"),
    STOCK.grounded("KEY.15"),
    STOCK.control("KILL", "stop"),
)
SPACE = STOCK.space(*QUESTIONS)
asked = st.sampled_from(QUESTIONS)


def members(cases: Cases) -> set[int]:
    return set(cases.space.scope.members(cases.table))


@given(asked, asked)
def test_they_are_sets(one: Question, other: Question) -> None:
    a, b = SPACE.where(one) & SPACE.possible, SPACE.where(other)
    assert members(a & b) == members(a) & members(b)
    assert members(a | b) == members(a) | members(b)
    assert members(a - b) == members(a) - members(b)
    assert members(~a) == members(SPACE.every) - members(a)
    assert bool(a) is bool(members(a))
    assert not SPACE.none


@given(asked, st.sampled_from(SPACE.controls))
def test_whatever_a_control_does_is_left_open(question: Question, name: str) -> None:
    cases = SPACE.where(question)

    def others(index: int) -> tuple[tuple[str, str], ...]:
        return tuple(pair for pair in SPACE.scope.positions(index).items() if pair[0] != name)

    same = {others(index) for index in members(cases)}
    assert members(cases.whatever((name,))) == {i for i in members(SPACE.every) if others(i) in same}


@given(asked)
def test_what_is_shown_is_one_of_them_and_none_of_the_others(question: Question) -> None:
    cases = SPACE.where(question) & SPACE.possible
    shown = cases.shown()
    assert (shown is None) is (not cases)
    if shown is not None:
        assert cases.holds_at(shown)
        assert not (SPACE.possible - cases).holds_at(shown)
        assert members(SPACE.only(shown)) == {shown.index}


BIKE = """loom "A lamp behind a hinge"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
switch KEY key { off: ; on: 30 15 }
load LAMP lamp { bulb 5 W: 1 2 }
ground FRAME
ground FORKS
mount FORKS to FRAME through bearings
wire 1 BAT.+ to KEY.30 red 1 mm2 0.2 m
wire 2 KEY.15 to LAMP.1 red 1 mm2 0.2 m
wire 3 LAMP.2 to FORKS black 1 mm2 0.2 m
wire 4 BAT.- to FRAME black 4 mm2 0.2 m
"""


@pytest.fixture(scope="module")
def bike() -> Behaviour:
    reading = read_text(BIKE, "bike.loom")
    assert [mistake.message for mistake in reading.mistakes] == []
    return Behaviour.of(build_circuit(reading.harness))


def test_may_is_in_some_and_must_in_all_whatever_joint_is_open(bike: Behaviour) -> None:
    on, live = bike.control("KEY", "on"), bike.live("LAMP.bulb")
    shown = bike.may(live, on)
    assert shown is not None
    assert shown.shown == (("KEY", "on"),)
    assert not bike.must(live, on)  # the bearings may be open
    assert bike.may(live, bike.control("KEY", "off")) is None
    assert bike.must(bike.fed("LAMP.1"), on)


def test_what_a_joint_alone_returns_is_lost_without_it(bike: Behaviour) -> None:
    (joint,) = bike.network.joints
    assert bike.lost_without(joint, bike.grounded("LAMP.2"))
    assert not bike.lost_without(joint, bike.fed("LAMP.1"))


def test_a_failing_duty_is_shown_and_one_that_holds_is_not(bike: Behaviour) -> None:
    key_on = bike.control("KEY", "on")
    assert bike.fails(bike.fed("LAMP.1"), key_on) is None
    shown = bike.fails(bike.fed("LAMP.1"), bike.any_of(key_on, bike.control("KEY", "off")))
    assert shown is not None
    assert dict(shown.shown)["KEY"] == "off"


def test_only_one_space_goes_together(bike: Behaviour) -> None:
    other = bike.space(bike.fed("LAMP.1"))
    for reckoned in (Cases.__and__, Cases.__or__, Cases.__sub__):
        with pytest.raises(ValueError, match="of one space"):
            reckoned(SPACE.every, other.every)
