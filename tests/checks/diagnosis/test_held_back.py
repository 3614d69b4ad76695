"""Readings at a field whose current a regulator lowers: by how much is not solved, so that they contradict nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.held_back import held_back
from loomwright.checks.diagnosis.observations import observations
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"


def asked(name: str, state: str, seen: str) -> Diagnosis:
    here = detective(name, state)
    return here.inquire(observations(seen, here.places))


@pytest.mark.parametrize(
    ("name", "seen"),
    [
        ("stock", "9 V from C-ENGINE.5p to FRAME"),
        ("stock", "0 V at ALT.DF"),
        ("stock", "14.2 V at REG.DF"),
        ("stock", "8 V across ALT field"),
        ("rebuild", "6 V at ALT.DF"),
    ],
)
def test_anything_from_none_to_that_of_a_full_field_is_sound(name: str, seen: str) -> None:
    found = asked(name, "riding-dip", seen)
    assert found.sound
    assert [str(each) for each in found.lowered] == [seen]


def test_the_report_says_what_to_do_instead() -> None:
    here = detective("stock", "riding-dip")
    found = here.inquire(observations("9 V from C-ENGINE.5p to FRAME", here.places))
    text = " ".join(inquiry_text(found, here.point.circuit.harness, "riding-dip").split())
    assert (
        "9 V from C-ENGINE.5p to FRAME: the regulator lowers the current of that field here, by how much is not "
        "calculated, so that any voltage from none to that of a full field is as it should be. Ask in a state with the "
        "engine stopped and the ignition on, in which the field's voltage is known."
    ) in text
    plain = here.inquire(observations("13.0 V at BAT.+", here.places))
    assert "lowers the current" not in inquiry_text(plain, here.point.circuit.harness, "riding-dip")


def test_no_measurement_is_proposed_there() -> None:
    here = detective("stock", "riding-dip")
    (field,) = held_back(here.point)
    assert {"REG.DF", "C-ENGINE.5s", "C-ENGINE.5p", "ALT.DF"} <= field.nodes
    assert "REG.D+" not in field.nodes
    found = asked("stock", "riding-dip", "13.0 V at BAT.+")
    assert found.next is not None
    assert field.nodes.isdisjoint((found.next.red, found.next.black))
    assert found.next.where == "from REG.D+ to FRAME"
    assert found.lowered == ()


def test_over_a_full_field_or_with_the_engine_stopped_it_counts_as_ever() -> None:
    """Nothing is lowered with the key on and the engine at rest: the first field current comes through the lamp."""
    stopped = detective("stock", "key-on")
    assert not list(held_back(stopped.point))
    assert not asked("stock", "key-on", "9 V from C-ENGINE.5p to FRAME").sound
    full = detective("stock", "turning-left")  # RECT delivers all that it can, so its field is full
    assert not list(held_back(full.point))
    assert not asked("stock", "turning-left", "6 V at ALT.DF").sound


def test_a_fault_that_stops_the_charge_leaves_the_field_full() -> None:
    """Below its voltage the regulator lowers nothing: what is read there then tells one fault from another."""
    found = asked("stock", "riding-dip", "12.4 V at BAT.+, 11.4 V at REG.DF")
    names = {str(suspect.fault.where) for suspect in found.suspects}
    assert "wire 4" in names
    assert "REG passes" not in names  # with it open there is 0 V
