"""Duty is a share of time: what a coil has while its circuit is closed, what warms copper, what drains a battery."""

from __future__ import annotations

from itertools import pairwise

import pytest
from checked_text import all_findings, sound, trial

from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text


def operation(name: str, *changes: tuple[str, str]) -> Operation:
    return Operation(build_circuit(sound(trial(name, *changes)).harness))


def test_a_coil_behind_a_ballast_has_what_a_sheet_of_paper_says() -> None:
    """12.6 V over 1.5 + 1.5 ohm and some milliohms: 4.1 A while closed, 60 % of the time."""
    point = operation("coil-behind-ballast").state("on")
    closed = point.amps("COIL.primary")
    assert closed == pytest.approx(12.6 / 3.07, rel=0.01)
    assert point.across("COIL.primary") == pytest.approx(1.5 * closed)
    assert point.mean_amps("COIL.primary") == pytest.approx(0.6 * closed, rel=1e-6)  # 2.5 A
    assert point.mean_amps("BAT") == pytest.approx(0.6 * closed, rel=1e-6)
    assert point.heating_amps("MAIN") == pytest.approx(0.6**0.5 * closed, rel=1e-6)
    assert point.watts("BALLAST") == pytest.approx(0.6 * 1.5 * closed**2, rel=1e-6)


def test_what_the_sources_give_the_rest_takes() -> None:
    point = operation("coil-behind-ballast").state("on")
    taken = sum(point.watts(branch.key) for branch in point.circuit.branches)
    assert point.watts("BAT") == pytest.approx(taken, rel=1e-6)


def test_engine_still_and_points_closed_takes_the_whole_current_all_the_time() -> None:
    still = operation("coil-behind-ballast", ("state idle-on { KEY on }", "state idle-on { KEY on, POINTS closed }"))
    point = still.state("idle-on")
    assert point.mean_amps("COIL.primary") == pytest.approx(12.6 / 3.07, rel=0.01)
    assert point.heating_amps("MAIN") == pytest.approx(point.mean_amps("COIL.primary"))
    assert still.loading("MAIN").continuous.state == "idle-on"


@pytest.mark.parametrize(
    ("name", "state", "most"), [("coil-duty-in-bound", "", 1.0), ("stop-while-running", "killed", 1.7)]
)
def test_a_coil_fed_through_a_lamp_is_dead_by_numbers_too(name: str, state: str, most: float) -> None:
    """As R/duty the coil had 3.0 V and 4.6 V, and no proof agreed."""
    found = operation(name)
    if state:
        point = found.state(state)
    else:  # moved there from riding: the machine is still excited
        riding = found.state("riding")
        point = found.at({**riding.positions, "KEY": "off"}, riding.memory)
    assert 0.5 < point.across("COIL.primary") < most


def test_an_output_on_while_the_pickup_is_open_counts_whatever_the_engine_does() -> None:
    found = operation("coil-on-not-pickup")
    nobody_says = found.at({"KEY": "on", "engine": "running"})
    assert nobody_says.amps("COIL.primary") == pytest.approx(4.1, rel=0.01)
    for state, amps in (("wait", 4.1), ("spark", 0.0), ("still", 4.1)):
        assert found.state(state).amps("COIL.primary") == pytest.approx(amps, rel=0.01)
    assert found.loading("MAIN").continuous.amps == pytest.approx(4.2, rel=0.01)


def test_a_position_that_a_state_names_is_believed_in_an_expectation_too() -> None:
    text = trial("coil-on-not-pickup")
    assert not all_findings(text)
    (found,) = all_findings(text + "\nexpect in spark: COIL live\n")
    assert found.rule == "unmet-expectation"


BY_SENSOR = (
    (
        "switch PICKUP 0.1 A senses crank at tray for ignition { wait: ; spark: 1 2 }",
        "sensor PICKUP at tray for ignition { signal 210 ohm: 1 2 }",
    ),
    ("input pick grounded: P", "input pick signal: P PG"),
    ("wire 10 PICKUP.2 to MODULE.31 black", "wire 10 PICKUP.2 to MODULE.PG blue"),
)


def test_the_same_with_a_sensor_that_gives_a_signal() -> None:
    changed = operation("coil-on-not-pickup", *BY_SENSOR, (", PICKUP wait", ""), (", PICKUP spark", ""))
    assert changed.state("wait").amps("COIL.primary") == pytest.approx(4.1, rel=0.01)
    said = changed.at({"KEY": "on", "engine": "running", "MODULE.pick": "active"}, pinned=frozenset({"MODULE.pick"}))
    assert said.amps("COIL.primary") == pytest.approx(0.0, abs=1e-6)


def test_a_state_says_whether_a_signal_is_there() -> None:
    """As `PICKUP wait` and `spark` say it of the contact: numbers and logic both believe it."""
    changes = (*BY_SENSOR, ("PICKUP wait", "MODULE.pick idle"), ("PICKUP spark", "MODULE.pick active"))
    changed = operation("coil-on-not-pickup", *changes)
    for state, amps in (("wait", 4.1), ("spark", 0.0), ("still", 4.1)):
        assert changed.state(state).amps("COIL.primary") == pytest.approx(amps, rel=0.01)
    text = trial("coil-on-not-pickup")
    for old, new in changes:
        text = text.replace(old, new)
    claims = "expect in wait: COIL live\nexpect in spark: COIL dead\n"
    claims += "expect whenever KEY on and engine running and MODULE.pick active: COIL dead\n"
    assert not all_findings(text + claims)
    wrong = text + claims.replace("spark: COIL dead", "spark: COIL live").replace("wait: COIL live", "wait: COIL dead")
    assert [f.rule for f in all_findings(wrong)] == ["unmet-expectation"] * 2


def test_a_signal_that_no_turning_engine_gives_cannot_be() -> None:
    changes = (*BY_SENSOR, (", PICKUP wait", ""), (", PICKUP spark", ""))
    text = trial("coil-on-not-pickup")
    for old, new in changes:
        text = text.replace(old, new)
    (found,) = all_findings(text + "state parked { KEY on, MODULE.pick active }\n")
    assert (found.rule, found.about) == ("impossible-state", ("MODULE",))
    assert found.message == (
        "state parked is impossible: condition MODULE.pick active never occurs with KEY on; the rest of it was not "
        "checked"
    )
    assert found.to_do.startswith("write `engine running` in state parked: MODULE.pick is a signal")
    assert not all_findings(text + "state parked { KEY on, MODULE.pick idle }\n")


TWO_COILS = """
loom "Two coils of unlike duty beside a lamp, on a machine of little"
source BAT battery { voltage 12.6 V; capacity 9 Ah; resistance 25 mohm }
source ALT alternator { output 130 W: B+ B-; regulated 14.2 V }
fuse MAIN 20 A blade
load C1 ignition for ignition { primary 3 ohm duty 30 %: 15 1 }
load C2 ignition for ignition { primary 4 ohm duty 60 %: 15 1 }
load HEAD { dip 55 W lamp: 1 2 }
ground F
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
splice S
wire 2 MAIN.2 to S red 2 mm2 0.15 m
wire 3 ALT.B+ to S red 2 mm2 0.15 m
wire 4 S to C1.15 red 2 mm2 0.15 m
wire 5 S to C2.15 red 2 mm2 0.15 m
wire 6 S to HEAD.1 red 2 mm2 0.15 m
mount C1.1 to F
mount C2.1 to F
mount HEAD.2 to F
mount ALT.B- to F
wire 7 BAT.- to F black 4 mm2 0.3 m
state riding { engine running }
"""


def test_two_coils_of_unlike_duty() -> None:
    point = Operation(build_circuit(read_text(TWO_COILS).harness)).state("riding")
    (_, both), (_, second), _ = point.moments
    assert point.heating_amps("wire 4") == pytest.approx(0.3**0.5 * both.amps("C1.primary"), rel=1e-3)
    square = 0.3 * both.amps("C2.primary") ** 2 + 0.3 * second.amps("C2.primary") ** 2
    assert point.heating_amps("wire 5") == pytest.approx(square**0.5, rel=1e-3)
    shares = [share for share, _ in point.flow.moments]
    assert shares == pytest.approx([0.3, 0.3, 0.4])
    closed = [flow.amps["wire 4"] + flow.amps["wire 5"] for _, flow in point.flow.moments]
    assert all(more > less for more, less in pairwise(closed))


def test_a_machine_that_makes_what_is_drawn_on_the_average_charges() -> None:
    """5.6 A of lamp and some 3.5 A of coils are less than 9.2 A; while both coils are closed it is more."""
    riding = Operation(build_circuit(read_text(TWO_COILS).harness)).state("riding")
    assert riding.mean_amps("BAT") < 0.0
    assert riding.across("HEAD.dip") > 13.5  # the battery lends what the moment asks for
    small = Operation(build_circuit(read_text(TWO_COILS.replace("130 W", "80 W")).harness)).state("riding")
    assert small.mean_amps("BAT") > 0.5
