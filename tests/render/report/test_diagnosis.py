"""Inquiries as text and as JSON. The golden ones were read against the circuit by hand."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.probes import Lead
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.ids import End
from loomwright.lang.files.reading import read_text
from loomwright.render.report.diagnosis import CAUTION, inquiry_text
from loomwright.render.report.diagnosis_json import inquiry_json
from tests.golden import same_as_golden

SPECS = Path(__file__).parents[3] / "specs"


def asked(name: str, state: str, *seen: str) -> Diagnosis:
    found = detective(name, state)
    return found.inquire([each for text in seen for each in observations(text, found.places)])


def text(name: str, state: str, *seen: str) -> str:
    return inquiry_text(asked(name, state, *seen), detective(name, state).point.circuit.harness, state)


@pytest.mark.parametrize(
    ("golden", "name", "state", "seen"),
    [
        ("inquiry-dip.txt", "stock", "riding-dip", ("HEAD.dip dead",)),
        ("inquiry-joint.txt", "stock", "riding-dip", ("HORN dead", "HEAD.dip 9.1 V at 56b")),
        ("inquiry-starter.txt", "stock", "cranking", ("STARTER dead", "K-START dead")),
        ("inquiry-stop-lamp.txt", "rebuild", "braking", ("REAR.stop dead, REAR.tail live",)),
        ("inquiry-ohms.txt", "small/capacitor-single", "riding", ("HEAD dead", "14.2 V at HEAD.31", "0 V at FRAME")),
        ("inquiry-horn.txt", "rebuild", "riding-dip", ("HORN live",)),
        ("inquiry-blown-fuse.txt", "stock", "riding-dip", ("HEAD.dip dead", "14 V at F-HEAD.1", "0 V at F-HEAD.2")),
        ("inquiry-tripped.txt", "rebuild", "braking", ("REAR.stop dead", "0 V at C-TAIL.1s", "14 V at C-ENGINE.4s")),
        ("inquiry-magneto.txt", "small/magneto-single", "riding", ("SPARK dead",)),
        ("inquiry-positive-ground.txt", "small/six-volt-dynamo", "riding", ("HEAD dead",)),
    ],
)
def test_as_it_was_looked_at(golden: str, name: str, state: str, seen: tuple[str, ...]) -> None:
    found = text(name, state, *seen)
    assert max(len(line) for line in found.splitlines()) <= 100
    same_as_golden(golden, found)


def test_an_inquiry_that_finds_nothing_and_one_that_needs_nothing() -> None:
    nothing = text("stock", "turning-left", "FL live")
    assert nothing.startswith("In turning-left the harness does all this without any fault: FL live. Ask in a state")
    assert "Measure next" not in nothing
    none = text("stock", "riding-dip", "HORN live")
    assert none.startswith("No single open conductor, contact, fuse or load, no bad joint and no wire ")
    assert " no wire shorted to ground explains what " in " ".join(none.split())
    partial = " ".join(text("stock", "turning-left", "FL dead", "RR live").split())
    assert "28 suspects in 10 groups, the likeliest first. None explains all of it: nearest only." in partial
    assert (
        "Look for two faults, a contact that sticks closed, or an observation that is not so. In turning-left RR is "
        "off without any fault: if it is on with every switch" in partial
    )
    assert "Measure next" not in partial
    assert "does not fit: RR live: RR is dead with the fault and without" in partial


def test_every_sheet_ends_with_its_cautions() -> None:
    for seen in ("FL live", "FL dead", "RR live"):
        found = text("stock", "turning-left", seen)
        assert " ".join(found.split()).endswith(CAUTION)


def test_a_blown_fuse_was_blown_by_something() -> None:
    assert "find the short behind it" in text("stock", "riding-dip", "HEAD.dip dead")
    assert "find the short behind it" not in text("stock", "turning-left", "FL dead, RL live")


def test_an_inquiry_as_json() -> None:
    found = json.loads(inquiry_json(asked("stock", "turning-left", "FL dead, RL live"), "turning-left"))
    assert found["seen"] == ["FL dead", "RL live"]
    assert found["partial"] is False
    assert [s["branch"] for ambiguity_group in found["chains"] for s in ambiguity_group["suspects"]] == [
        "wire 84",
        "FL.turn",
        "wire 78",
    ]
    assert found["chains"][2]["reasons"][0] == {
        "seen": "FL dead",
        "explains": True,
        "why": "open circuit between F-TURN and FL.L",
    }
    assert sum(ambiguity_group["weight"] for ambiguity_group in found["chains"]) == pytest.approx(1.0, abs=0.01)
    assert found["version"] == 3
    assert [ambiguity_group["history"] for ambiguity_group in found["chains"]] == ["", "", ""]
    assert found["measure"]["red"] == "FL.31"
    assert found["measure"]["black"] == "BAT.-"
    assert found["measure"]["then"] == "X V at FL.31"
    low, high = found["measure"]["readings"]
    assert (low["sound"], high["sound"]) == (True, False)
    assert (low["over"], high["under"]) == (None, None)
    assert low["under"] == high["over"]
    assert found["ohms"] == []
    assert found["caution"] == CAUTION


def test_ohms_as_json() -> None:
    found = json.loads(
        inquiry_json(
            asked("small/capacitor-single", "riding", "HEAD dead", "14.2 V at HEAD.31", "0 V at FRAME"), "riding"
        )
    )
    assert found["measure"] is None
    assert {row["branch"] for row in found["ohms"]} == {"wire 16", "wire 17"}


def test_a_blown_fuse_as_json() -> None:
    found = json.loads(
        inquiry_json(asked("stock", "riding-dip", "HEAD.dip dead", "14 V at F-HEAD.1", "0 V at F-HEAD.2"), "riding-dip")
    )
    caused, alone = found["chains"]
    assert (caused["mode"], caused["opens"]) == ("short to ground", ["F-HEAD"])
    assert (alone["mode"], alone["opens"]) == ("open", [])
    assert found["measure"] is None
    assert [row["branch"] for row in found["ohms"]] == ["F-HEAD"]
    (way,) = found["to_ground"]
    assert way["branches"] == [s["branch"] for s in caused["suspects"]]
    assert (way["take_out"], way["red"], way["black"]) == (["F-HEAD"], "F-HEAD.2", "ENGINE")


def test_figures_as_json_have_six_significant_digits() -> None:
    found = inquiry_json(asked("stock", "riding-dip", "HEAD.dip dead"), "riding-dip")
    for figure in re.findall(r"(?<=: )-?\d+\.\d+(?:e-?\d+)?", found):
        assert float(figure) == float(f"{float(figure):.6g}")
    assert len(re.findall(r'"(?:weight|least|most)": -?\d+\.\d', found)) > 20


def test_never_a_bigger_fuse_and_a_contact_that_sticks() -> None:
    blown = " ".join(text("stock", "riding-dip", "HEAD.dip dead").split())
    assert "A larger fuse, or a piece of wire, sets the harness on fire instead." in blown
    assert "sticks closed" not in blown
    horn = " ".join(text("rebuild", "riding-dip", "HORN live").split())
    assert "sticks closed shows as its wire shorted to ground does" in horn


def test_without_regulation_a_slower_engine_explains_less_than_the_most() -> None:
    found = " ".join(text("stock", "riding-dip", "15.8 V at BAT.+").split())
    assert "wire 17: open explains 15.8 V at BAT.+: predicts 14.2 V to 17.7 V at BAT.+ would also: BAT is over" in found


def test_a_reading_that_counts_as_sound_says_how_far_off_it_may_be() -> None:
    found = " ".join(text("stock", "riding-dip", "13.9 V at BAT.+").split())
    assert (
        "A reading up to some 8 % off what is predicted counts as the same, but none over 14.6 V: no battery is "
        "charged with more. Across the battery 13.8 V is the least." in found
    )


def test_what_a_battery_is_not_charged_with_is_no_reading_of_a_sound_harness() -> None:
    found = " ".join(text("stock", "riding-dip", "14.8 V at BAT.+").split())
    assert (
        "14.8 V at BAT.+ is over 14.6 V, the most that a battery is charged with here: a regulator that has failed "
        "does that and is not among the faults that are judged here. An overcharged battery gives off explosive gas: "
        "stop the engine and see to the regulator, what it senses and its ground first." in found
    )
    assert "wire 17: open explains 14.8 V" in found


def test_with_the_battery_out_what_meets_at_a_pole_stays_joined() -> None:
    """The engine and the frame meet at BAT.- alone: off the post a wire chafed on the frame is open to the engine."""
    horn = " ".join(text("rebuild", "key-on", "HORN live").split())
    assert (
        "Disconnect the battery, minus first. Clip the leads of each pole together, off its post: wire 1 and wire 2 "
        "(BAT.+); wire 4 and wire 5 (BAT.-). Keep plus and minus apart. Measure resistance" in horn
    )
    assert "measure C-LEFT.2s (connector at headstock) to ENGINE" in horn
    seen = ("HEAD dead", "14.2 V at HEAD.31", "0 V at FRAME")
    single = " ".join(text("small/capacitor-single", "riding", *seen).split())
    assert "Measure resistance" in single
    assert "Clip" not in single  # there is no battery


def test_what_works_with_the_key_off_sticks_or_is_fed_by_what_is_not_judged() -> None:
    live = " ".join(text("stock", "put-away", "IGN live").split())
    assert (
        "In put-away IGN is off without any fault: if it is on with every switch, the key too, as in put-away, look "
        "for a contact that sticks closed and for a wire shorted to a live feed, which are not judged. If a switch is "
        "otherwise, ask in a state with IGN on." in live
    )
    dim = " ".join(text("stock", "put-away", "HEAD.dip dim").split())
    assert "In put-away HEAD.dip is off without any fault: ask in a state with HEAD.dip on. Single faults only" in dim


@pytest.mark.parametrize(
    ("name", "state", "seen", "suspect", "also"),
    [
        ("stock", "turning-left", "REAR.stop dead", "wire 72.1", ["REAR.tail dead", "PLATE dead"]),
        ("rebuild", "braking", "REAR.stop dead", "wire 146.1", ["REAR.tail dead", "PLATE dead"]),
        ("stock", "parked", "PLATE dead", "wire 72.1", ["REAR.tail dead"]),
        ("stock", "turning-left", "REAR live, PLATE dead", "wire 56.1", ["REAR.tail dead"]),
    ],
)
def test_what_else_of_a_named_part_would_change_is_listed(
    name: str, state: str, seen: str, suspect: str, also: list[str]
) -> None:
    """Wire 72 and wire 146 ground the whole tail lamp: whether the tail is on tells them without a meter."""
    groups = asked(name, state, seen).ambiguity_groups
    (group,) = (g for g in groups if suspect in [s.fault.key for s in g.suspects] and not g.opens)
    assert list(group.also) == also


@pytest.mark.parametrize("suspect", ["wire 7.1", "MAIN"])
def test_the_tail_is_listed_beside_everything_else_that_a_main_feed_takes(suspect: str) -> None:
    group = next(
        g
        for g in asked("stock", "turning-left", "REAR.stop dead").ambiguity_groups
        if suspect in (*[s.fault.key for s in g.suspects], *g.opens)
    )
    assert "PLATE dead" in group.also
    assert group.also[group.also.index("PLATE dead") - 1] == "REAR.tail dead"


def test_the_other_elements_of_a_named_headlamp_are_listed() -> None:
    found = asked("rebuild", "riding-main", "HEAD.main dead")
    assert all("HEAD.main" not in said for group in found.ambiguity_groups for said in group.also)
    dipped = {s.fault.key: "HEAD.dip live" in g.also for g in found.ambiguity_groups for s in g.suspects}
    assert dipped["wire 137.1"]  # DIP does not reach the unit: it takes the beam for dipped
    assert not dipped["wire 139.1"]


def killed(name: str) -> Diagnoser:
    """A demonstration with the key on and the stop switch at stop."""
    spec = SPECS / f"{name}.loom"
    harness = read_text(spec.read_text("utf-8") + "\nstate killed { KEY on, KILL stop }\n", str(spec)).harness
    return Diagnoser(Sweep(Operation(build_circuit(harness))), "killed")


@pytest.mark.parametrize(
    ("name", "seen", "where"), [("rebuild", "12.3 V at IGN.15", "IGN.15"), ("stock", "12.3 V at COIL-LEFT.15", "")]
)
def test_a_voltage_where_none_is_due_suspects_no_place_that_does_not_give_it(name: str, seen: str, where: str) -> None:
    """KILL stuck closed, or its two leads touching: wire 5 gives 5.2 V and 8.3 V there at most, and is no suspect."""
    found = killed(name)
    diagnosis = found.inquire(observations(seen, found.places))
    assert (diagnosis.ambiguity_groups, diagnosis.partial, diagnosis.next) == ((), False, None)
    said = " ".join(inquiry_text(diagnosis, found.point.circuit.harness, "killed").split())
    assert said.startswith(
        "No single open conductor, contact, fuse or load, no bad joint and no wire shorted to ground explains what is "
        f"seen in killed: {seen}. Look for two faults, a contact that sticks closed, or an observation that is not so. "
        f"In killed there is no voltage at {where or 'COIL-LEFT.15'} without any fault: if it is read with every "
        "switch, the key too, as in killed, look for a contact that sticks closed and for a wire shorted to a live "
        "feed, which are not judged. If a switch is otherwise, ask in a state with it so. "
    )
    assert "Only this is left" not in said


@pytest.mark.parametrize(
    ("restless", "said"),
    [
        (False, "Only this is left: look at it, clean it, try another in its place."),
        (
            True,
            (
                "Only this is left, and with it the reading would not stand still. If it did, it is not this: see to "
                "the battery, then look for two faults."
            ),
        ),
    ],
)
def test_what_is_left_and_would_make_a_reading_jump_is_not_it_where_that_stood_still(restless: bool, said: str) -> None:
    found = asked("stock", "riding-dip", "POS dead")
    reasons = tuple(replace(reason, restless=restless) for reason in found.ambiguity_groups[0].reasons)
    group = replace(found.ambiguity_groups[0], reasons=reasons)
    alone = replace(found, ambiguity_groups=(group,), next=None, ohms=(), to_ground=())
    shown = " ".join(inquiry_text(alone, detective("stock", "riding-dip").point.circuit.harness, "riding-dip").split())
    assert said in shown
    assert shown.count("Only this is left") == 1


def test_a_voltage_with_the_key_off_is_measured_no_further_among_what_does_not_give_it() -> None:
    said = " ".join(text("stock", "put-away", "12.4 V at COIL-LEFT.15").split())
    assert "In put-away there is no voltage at COIL-LEFT.15 without any fault: if it is read with every switch" in said
    assert "does not fit" not in said
    assert "Measure next" not in said
    found = json.loads(inquiry_json(asked("stock", "put-away", "12.4 V at COIL-LEFT.15"), "put-away"))
    assert (found["chains"], found["measure"], found["ohms"]) == ([], None, [])


def test_what_is_so_without_any_fault_makes_no_suspect_of_what_explains_no_more() -> None:
    """HORN is dead in any case: that explains nothing of the voltage at the coil."""
    said = " ".join(text("stock", "put-away", "HORN dead, 12.4 V at COIL-LEFT.15").split())
    assert "explains what is seen in put-away: HORN dead, 12.4 V at COIL-LEFT.15. Look for two faults" in said


def test_less_than_is_due_speaks_of_no_feed() -> None:
    said = " ".join(text("stock", "put-away", "6 V at BAT.+").split())
    assert "Look for two faults, a contact that sticks closed, or an observation that is not so. Single" in said


def test_an_end_that_no_probe_reaches_is_measured_from_a_terminal_with_the_wire_between() -> None:
    found = " ".join(text("rebuild", "riding-main", "HEAD.main dead, HEAD.dip live").split())
    assert "In brackets: what leads from the terminal to an end that no probe reaches, measured with it. wire" in found
    assert " wire 148.2: C-LEFT.7p to CLUTCH.2 (wire 149 to SP-BL) wire 151: CLUTCH.2 (wire 149 to SP-BL)" in found
    assert " wire 145: FRAME to C-RIGHT.6s (wire 153.1 to SP-G2), one end taken off: " in found
    diagnosis = asked("rebuild", "riding-main", "HEAD.main dead, HEAD.dip live")
    harness = detective("rebuild", "riding-main").point.circuit.harness
    buried = replace(diagnosis, ohms=(replace(diagnosis.ohms[0], red=Lead(End("SP-G2"), None)),))
    assert "wire 148.1: SP-G2 (no bare terminal is joined to it: its cover must come off) to C-LEFT.7s" in " ".join(
        inquiry_text(buried, harness, "riding-main").split()
    )
    rows = {row["branch"]: row for row in json.loads(inquiry_json(diagnosis, "riding-main"))["ohms"]}
    assert rows["wire 151"] == {
        "branch": "wire 151", "red": "CLUTCH.2", "black": "DIP.2", "with": ["wire 149"], "take_one_end_off": False,
        "kind": "continuity", "least_ohm": None, "most_ohm": None, "held": "", "instead": ""
    }  # fmt: skip


def test_no_lamp_is_called_dim_since_the_engine_has_stopped() -> None:
    """Every lamp is dimmer then, and nobody takes that for a fault."""
    found = " ".join(text("stock", "idling", "COIL-LEFT dead").split())
    cut = "wire 29: open explains COIL-LEFT dead: IGN is off: open circuit between F-IGN and IGN.15 would also: "
    assert cut + "IGN dead, COIL-RIGHT dead, WARN.charge live and WARN.oil live 14 " in found


def test_a_reading_that_counts_as_sound_says_what_is_predicted() -> None:
    """12.1 V is within what a meter and a battery may be off from 12.6 V, and is not called what the harness shows."""
    found = " ".join(text("stock", "put-away", "12.1 V at BAT.+", "12.6 V at KEY.30", "0 V at KEY.15").split())
    seen = "12.1 V at BAT.+ (predicted: 12.6 V), 12.6 V at KEY.30, 0 V at KEY.15"
    assert found.startswith(f"In put-away the harness does all this without any fault: {seen}. Ask in a state in which")
    told = json.loads(inquiry_json(asked("stock", "put-away", "12.1 V at BAT.+"), "put-away"))
    assert told["predicted"] == [{"seen": "12.1 V at BAT.+", "least": 12.6, "most": 12.6}]


def test_readings_that_are_not_judged_are_in_the_json_too() -> None:
    high = json.loads(inquiry_json(asked("stock", "idling", "15.5 V at BAT.+"), "idling"))
    assert high["over_charge"] == ["15.5 V at BAT.+"]
    field = json.loads(inquiry_json(asked("stock", "riding-dip", "9 V at ALT.DF"), "riding-dip"))
    assert field["field_current_not_known"] == ["9 V at ALT.DF"]
    off = json.loads(inquiry_json(asked("stock", "put-away", "HEAD.dip dim"), "put-away"))
    assert off["off_without_fault"] == ["HEAD.dip"]
