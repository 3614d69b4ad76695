"""A latch that a button sets or clears stays as it was where the button's lead is open."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from loomwright.checks.bench.proving.first_power import first_power
from loomwright.checks.bench.proving.moments import Moment
from loomwright.checks.dc.memory import AT_REST
from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[3] / "specs"


@cache
def moments() -> tuple[Moment, ...]:
    return tuple(first_power(build_circuit(read_file(SPECS / "rebuild.loom").harness)).moments)


def suspects(do: str, seen: str) -> list[list[str]]:
    (watched,) = (moment.watched for moment in moments() if moment.row.do == do)
    found = Diagnoser(Sweep(watched.operation), "row", watched.point, watched.before or AT_REST)
    diagnosis = found.inquire(observations(seen, found.places))
    return [[str(suspect.fault.key) for suspect in group.suspects] for group in diagnosis.ambiguity_groups]


def test_a_lamp_that_a_button_turns_on_stays_dark_with_its_lead_open() -> None:
    said = suspects("in gear: hold TURN at left, then release", "FL dead, RL dead, WARN.left dead")
    assert ["wire 152", "TURN 31-L", "wire 154.2", "C-LEFT.4", "wire 154.1"] in said[:3]
    assert ["wire 148.1", "C-LEFT.7", "wire 148.2"] in said[:3]


def test_a_lamp_that_a_button_turns_off_stays_lit_with_its_lead_open() -> None:
    said = suspects("in gear: hold TURN at cancel, then release", "FR live, RR live, WARN.right live")
    assert said == [
        ["wire 148.1", "C-LEFT.7", "wire 148.2"],
        ["wire 152", "TURN 31-C", "wire 156.2", "C-LEFT.6", "wire 156.1"],
    ]


def test_a_latch_that_a_state_names_set_is_not_asked_how_it_was_set() -> None:
    found = Diagnoser(Sweep(Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness))), "turning-left")
    diagnosis = found.inquire(observations("FL dead, RL dead, WARN.left dead", found.places))
    assert not any(s.fault.key == "wire 154.1" for group in diagnosis.ambiguity_groups for s in group.suspects)
