"""A battery that gets more than it stands, and what is to blame; one that is not of the system's volts."""

from __future__ import annotations

import pytest
from checked_text import findings

from loomwright.checks.rules.behaviour.overcharge import RULE
from loomwright.checks.rules.behaviour.wrong_voltage import RULE as WRONG_VOLTAGE
from loomwright.checks.runner.examples import example


@pytest.mark.parametrize(
    ("lost", "blind", "to"),
    [
        ("wire 8 REG.D to REG.S white 4 mm2 0.10 m\n", "REG.S", "REG.D; measure"),
        (
            "wire 5 REG.E to FRAME black 2.5 mm2 0.10 m\n",
            "REG.E",
            "the grounded terminal of the battery by a wire that carries no other current",
        ),
    ],
)
def test_the_sense_terminal_that_is_not_connected_is_named(lost: str, blind: str, to: str) -> None:
    (found,) = findings("overcharge", example(RULE, "good").replace(lost, ""), bench=False)
    assert found.message.endswith(f"{blind} (sense) is not connected, so GEN charges it without regulation")
    assert found.to_do.startswith(f"connect {blind} to {to}")
    assert found.about == ("BAT", "REG")


@pytest.mark.parametrize(("held", "found"), [("14.8 V", 0), ("15.4 V", 1), ("17 V", 1)])
def test_what_is_asked_for_may_be_too_much(held: str, found: int) -> None:
    told = findings("overcharge", example(RULE, "good").replace("regulated 14.2 V", f"regulated {held}"), bench=False)
    assert [f"the regulator is set to {held} (REG)" in each.message for each in told] == [True] * found


def test_a_lithium_battery_stands_less() -> None:
    text = example(RULE, "good").replace("battery at tray { voltage 12.6 V", "battery lithium at tray { voltage 13.2 V")
    assert findings("overcharge", text, bench=False) == ()
    (found,) = findings("overcharge", text.replace("regulated 14.2 V", "regulated 15 V"), bench=False)
    assert "at most 14.6 V is allowed" in found.message


@pytest.mark.parametrize(
    ("system", "volts", "found"),
    [(12, 9.5, 1), (12, 9.7, 0), (12, 13.3, 0), (12, 14.9, 0), (12, 15.1, 1), (12, 6.3, 1), (6, 6.3, 0), (24, 12.6, 1)],
)
def test_the_only_battery_has_the_volts_of_the_system(system: int, volts: float, found: int) -> None:
    text = example(WRONG_VOLTAGE, "good").replace("12.6 V", f"{volts} V").replace("system 12 V", f"system {system} V")
    told = findings("wrong-voltage", text, bench=False)
    assert [f"BAT has {volts:g} V, and the system is {system} V: " in each.message for each in told] == [True] * found


def test_of_two_batteries_in_series_neither_has_the_volts_of_the_system() -> None:
    text = (
        example(WRONG_VOLTAGE, "good")
        .replace("system 12 V", "system 24 V")
        .replace("BAT.- to FRAME", "BAT.- to SECOND.+")
        .replace("ground FRAME", "source SECOND battery at tray { voltage 12.6 V }\nground FRAME")
    )
    assert findings("wrong-voltage", text + "wire 6 SECOND.- to FRAME black 6 mm2 0.2 m\n", bench=False) == ()


def test_a_tired_battery_has_as_many_cells() -> None:
    assert findings("overcharge", example(RULE, "good").replace("voltage 12.6 V", "voltage 11.4 V"), bench=False) == ()
