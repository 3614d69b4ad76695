"""Resistance between a kill wire and its return: what it leaves of an ignition's volts, and the words for that."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.operation.operating_points import state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.operation.stop_paths import StopPath, stop_path
from loomwright.checks.runner.run import check
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.render.report.states import states_text

BOX = """
loom "A box on an exciter winding"
system 12 V negative ground
use magnetos
source MAG alternator { winding exciter 300 ohm open 150 V short 0.1 A: X 31; speeds 30 % 180 % }
load BOX as box-exciter { charge 5 W at 110 V exciter needs 30 V: X 31 }
switch STOP 2 A for ignition { run: ; stop: 1 2 }
resistor LEAK 1000 ohm 10 W
ground FRAME
mount MAG.31 to FRAME
splice SP
wire 1 MAG.X to BOX.X red 1 mm2 0.5 m
wire 2 BOX.31 to FRAME black 1 mm2 0.5 m
wire 3 BOX.2 to SP white 1 mm2 0.5 m
wire 4 SP to STOP.1 white 1 mm2 0.5 m
wire 5 STOP.2 to FRAME black 1 mm2 0.5 m
wire 6 SP to LEAK.1 white 1 mm2 0.5 m
wire 7 LEAK.2 to FRAME black 1 mm2 0.5 m
state idling { engine idling }
state riding { engine running }
state stopping { STOP stop, engine running }
"""

POINTS = """
loom "A magneto with points"
system 6 V negative ground
use magnetos
source MAG alternator { winding light 27 W open 11 V short 6 A: 59 31 }
load SPARK ignition for ignition { primary 0.4 ohm points: P 31; stop-lead: P 31 }
switch STOP 2 A for ignition { run: ; stop: 1 2 }
ground FRAME
mount MAG.31 to FRAME
mount SPARK.31 to FRAME
wire 1 SPARK.P to STOP.1 white 1 mm2 1 m
wire 2 STOP.2 to FRAME black 1 mm2 1 m
state stopping { STOP stop, engine running }
expect in stopping: SPARK dead
"""


def path(text: str, state: str, part: str) -> StopPath | None:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    operation = Operation(build_circuit(reading.harness))
    return stop_path(operation.state(state).flow, operation.circuit.harness.parts[part])


def messages(text: str, rule: str) -> list[str]:
    report = check(read_text(text), today=date(2026, 6, 1))
    return [each.message for each in report.findings if each.rule == rule]


@pytest.mark.parametrize(("state", "speed"), [("idling", 0.3), ("riding", 1.0)])
def test_what_a_leak_leaves_is_a_divider_with_the_windings_impedance(state: str, speed: float) -> None:
    """On paper: 150 V over 0.1 A are 1500 ohm, 300 of them resistance, and the reactance goes with the speed."""
    found = path(BOX, state, "BOX")
    assert found is not None
    assert found.ohms == pytest.approx(1000.0, abs=0.5)
    reactance = speed * math.sqrt(1500.0**2 - 300.0**2)
    assert found.share == pytest.approx(1000.0 / math.hypot(1300.0, reactance), rel=1e-3)
    assert (found.word, found.at_most) == ("runs on", False)


@pytest.mark.parametrize(("ohms", "word"), [(225, "stopped"), (235, "undecided"), (710, "undecided"), (720, "runs on")])
def test_limits_of_15_and_40_percent(ohms: int, word: str) -> None:
    found = path(BOX.replace("LEAK 1000 ohm", f"LEAK {ohms} ohm"), "riding", "BOX")
    assert found is not None
    assert found.word == word


def test_copper_stops_it_and_nothing_is_said_of_an_open_switch() -> None:
    found = path(BOX, "stopping", "BOX")
    assert found is not None
    assert found.word == "stopped"
    assert found.ohms < 0.1
    assert path(BOX.replace("wire 6", "# wire 6"), "riding", "BOX") is None


def test_a_box_whose_source_has_no_figures_is_left_to_its_joins() -> None:
    assert path(BOX.replace("300 ohm open 150 V short 0.1 A", "5 W"), "stopping", "BOX") is not None  # from its W
    assert path(BOX.replace("300 ohm open 150 V short 0.1 A", ""), "stopping", "BOX") is None


def test_the_reactance_of_a_primary_is_not_known() -> None:
    """Two wires of 1 m and 1 mm2 are 0.04 ohm beside 0.4 ohm of the primary: at most 9 %."""
    found = path(POINTS, "stopping", "SPARK")
    assert found is not None
    assert found.at_most
    assert found.share == pytest.approx(found.ohms / (found.ohms + 0.4))
    assert found.word == "stopped"
    assert messages(POINTS, "unmet-expectation") == []


def test_a_bound_that_may_be_too_high_accuses_nobody() -> None:
    """Its reactance lowers the share: copper of 0.2 ohm beside a primary of 0.4 ohm is undecided, and no finding."""
    thin = POINTS.replace("white 1 mm2 1 m", "white 0.5 mm2 5 m")
    found = path(thin, "stopping", "SPARK")
    assert found is not None
    assert (found.word, found.at_most) == ("undecided", True)
    assert messages(thin, "unmet-expectation") == []


def test_a_kill_wire_that_leaves_a_box_too_much_is_told() -> None:
    """1 ohm of exciter impedance and 0.6 ohm of thin wire: nobody builds that, and it is not stopped."""
    text = BOX.replace("300 ohm open 150 V short 0.1 A", "0.4 ohm open 150 V short 150 A")
    text = text.replace("wire 3 BOX.2 to SP white 1 mm2 0.5 m", "wire 3 BOX.2 to SP white 0.5 mm2 15 m")
    (message,) = messages(text + "expect in stopping: BOX dead\n", "unmet-expectation")
    assert message.startswith("BOX is expected dead in stopping, and its kill wire leaves ")
    assert message.endswith("of its voltage: under 15 % it is stopped")


@pytest.mark.parametrize(
    ("ohms", "level", "words"), [(100, "error", "BOX never fires"), (400, "warning", "BOX may never fire")]
)
def test_a_leak_that_lets_nothing_fire_is_found(ohms: int, level: str, words: str) -> None:
    leaky = BOX.replace("LEAK 1000 ohm", f"LEAK {ohms} ohm").replace("state idling { engine idling }\n", "")
    report = check(read_text(leaky), today=date(2026, 6, 1))
    (found,) = (each for each in report.findings if each.rule == "never-live")
    assert found.level.word == level
    assert found.message.startswith(f"{words}: {ohms} ohm from its kill wire BOX.2 to BOX.31 leaves it")
    assert messages(BOX, "never-live") == []


def test_a_claim_of_live_counts_the_leak() -> None:
    text = BOX.replace("LEAK 1000 ohm", "LEAK 100 ohm") + "expect in riding: BOX live\n"
    (message,) = messages(text, "unmet-expectation")
    assert "what is connected to its kill wire leaves" in message


def test_states_says_what_a_path_leaves() -> None:
    operation = Operation(build_circuit(read_text(BOX).harness))
    said = " ".join(states_text(state_tables(operation, profile_named("boat-law"), ["riding"])).split())
    assert "BOX: 1,000 ohm from its kill wire to its return leave 51 % of its voltage: runs on" in said


# --- in every position that stops, named or not ----------------------------------------------------------------------
LONG = POINTS.replace("state stopping { STOP stop, engine running }\nexpect in stopping: SPARK dead\n", "")


@pytest.mark.parametrize(
    ("metres", "words"),
    # By hand: 10 m of 0.5 mm2 copper have some 0.4 ohm, as much as the primary; with 3 m it keeps 27 % at most.
    [(3, ""), (10, "at most 53 %")],
)
def test_a_kill_wire_of_thin_wire_may_not_stop_points(metres: int, words: str) -> None:
    found = messages(LONG.replace("white 1 mm2 1 m", f"white 0.5 mm2 {metres} m"), "no-kill-path")
    assert [message for message in found if words in message] == found
    assert len(found) == bool(words)
    for message in found:
        assert message.startswith("STOP stop may not stop SPARK: 0.45")
        assert message.endswith("of its voltage at idling speed, and only under 15 % it is surely stopped")


@pytest.mark.parametrize(("metres", "level"), [(0.5, ""), (3, "warning"), (15, "error")])
def test_a_kill_wire_that_leaves_a_box_its_voltage(metres: float, level: str) -> None:
    """A winding of 1.2 ohm at running speed, 0.4 of it resistance, has 0.53 ohm at idling speed."""
    text = BOX.replace("300 ohm open 150 V short 0.1 A", "0.4 ohm open 150 V short 125 A")
    text = text.replace("wire 3 BOX.2 to SP white 1 mm2 0.5 m", f"wire 3 BOX.2 to SP white 0.5 mm2 {metres} m")
    text = text.partition("state idling")[0]
    found = [f for f in check(read_text(text), today=date(2026, 6, 1)).findings if f.rule == "no-kill-path"]
    assert [each.level.word for each in found] == ([level] if level else [])
    for each in found:
        ohms = next(figure.value for figure in each.figures if figure.label == "kill wire to return")
        share = ohms / math.hypot(0.4 + ohms, 0.3 * math.sqrt(1.2**2 - 0.4**2))
        assert f"leave it {100.0 * share:.3g} % of its voltage" in each.message
        enough = next(figure.value for figure in each.figures if figure.label == "allowed")
        assert enough / math.hypot(0.4 + enough, 0.3 * math.sqrt(1.2**2 - 0.4**2)) == pytest.approx(0.15)


def test_a_battery_ignition_has_no_such_path() -> None:
    text = (Path(__file__).parents[3] / "specs" / "small" / "points-single.loom").read_text("utf-8")
    assert messages(text, "no-kill-path") == []
