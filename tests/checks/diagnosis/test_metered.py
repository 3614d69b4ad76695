"""A meter at a terminal finds what nobody sees: openings of what carries nothing; and what it finds at an input."""

from __future__ import annotations

from pathlib import Path

import pytest
from detectives import detective

from loomwright.checks.diagnosis.observations import ObservationError, observations

SPECS = Path(__file__).resolve().parents[3] / "specs"


@pytest.mark.parametrize(
    ("name", "state", "seen", "groups"),
    [
        ("stock", "put-away", "12.6 V at MAIN.2, 0 V at KEY.30", ["wire 7.1 C-KEY.1 wire 7.2", "wire 6"]),
        ("stock", "key-on", "0 V at HORN-BUTTON.1, 12.5 V at F-STOP.2", ["wire 49.1 C-LEFT.1 wire 49.2", "wire 46"]),
        ("stock", "key-on", "12.4 V at F-TURN.2, 0 V at FLASH.49", ["wire 74"]),
        ("stock", "key-on", "12.4 V at F-HEAD.1, 0 V at LIGHTS.15", ["F-HEAD wire 61.1 C-LEFT.3 wire 61.2"]),
        ("rebuild", "put-away", "0 V at STARTER-RELAY.30", ["wire 2"]),
        ("rebuild", "put-away", "0 V at KEY.30, 12.6 V at F-KEY.2", ["wire 103.1 C-KEY.1 wire 103.2"]),
    ],
)
def test_an_open_that_carries_nothing_is_a_suspect_where_a_meter_was(
    name: str, state: str, seen: str, groups: list[str]
) -> None:
    found = detective(name, state)
    diagnosis = found.inquire(observations(seen, found.places))
    told = [" ".join(str(s.fault.key) for s in group.suspects) for group in diagnosis.ambiguity_groups]
    assert told[: len(groups)] == groups
    assert not diagnosis.partial


def test_who_only_looks_is_asked_of_nothing_that_carries_nothing() -> None:
    found = detective("stock", "key-on")
    found.inquire(observations("0 V at HORN-BUTTON.1", found.places))
    diagnosis = found.inquire(observations("WARN.oil dead", found.places))
    assert not any(s.fault.key == "wire 46" for group in diagnosis.ambiguity_groups for s in group.suspects)


@pytest.mark.parametrize("where", ["CTRL.I1", "START.1", "C-RIGHT.3s"])
def test_what_a_unit_puts_on_an_input_that_senses_ground_nobody_knows(where: str) -> None:
    """With its switch open some 5 V or 12 V stand there, from inside the unit: no sign of a live feed."""
    found = detective("rebuild", "cranking")
    with pytest.raises(ObservationError) as refused:
        found.inquire(observations(f"STARTER dead, 5 V at {where}", found.places))
    assert str(refused.value) == (
        f"5 V at {where}: CTRL.I1 senses ground, and how many volts CTRL puts there itself while nothing grounds it is "
        "not in the file. About 0 V says that it is grounded; more says only that it is not, as with its switch open: "
        "leave the reading out, and measure the resistance to ground with the battery off"
    )
    assert found.inquire(observations(f"STARTER dead, 0 V at {where}", found.places)).suspects
