"""What is open inside a part: a coil holds no contact, a winding excites nothing and gives no signal."""

from __future__ import annotations

from pathlib import Path

import pytest
from detectives import detective

from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.fmea.failure_modes import Damage, Fault
from loomwright.checks.fmea.plain import struck

SPECS = Path(__file__).parents[3] / "specs"


def asked(name: str, state: str, *texts: str) -> Diagnosis:
    found = detective(name, state)
    return found.inquire([each for text in texts for each in observations(text, found.places)])


@pytest.mark.parametrize(
    ("name", "state", "key", "moved"),
    [
        ("stock", "cranking", "K-START coil", "pulled"),
        ("rebuild", "cranking", "STARTER-RELAY coil", "pulled"),
        ("rebuild", "riding-dip", "CTRL supply", "on"),
        ("stock", "riding-dip", "PICK-LEFT", "on"),
        ("stock", "riding-dip", "ALT field", "excited"),
        ("small/permanent-magnet-twin", "riding", "PICK-UP", "on"),
        ("small/six-volt-dynamo", "riding", "DYN field", ""),
    ],
)
def test_what_is_open_inside_moves_what_it_moved_and_is_the_same_solved_either_way(
    name: str, state: str, key: str, moved: str
) -> None:
    """Its terminals keep their voltage: what its current did is gone all the same. Together with others or alone."""
    here = detective(name, state).predictions.here
    damage = Damage((here.point.circuit.by_key[key],))
    (after,) = here.propagation.of([damage])
    alone = struck(here.propagation.operation, here.point, damage)
    assert after.problem == ""
    assert after.memory == alone.memory
    assert {m.supply for m in after.situation.machines} == {m.supply for m in alone.flow.situation.machines}
    if moved:
        assert getattr(after.memory, moved) < getattr(here.point.memory, moved)
    else:
        assert here.point.flow.situation.machines
        assert not after.situation.machines


def test_a_burnt_out_relay_coil_leaves_the_starter_dead() -> None:
    seen = "STARTER dead, COIL-LEFT live"
    (group,) = asked("stock", "cranking", seen, "12.1 V at K-START.86", "0.0 V at K-START.85").ambiguity_groups
    assert [s.fault.key for s in group.suspects] == ["K-START coil"]
    assert [reason.words for reason in group.reasons] == [
        "K-START drops out: its coil is open",
        "COIL-LEFT is live with the fault and without",
        "predicts 12.1 V at K-START.86",
        "predicts 0.0 V at K-START.85",
    ]
    assert Fault("K-START coil") in {s.fault for s in asked("stock", "cranking", "STARTER dead").suspects}
    seen = "STARTER dead, STARTER-RELAY dead, COIL-LEFT live, WARN.neutral live"
    readings = ("12.4 V at STARTER-RELAY.86", "0.0 V at STARTER-RELAY.85")
    (group,) = asked("rebuild", "cranking", seen, *readings).ambiguity_groups
    assert [s.fault.key for s in group.suspects] == ["STARTER-RELAY coil"]
    assert all(reason.explains for reason in group.reasons)


def test_worn_brushes_are_a_suspect_beside_the_alternators_mount() -> None:
    """The field gets its voltage at DF and takes no current; only the mount lifts the housing to that voltage, too."""
    found = asked("stock", "key-on", "WARN.charge dead", "12.4 V at ALT.DF", "0.0 V at ENGINE")
    assert [s.fault.key for g in found.ambiguity_groups for s in g.suspects] == ["ALT field", "mount ALT.31"]
    also = ("RECT gets too little field current to start charging",)
    assert [g.also for g in found.ambiguity_groups] == [also, also]
    assert found.next is not None
    assert found.next.where == "at ALT.31"
    assert [(sorted(f.key for f, _ in row.suspects), row.sound) for row in found.next.expected] == [
        (["ALT field"], True),
        (["mount ALT.31"], False),
    ]


def test_the_winding_of_a_pick_up_is_a_suspect_beside_its_wires() -> None:
    readings = ("13.9 V at COIL-LEFT.15", "13.9 V at COIL-LEFT.1")
    found = asked("stock", "riding-dip", "COIL-LEFT dead, COIL-RIGHT live", *readings)
    assert Fault("PICK-LEFT") in {s.fault for s in found.suspects}
    assert Fault("PICK-RIGHT") not in {s.fault for s in found.suspects}


@pytest.mark.parametrize(
    ("name", "seen", "key"),
    [
        ("six-volt-magneto", "SPARK dead", "SPARK.primary"),
        ("trail-bike", "BOX dead", "MAG.exciter"),
        ("trail-bike", "HEAD dead, BOX live", "MAG.light"),
    ],
)
def test_the_windings_of_a_magneto_are_suspects(name: str, seen: str, key: str) -> None:
    found = asked(f"small/{name}", "riding", seen)
    assert not found.partial
    assert Fault(key) in {s.fault for s in found.suspects}


def test_a_primary_says_that_it_is_the_one() -> None:
    found = asked("small/six-volt-magneto", "riding", "SPARK dead")
    (group,) = [g for g in found.ambiguity_groups if g.suspects[0].fault.key == "SPARK.primary"]
    assert [reason.words for reason in group.reasons] == ["it is SPARK.primary itself"]


def test_of_groups_that_fit_alike_the_one_that_more_can_break_comes_first() -> None:
    """By 13.87 V at the coil the winding of the pick-up fits a microvolt better than the wire and its output."""
    found = asked(
        "stock", "riding-main", "COIL-RIGHT dead", "13.87 V at COIL-RIGHT.15", "-0.07 V from START.1 to START.2"
    )
    firsts = [str(group.suspects[0].fault.key) for group in found.ambiguity_groups]
    assert firsts[:5] == ["wire 35.1", "wire 36.1", "wire 31", "PICK-RIGHT", "COIL-RIGHT.primary"]
