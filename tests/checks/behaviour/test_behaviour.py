"""One place tells what is live, dead, dim, fed and stopped: the answers of small harnesses, with why."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.behaviour import DIRECT, Behaviour, Question
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

TRIALS = Path(__file__).parents[2] / "trials"
ON, OFF, STOP = Behaviour.control("KEY", "on"), Behaviour.control("KEY", "off"), Behaviour.control("KILL", "stop")


def behaviour(name: str, old: str = "", new: str = "") -> Behaviour:
    whole = (TRIALS / f"{name}.loom").read_text()
    assert old in whole
    reading = read_text(whole.replace(old, new) if old else whole)
    assert reading.harness is not None
    return Behaviour.of(build_circuit(reading.harness))


def standing(asked: Behaviour, key: str, while_: Question) -> str:
    """The status of an element, by its branch, in all combinations of a condition."""
    live = asked.live(key)
    if asked.holds_in(live, while_):
        return "live" if asked.must(live, while_) else "dim"
    wide, joined = asked.reached_through_loads(key, DIRECT), asked.connected(key)
    space = asked.space(wide, joined, while_)
    there = space.where(wide) & space.where(while_) & space.possible
    told = asked.judged(there - space.where(joined), asked.circuit.by_key[key])
    return "undecided" if told.open is not None else "dim" if told.alive is not None else "dead"


def test_what_a_weak_relay_feeds_is_neither_live_nor_dead() -> None:
    # The lamp may hold the relay in, and nobody should rely on that it does.
    asked = behaviour("lamp-across-kill-switch")
    assert standing(asked, "COIL.primary", Behaviour.all_of(ON, STOP)) == "dim"
    assert standing(asked, "COIL.primary", OFF) == "dead"


def test_a_coil_that_a_lamp_feeds_too_little_is_dead() -> None:
    asked = behaviour("stop-while-running")
    assert standing(asked, "COIL.primary", Behaviour.all_of(ON, STOP)) == "dead"
    assert standing(asked, "LAMP.warn", OFF) == "dead"


def test_a_coil_that_a_lamp_feeds_enough_is_dim() -> None:
    asked = behaviour("stop-while-running", "warn 6 W", "warn 21 W")
    assert standing(asked, "COIL.primary", Behaviour.all_of(ON, STOP)) == "dim"


def test_a_lamp_without_a_rating_leaves_it_undecided() -> None:
    asked = behaviour("stop-while-running", "warn 6 W", "warn")
    assert standing(asked, "COIL.primary", Behaviour.all_of(ON, STOP)) == "undecided"


def test_what_is_joined_in_every_combination_is_live() -> None:
    asked = behaviour("resistor-is-no-feed")
    assert standing(asked, "LAMP.bulb", ON) == "live"
    assert standing(asked, "LAMP.bulb", OFF) == "dead"


def test_a_terminal_behind_the_key_is_fed_with_the_key_on() -> None:
    asked = behaviour("resistor-is-no-feed")
    fed = asked.fed("KEY.15")
    assert asked.must(fed, ON)
    assert asked.may(fed, OFF) is None


@pytest.mark.parametrize(
    ("old", "new", "stopped"),
    [("", "", False), ("wire 1 SPARK.2 to D1.A", "wire 1 SPARK.2 to STOP.1", True)],
)
def test_a_stop_lead_stops_where_it_is_joined_both_ways(old: str, new: str, stopped: bool) -> None:
    asked = behaviour("diode-in-stop-lead", old, new)
    shown = asked.may(asked.stopped("SPARK"), asked.control("STOP", "stop"))
    assert (shown is not None) is stopped


def test_a_state_with_a_latch_that_its_key_clears_cannot_be() -> None:
    asked = behaviour("state-that-cannot-be")
    assert asked.cannot_be((("KEY", "off"), ("CTRL.on", "set")))
    assert not asked.cannot_be((("KEY", "on"), ("CTRL.on", "set")))
