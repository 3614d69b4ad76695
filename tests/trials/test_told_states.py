"""What only loads reach is called the same by `trace`, `states` and the editor; and what numbers drop is stated."""

from __future__ import annotations

import json
from datetime import date
from importlib import import_module
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from loomwright.checks.behaviour import Behaviour
from loomwright.checks.behaviour.trace import trace
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.memory import AT_REST
from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import ObservationError, observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.logic import SwitchingLogic, analysis
from loomwright.checks.logic import named_states as named
from loomwright.checks.operation.assertions import verdicts
from loomwright.checks.operation.operating_points import state_tables
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.checks.rules.coverage.not_judged import RULE
from loomwright.checks.study import Study
from loomwright.checks.tables.profiles import profile_named
from loomwright.cli import main
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.render.editor.hover_parts import _live
from loomwright.render.report.diagnosis import inquiry_text
from loomwright.render.report.diagnosis_json import inquiry_json
from loomwright.render.report.trace import trace_text

TODAY = date(2026, 6, 1)
PILOT = (Path(__file__).parent / "one-turn-pilot.loom").read_text()
HELD = """loom "A relay that stays in"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade
switch KEY 10 A key { off: ; on: 30 15 }
switch START 2 A momentary { rest: ; press: 1 2 }
relay K 20 A { coil 85 ohm: 86 85; pulled: 30 87 }
load LAMP lamp { bulb 5 W: 1 2 }
splice G
splice S
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 red 2 mm2 0.2 m
wire 3 KEY.15 to S red 2 mm2 0.2 m
wire 4 S to START.1 red 1 mm2 0.2 m
wire 5 START.2 to K.86 red 1 mm2 0.2 m
wire 6 K.87 to K.86 red 1 mm2 0.2 m
wire 7 S to K.30 red 1 mm2 0.2 m
wire 8 K.85 to G black 1 mm2 0.2 m
wire 9 K.87 to LAMP.1 red 1 mm2 0.2 m
wire 10 LAMP.2 to G black 1 mm2 0.2 m
wire 11 G to BAT.- black 4 mm2 0.2 m
state on { KEY on }
expect in on: LAMP at most 14 V
"""


def circuit_of(text: str):
    reading = read_text(text, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return build_circuit(reading.harness)


# --- one word
def test_a_pilot_between_two_sides_is_live_through_loads() -> None:
    """It is fed by one side and returns by the lamps of the other: no copper joins it to both poles at once."""
    behaviour = Behaviour.of(circuit_of(PILOT))
    for settings, shown in (({}, "left"), ({"KEY": "on", "TURN": "right"}, "right")):
        [found] = trace(behaviour, "TT", settings)
        assert (found.said, found.never) == ("live through loads", False)
        assert dict(found.combination)["TURN"] == shown
        assert found.way.count("TT.bulb") == 1
        assert len(found.way) == len(set(found.way))  # by one side there, by the other back
    told = trace_text(behaviour, trace(behaviour, "TT"), anywhere=True)
    assert told.startswith("TT.bulb: live through loads with KEY on and TURN left\n    BAT.+\n")


def test_the_editor_says_the_same_word() -> None:
    harness = read_text(PILOT, "bike.loom").harness
    study = Study(harness, today=TODAY)
    said = _live(study, study.circuit.by_key["TT.bulb"])
    assert said == "live through loads with KEY on and TURN left"


def test_states_agrees_with_trace() -> None:
    [table] = state_tables(Operation(circuit_of(PILOT)), profile_named("boat-law"))
    assert [row.word for row in table.loads if row.name == "TT.bulb"] == ["live"]


def test_what_gets_too_little_through_loads_is_dim() -> None:
    """A 3 W pilot behind two lamps of 1 W in place of 21 W gets a part of its volts, and does not work."""
    weak = PILOT.replace("turn 21 W", "turn 1 W")
    [found] = trace(Behaviour.of(circuit_of(weak)), "TT")
    assert found.said == "dim"


def test_what_nothing_reaches_is_never_live() -> None:
    """The near miss: both of its leads at one side."""
    loose = PILOT.replace("wire 12 SPR to TT.R", "wire 12 SPL to TT.R")
    [found] = trace(Behaviour.of(circuit_of(loose)), "TT")
    assert found.never
    assert trace_text(Behaviour.of(circuit_of(loose)), [found]) == "TT.bulb: never live\n"


# --- nothing dropped in silence
def not_judged(text: str, study: Study | None = None) -> str:
    harness = read_text(text, "bike.loom").harness
    found = list(RULE.find(study or Study(harness, today=TODAY)))
    return "\n".join(note.text for note in found[0].notes) if found else ""


def test_a_history_that_numbers_follow_is_shown_and_not_said_to_be_missing() -> None:
    operation = Operation(circuit_of(HELD))
    assert [point.memory.pulled for point in operation.left_before.others("on")] == [frozenset({"K"})]
    assert operation.left_before.unsolved("on") == ()
    assert "as it may have been left" not in not_judged(HELD)


def test_a_history_that_does_not_settle_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    settle = Operation.at

    def refused(self, positions, memory=AT_REST, **more):
        if memory.pulled and more.get("state"):
            raise UnsolvableError("K", "K keeps switching on and off: no settled state")
        return settle(self, positions, memory, **more)

    monkeypatch.setattr(Operation, "at", refused)
    dropped = "voltages and currents in state on (K still in): K keeps switching on and off: no settled state"
    assert dropped in not_judged(HELD)
    tables = list(state_tables(Operation(circuit_of(HELD)), profile_named("boat-law")))
    assert [(t.history, t.problem) for t in tables[1:]] == [
        ("K still in", "K keeps switching on and off: no settled state")
    ]


def test_more_memories_than_are_told_of_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(named, "MOST_MEMORIES", 1)
    monkeypatch.setattr(import_module("loomwright.checks.behaviour.histories"), "MOST_MEMORIES", 1)
    assert "voltages and currents in state on as it may have been left before: relays, latches" in not_judged(HELD)
    *_, last = state_tables(Operation(circuit_of(HELD)), profile_named("boat-law"))
    assert last.problem.startswith("not all that may have been left before is shown: ")


def test_shorts_that_are_too_many_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each switch of a row can lead to the frame by itself, so that all of them together decide."""
    shorting = HELD.replace("wire 11 G", "wire 12 START.2 to G black 1 mm2 0.2 m\nwire 11 G")
    harness = read_text(shorting, "bike.loom").harness
    whole = SwitchingLogic(build_circuit(harness))
    assert whole.unjudged_shorts == ()
    assert whole.can_short
    monkeypatch.setattr(analysis, "laws", lambda: SimpleNamespace(table_bits=1))
    few = SwitchingLogic(build_circuit(harness), doubts={})
    assert [source for source, _ in few.unjudged_shorts] == ["BAT"]
    assert few.unjudged_shorts[0][1].startswith("it depends on ")
    study = Study(harness, today=TODAY)
    study.__dict__["conduction"] = few
    from loomwright.checks.rules.coverage import not_judged as rule

    assert [(gap.owner, gap.case) for gap in rule._shorts(study)] == [("BAT", "shorts")]


CHATTERS = HELD.replace("resistance 15 mohm", "resistance 60 mohm") + (
    "fuse BIG 100 A blade\nrelay K2 100 A { coil 85 ohm: 86 85; pulls 9.5 V; holds 9 V; pulled: 30 87 }\n"
    "load HEAT heater { heater 0.1 ohm: 1 2 }\n"
    "wire 12 K.87 to K2.86 red 1 mm2 0.2 m\nwire 13 K2.85 to G black 1 mm2 0.2 m\n"
    "wire 14 BAT.+ to BIG.1 red 10 mm2 0.1 m\nwire 15 BIG.2 to K2.30 red 10 mm2 0.1 m\n"
    "wire 16 K2.87 to HEAT.1 red 10 mm2 0.1 m\nwire 17 HEAT.2 to BAT.- black 10 mm2 0.1 m\n"
)
"""Once K is in, K2 draws the battery down below what holds it, drops out, and pulls in again."""

RESTLESS = "K2 keeps switching on and off: no settled state"


def diagnosis(text: str, seen: str) -> tuple[Diagnosis, str]:
    circuit = circuit_of(text)
    detective = Diagnoser(Sweep(Operation(circuit)), "on")
    found = detective.inquire(observations(seen, detective.places))
    return found, inquiry_text(found, circuit.harness, "on", width=1000)


def test_suspect_says_the_ways_that_it_could_not_predict() -> None:
    """LAMP is lit while K is in, with nothing wrong: but what flows then never settles."""
    found, text = diagnosis(CHATTERS, "LAMP live")
    assert [(each.history, each.why) for each in found.unpredicted] == [("K still in", RESTLESS)]
    assert not found.suspects
    assert f"\nNot predicted: on with K still in ({RESTLESS}). If it was left so before, a fault " in text
    told = json.loads(inquiry_json(found, "on"))["not_predicted"]
    assert told == [{"history": "K still in", "why": RESTLESS}]


def test_suspect_says_them_where_nothing_is_wrong_and_where_a_reading_is_refused() -> None:
    found, text = diagnosis(CHATTERS, "LAMP dead")
    assert found.sound
    assert "Not predicted: on with K still in" in text
    with pytest.raises(ObservationError) as refused:
        diagnosis(CHATTERS, "30 V at K.87")
    assert str(refused.value).endswith(f"the unit right? Not predicted: on with K still in ({RESTLESS}).")


def test_suspect_says_nothing_where_every_way_is_predicted() -> None:
    found, text = diagnosis(HELD, "LAMP live")
    assert found.sound  # K still in: predicted
    assert found.unpredicted == ()
    assert "Not predicted" not in text


def test_suspect_says_a_way_that_makes_a_dead_short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Logic starts from no memory that is a short; numbers may still move from one to it."""
    monkeypatch.setattr(OperatingPoint, "shorted", property(lambda point: bool(point.memory.pulled)))
    found, text = diagnosis(HELD, "LAMP dead")
    assert [(each.history, each.why) for each in found.unpredicted] == [("K still in", "it makes a dead short")]
    assert "Not predicted: on with K still in (it makes a dead short)." in text


def test_suspect_says_that_the_ways_are_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(named, "MOST_MEMORIES", 1)
    monkeypatch.setattr(import_module("loomwright.checks.behaviour.histories"), "MOST_MEMORIES", 1)
    found, text = diagnosis(HELD, "LAMP live")
    assert [each.history for each in found.unpredicted] == [""]
    assert (
        "Not predicted: on as it may have been left before (relays, latches and alternators can be left in more" in text
    )


# --- every command judges a state as it may have been left
ALL_WAYS = ("on", "on as left before (K still in)")


def test_faults_are_followed_in_every_way_that_a_state_may_have_been_left() -> None:
    """With K out the lamp is off, and no fault changes that; with K still in it goes off with its wire."""
    sweep = Sweep(Operation(circuit_of(HELD)))
    assert sweep.all_states(["on"]) == ALL_WAYS
    effects = {fault.key: report.effects for report in fault_reports(sweep, ["on"]) for fault in report.faults}
    [(states, ends)] = effects["wire 9"]
    assert states == ("on as left before (K still in)",)
    assert [(end.thing, end.was, end.now) for end in ends] == [("LAMP.bulb", "live", "dead")]
    # Without the wire that holds K in it drops out, and the lamp with it.
    assert [(end.thing, end.now) for _, ends in effects["wire 6"] for end in ends] == [
        ("K coil", "dead"),
        ("LAMP.bulb", "dead"),
    ]


def test_the_four_that_judge_a_state_know_the_same_ways() -> None:
    """`states`, `expect`, `suspect` and `faults`: from rest and with K still in."""
    circuit = circuit_of(HELD.replace("LAMP at most 14 V", "LAMP at most 1 V"))
    operation = Operation(circuit)
    assert [table.history for table in state_tables(operation, profile_named("boat-law"))] == ["", "K still in"]
    assert [each.history for each in verdicts(operation, operation.circuit.harness.expectations)] == ["K still in"]
    detective = Diagnoser(Sweep(operation), "on")
    assert [way.point.memory.pulled for way in detective.ways.all] == [frozenset(), frozenset({"K"})]
    assert Sweep(operation).all_states(["on"]) == ALL_WAYS


def test_faults_say_the_ways_that_they_do_not_follow(tmp_path: Path) -> None:
    harness = tmp_path / "bike.loom"
    harness.write_text(CHATTERS)
    done = CliRunner().invoke(main, ["faults", str(harness)])
    assert done.exit_code == 0
    assert f"faults were not followed in on with K still in ({RESTLESS})" in done.stderr


RUNNING = HELD.replace("load LAMP lamp { bulb 5 W: 1 2 }", "load LAMP ignition for ignition { bulb 5 W: 1 2 }").replace(
    "state on { KEY on }", "state on { KEY on; engine running }"
)


def test_an_engine_that_runs_only_as_it_was_left_is_stopped_from_there() -> None:
    """The ignition is fed past a relay that only its button pulls in: the key stops it all the same."""
    sweep = Sweep(Operation(circuit_of(RUNNING)))
    assert list(sweep.halted) == ["on as left before (K still in) with KEY off"]
    assert sweep.all_states(["on"])[-1] == "on as left before (K still in) with KEY off"
