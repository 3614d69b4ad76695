"""Faults that were there before the engine was started: a machine that never got its first field current."""

from __future__ import annotations

from pathlib import Path

import pytest
from detectives import detective, operation_of

from loomwright.checks.dc.memory import AT_REST
from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.predictions import Predictions
from loomwright.checks.fmea.effects import Category
from loomwright.checks.fmea.failure_modes import Damage
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.plain import struck
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.conditions import BY_ITSELF
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"
EXCITING = {
    "stock": {
        "wire 87", "wire 88.1", "wire 88.2", "wire 14.1", "wire 14.2", "D-CHG", "C-PANEL.2", "C-PANEL.10",
        "WARN.charge",
    },
    "rebuild": {
        "wire 109", "wire 110.1", "wire 110.2", "wire 112", "wire 14.1", "wire 14.2", "D-CHG", "C-PANEL.2", "C-PANEL.6",
        "R-FIELD",
    },
}  # fmt: skip
"""What the first field current comes through, of each demonstration."""


def asked(name: str, state: str, *texts: str) -> Diagnosis:
    found = detective(name, state)
    return found.inquire([each for text in texts for each in observations(text, found.places)])


def uncharged(home: Predictions) -> set[str]:
    """The openings that leave the battery not charged only where they were there before."""
    return {
        name for name, o in home.earlier.items() if o.fault.mode == "open" and "BAT" in {e.thing for e in o.effects}
    }


@pytest.mark.parametrize("name", EXCITING)
def test_what_first_excites_the_alternator_is_missed_at_the_next_start_alone(name: str) -> None:
    home = detective(name, "riding-dip").predictions
    assert uncharged(home) == EXCITING[name]
    for key in EXCITING[name]:
        assert "BAT" not in {effect.thing for effect in home.outcomes[key].effects}
        assert [e.now for e in home.earlier[key].effects if e.thing == "BAT"] == ["not charged"]


@pytest.mark.parametrize("name", EXCITING)
def test_what_was_there_before_is_what_the_damaged_motorcycle_shows_from_rest(name: str) -> None:
    """Each solved in a harness without it, from rest, by the plain way that knows nothing of faults in lots."""
    home = detective(name, "riding-dip").predictions
    for key in sorted(EXCITING[name]):
        there = struck(operation_of(name), home.point, Damage((home.point.circuit.by_key[key],)), AT_REST)
        found = home.earlier[key].volts
        assert found is not None
        index = home.point.flow.network.index
        for node in ("BAT.+", "HEAD.56b", "REG.D+"):
            assert there.volts(node) - there.volts("BAT.-") == pytest.approx(
                found[index[node]] - found[index["BAT.-"]], abs=0.01
            )


def test_an_open_exciting_circuit_is_a_suspect_on_the_running_engine() -> None:
    seen = "12.4 V at BAT.+, WARN.charge dead, COIL-LEFT live, HEAD.dip dim"
    found = asked("stock", "riding-dip", seen, "0.0 V from REG.D+ to FRAME")
    before = {s.fault.key for g in found.ambiguity_groups if g.earlier for s in g.suspects}
    assert before == EXCITING["stock"]
    assert [s.fault.key for g in found.ambiguity_groups if not g.earlier for s in g.suspects] == ["wire 13"]
    assert {g.earlier for g in found.ambiguity_groups} == {"the engine was started", ""}
    assert all(reason.explains for g in found.ambiguity_groups for reason in g.reasons)
    assert found.next is not None
    said = inquiry_text(found, detective("stock", "riding-dip").point.circuit.harness, "riding-dip")
    assert "\n      so only if it was there before the engine was started\n" in said


def test_a_bad_joint_that_only_keeps_the_machine_from_starting_to_charge_says_so() -> None:
    """With the engine running the alternator feeds all: 5 ohm at MAIN then take 1.1 V of the charging current."""
    ((main, said),) = [
        (group, {s.fault.key for s in group.suspects})
        for group in asked("stock", "riding-dip", "HEAD.dip dim").ambiguity_groups
        if "MAIN" in {s.fault.key for s in group.suspects}
    ]
    assert said == {"wire 1", "MAIN", "wire 6"}
    assert (main.mode, main.earlier, main.also[0]) == ("high resistance", "the engine was started", "the engine stops")
    (charging,) = asked("stock", "riding-dip", "1.1 V from MAIN.2 to MAIN.1").ambiguity_groups
    assert (charging.suspects[0].fault.key, charging.earlier, charging.also) == ("MAIN", "", ())


def test_the_same_symptoms_are_what_the_file_shows_without_that_wire() -> None:
    text = "\n".join(
        line
        for line in (SPECS / "stock.loom").read_text(encoding="utf-8").splitlines()
        if not line.startswith("wire 88 ")
    )
    there = Operation(build_circuit(read_text(text).harness)).state("riding-dip")
    assert there.volts("BAT.+") - there.volts("BAT.-") == pytest.approx(12.4, abs=0.05)
    assert there.volts("REG.D+") - there.volts("FRAME") == pytest.approx(0.0, abs=0.05)


def test_where_nothing_has_to_start_nothing_was_there_before() -> None:
    assert detective("stock", "key-on").predictions.earlier == {}
    assert detective("stock", "put-away").predictions.earlier == {}


def test_a_fault_that_shows_at_once_is_not_told_by_its_history() -> None:
    """Of a dead lamp only a bad joint that kept the machine from charging has to do with the start."""
    found = asked("stock", "riding-dip", "HEAD.dip dead")
    told = {s.fault.key for group in found.ambiguity_groups if group.earlier for s in group.suspects}
    assert told == {"wire 6", "MAIN", "wire 1"}


@pytest.mark.parametrize("name", EXCITING)
def test_faults_say_that_the_battery_is_not_charged_after_the_next_start(name: str) -> None:
    operation_ = operation_of(name)
    words = "BAT is not charged after the next start"
    found = {
        fault: (
            report.category,
            {state for states, effects in report.effects for e in effects if e.words() == words for state in states},
        )
        for report in fault_reports(Sweep(operation_), operation_.circuit.harness.states)
        for fault in report.faults
    }
    told = {fault.key: each for fault, each in found.items() if each[1]}
    assert told.keys() == EXCITING[name] & {b.key for b in operation_.circuit.branches if b.branch_type.fails_open}
    for category, states in told.values():
        assert category is Category.MARGINAL
        assert states == {n for n, point in operation_.points.items() if point.engine in BY_ITSELF}


@pytest.mark.parametrize("volts", ["0.3", "0.5", "0.8", "1", "2", "3.5", "5", "6.5"])
@pytest.mark.parametrize(
    ("name", "keys"), [("stock", {"WARN.charge", "wire 87", "wire 14.1"}), ("rebuild", {"wire 109", "wire 14.1"})]
)
def test_whatever_remanence_gives_at_d_plus_leaves_what_never_excited_it(name: str, keys: set[str], volts: str) -> None:
    """A turning alternator without its first field current shows a few tenths of a volt to a few volts there."""
    found = asked(name, "riding-dip", f"12.4 V at BAT.+, WARN.charge dead, {volts} V at REG.D+")
    assert not found.partial
    explaining = [g for g in found.ambiguity_groups if all(reason.explains for reason in g.reasons)]
    assert keys <= {str(s.fault.key) for group in explaining for s in group.suspects if s.mode == "open"}


def test_a_reading_within_what_is_predicted_says_with_what_it_does_not_go_together() -> None:
    found = asked("stock", "riding-dip", "14.0 V at BAT.+, 5 V at RECT.D+, STARTER live")
    (opened,) = (g for g in found.ambiguity_groups if [str(s) for s in g.suspects] == ["wire 12 open"])
    said = {str(reason.observation): reason.words for reason in opened.reasons}
    assert said["14 V at BAT.+"] == ("predicts 12.4 V to 14.1 V at BAT.+, but not 14.0 V together with 5 V at RECT.D+")
