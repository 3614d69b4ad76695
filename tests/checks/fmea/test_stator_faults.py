"""A measured stator and its rectifier with one thing wrong: what `faults` says, and whom `suspect` finds."""

from __future__ import annotations

import json
from datetime import date

import pytest
from measured_stators import SINGLE_PHASE, THREE_PHASES

from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.report import Report, all_faults, fault_reports
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.render.report.diagnosis import inquiry_text
from loomwright.render.report.faults import faults_json, faults_text

GROUNDED = THREE_PHASES + "wire 20 REC.W to FRAME yellow 2.5 mm2 0.3 m\n"
"""With one thing wrong already: a second one in its rectifier is not solved."""

UNMEASURED = THREE_PHASES.replace("phases 0.2 ohm open 50 V short 18 A: U V W", "phases: U V W")


def sweep(text: str) -> Sweep:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    return Sweep(Operation(build_circuit(reading.harness)))


def reports(text: str) -> dict[str, Report]:
    """Those of stator and rectifier by what fails, a phase that opens or is on ground among them."""
    found = sweep(text)
    told = fault_reports(found, found.circuit.harness.states, Protection(found.circuit))
    return {f"{fault.where} {fault.mode}": report for report in told for fault in report.faults}


def amps(report: Report, state: str) -> float:
    """A that REC can give in a state then."""
    return next(e.share for among, each in report.effects for e in each if e.now == "weaker" and state in among)


def test_every_fault_of_three_phases_is_told_with_its_figure() -> None:
    found = reports(THREE_PHASES)
    kinds = {
        "phase off": "wire 1 open",
        "grounded": "wire 1 short to ground",
        "joined": "wire 1 to wire 2 short between phases",
        "diode open": "REC U-B+ diode open",
        "diode shorted": "REC B--U diode short",
    }
    # Figures as the simulator has them in tests/reference, to 5 %.
    riding = {name: amps(found[key], "riding") for name, key in kinds.items() if name != "diode open"}
    assert amps(found[kinds["diode open"]], "idling") == pytest.approx(4.02, rel=0.05)
    assert riding["phase off"] == pytest.approx(12.7, rel=0.05)
    assert riding["joined"] == pytest.approx(14.2, rel=0.05)
    assert riding["grounded"] == riding["diode shorted"] == pytest.approx(4.9, rel=0.05)
    (open_at_speed,) = (e for _, each in found[kinds["diode open"]].effects for e in each)
    assert open_at_speed.words() == "REC delivers at most 4.02 A, not 6.63 A"  # at running speed it takes 2 % away


def test_a_diode_that_is_open_and_one_shorted_count_alike_above_and_below() -> None:
    found = reports(THREE_PHASES)
    for mode in ("diode open", "diode short"):
        legs = [f"REC {leg} {mode}" for leg in ("U-B+", "B--U", "V-B+", "B--V", "W-B+", "B--W")]
        assert len({amps(found[leg], "idling") for leg in legs}) == 1


def test_of_a_single_phase_a_lead_on_ground_leaves_the_battery_uncharged() -> None:
    found = reports(SINGLE_PHASE)
    said = {e.words() for _, each in found["wire 1 short to ground"].effects for e in each}
    assert "BAT is no longer charged" in said
    assert {e.words() for _, each in found["wire 1 to wire 2 short between phases"].effects for e in each} >= {
        "REC delivers nothing",
        "BAT is no longer charged",
    }


def test_a_phase_on_ground_in_the_file_says_what_is_left_and_what_leads_carry() -> None:
    """The leads carry nearly twice what they do, as the simulator has it in tests/reference."""
    grounded = THREE_PHASES.replace(
        "wire 1 STATOR.U", "wire 1g STATOR.U to FRAME yellow 2.5 mm2 0.5 m\nwire 1 STATOR.U"
    )
    report = check(read_text(grounded), today=date(2026, 6, 1))
    (message,) = (each.message for each in report.findings if each.rule == "grounded-winding")
    assert message.endswith(
        "its rectifier: at running speed REC delivers at most 4.76 A, not 22.8 A, and a stator lead carries "
        "31.2 A rms, not 16.9 A"
    )


def test_phases_of_a_stator_that_was_not_measured_are_said_to_be_left_out() -> None:
    found = sweep(UNMEASURED)
    said = faults_text(fault_reports(found, ["riding"]), found.circuit.harness, ["riding"])
    assert "diode" not in said.split("Not simulated")[0]
    assert " ".join(said.split()).endswith(
        "and the phases of STATOR: the file does not state open-circuit voltage and short-circuit current."
    )


def test_what_the_text_says() -> None:
    found = sweep(THREE_PHASES)
    states = ["idling", "riding"]
    said = faults_text(fault_reports(found, states, Protection(found.circuit)), found.circuit.harness, states)
    assert "  wire 1 to wire 2, wire 1 to wire 3, wire 2 to wire 3: short between phases\n" in said
    assert said.endswith("bad joints, and\nshorts inside parts other than rectifiers.\n")


def test_of_a_second_fault_of_a_rectifier_nothing_is_claimed() -> None:
    found = sweep(GROUNDED)
    states = ["idling", "riding"]
    reports, unknown = all_faults(found, states, Protection(found.circuit))
    told = {str(fault) for report in reports for fault in report.faults if "diode" in fault.mode}
    # As if those leads were on ground, too; the last puts the battery in a short.
    assert told == {"REC B--U diode short", "REC B--V diode short", "REC W-B+ diode short"}
    assert {str(fault) for each in unknown for fault in each.faults} == {
        "REC U-B+ diode open",
        "REC B--U diode open",
        "REC V-B+ diode open",
        "REC B--V diode open",
        "REC W-B+ diode open",
    } | {"REC U-B+ diode short", "REC V-B+ diode short"}
    said = faults_text(reports, found.circuit.harness, states, found.live_in(states), unknown)
    listed = " ".join(said.partition("Not calculated\n")[2].split())
    assert listed.startswith(
        "REC U-B+, REC B--U, REC V-B+, REC B--V, REC W-B+: diode open REC: two faults of a rectifier at once are not "
        "solved"
    )
    first = json.loads(faults_json(reports, unknown))["not_calculated"][0]
    assert first["faults"][0] == {"branch": "REC U-B+", "mode": "diode open"}
    assert first["why"] == [{"states": states, "reason": "REC: two faults of a rectifier at once are not solved"}]


def test_a_second_fault_of_a_rectifier_is_neither_accused_nor_acquitted() -> None:
    diagnoser = Diagnoser(sweep(GROUNDED), "riding")
    found = diagnoser.inquire(observations("12.40 V from BAT.+ to BAT.-", diagnoser.places))
    assert "REC U-B+ diode open" in found.unsolved
    assert "REC U-B+ diode open" not in {str(suspect) for suspect in found.suspects}


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (THREE_PHASES, "REC U-B+ diode short"),
        (THREE_PHASES, "wire 1 short to ground"),
        (SINGLE_PHASE, "wire 1 to wire 2 short between phases"),
        (SINGLE_PHASE, "REC B--V diode open"),
    ],
)
def test_a_reading_at_the_battery_finds_it(text: str, fault: str) -> None:
    """What a meter shows with the fault put in leads back to it; what needs a meter on the stator is stated."""
    diagnoser = Diagnoser(sweep(text), "riding")
    put_in = next(o for o in diagnoser.predictions.outcomes.values() if str(o.fault) == fault)
    assert put_in.volts is not None
    index = diagnoser.point.flow.network.index
    volts = float(put_in.volts[index["BAT.+"]] - put_in.volts[index["BAT.-"]])
    seen = observations(f"{volts:.2f} V from BAT.+ to BAT.-", diagnoser.places)
    found = diagnoser.inquire(seen)
    assert fault in {str(suspect) for suspect in found.suspects}
    said = inquiry_text(found, diagnoser.point.circuit.harness, "riding")
    assert ("diode" in fault) <= ("Diodes and phases: with the engine stopped" in said)
