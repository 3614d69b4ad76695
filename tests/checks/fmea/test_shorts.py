"""Wires that chafe through to ground: what opens, and what works then that should not."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from loomwright.checks.fmea.effects import Category
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.outcome import Outcome
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.fmea.shorts import Short
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).parents[3] / "specs"


def swept(text: str) -> Sweep:
    reading = read_text(text.strip() + "\n")
    assert reading.mistakes == ()
    return Sweep(Operation(build_circuit(reading.harness)))


@cache
def shorts(name: str, state: str) -> dict[str, tuple[Short, Outcome]]:
    found = Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness)))
    return found.shorts(state, Protection(found.circuit))


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_some_wires_alone_do_what_they_do_among_all(name: str) -> None:
    """What is shorted to ground in one net is solved once, by the first wire of the text, whichever are asked about."""
    found = Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness)))
    protection = Protection(found.circuit)
    every = shorts(name, "idling")
    some = {key for number, key in enumerate(every) if number % 5 == 4}
    asked = found.state("idling").shorts(protection, some)
    assert list(asked) == [key for key in every if key in some]
    for key, (short, outcome) in asked.items():
        same, among_all = every[key]
        assert short == same
        told, expected = (
            [(e.thing, e.was, e.now, round(e.share, 6), e.category) for e in each.effects]
            for each in (outcome, among_all)
        )
        assert told == expected


def ends(found: tuple[Short, Outcome]) -> dict[str, str]:
    return {effect.thing: effect.now for effect in found[1].effects}


GROUND_SIDE = """
loom "A horn and a lamp that their switches join to ground, each behind a fuse"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
fuse F-HORN 5 A blade at tray
load HORN horn at tray { horn 3 A: 1 2 }
load LAMP lamp at tray { glow 10 W: 1 2 }
switch PRESS 5 A momentary at tray { rest: ; press: 1 2 }
switch LIGHT 5 A at tray { off: ; on: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.1 m
wire 2 MAIN.2 to F-HORN.1 red 2.5 mm2 0.1 m
wire 3 F-HORN.2 to HORN.1 red 1 mm2 0.5 m
wire 4 HORN.2 to PRESS.1 black/green 1 mm2 0.5 m
wire 5 PRESS.2 to BAT.- black 1 mm2 0.5 m
wire 6 MAIN.2 to LIGHT.1 red 1 mm2 0.5 m
wire 7 LIGHT.2 to LAMP.1 blue 1 mm2 0.5 m
wire 8 LAMP.2 to BAT.- black 1 mm2 0.5 m
state quiet { }
state sounding { PRESS press }
state lit { LIGHT on }
"""


def ground_side(state: str) -> dict[str, tuple[Short, Outcome]]:
    found = swept(GROUND_SIDE)
    return found.shorts(state, Protection(found.circuit))


def test_a_chafed_ground_side_wire_sounds_the_horn_and_opens_nothing() -> None:
    short, outcome = ground_side("quiet")["wire 4"]
    assert short.damage is not None
    assert short.damage.opened == ()
    assert [(e.thing, e.was, e.now) for e in outcome.effects] == [("HORN.horn", "dead", "live")]


def test_the_fuse_nearest_to_the_least_rating_opens() -> None:
    short, outcome = ground_side("sounding")["wire 3"]
    assert short.damage is not None
    assert [branch.key for branch in short.damage.opened] == ["F-HORN"]
    assert ends((short, outcome)) == {"HORN.horn": "dead"}


def test_what_no_closed_contact_feeds_opens_nothing_yet() -> None:
    assert ends(ground_side("quiet")["wire 7"]) == {}
    short, outcome = ground_side("lit")["wire 7"]
    assert short.damage is not None
    assert [branch.key for branch in short.damage.opened] == ["MAIN"]
    assert ends((short, outcome)) == {"LAMP.glow": "dead"}


def test_a_ground_wire_that_lies_on_ground_is_no_fault() -> None:
    assert not {"wire 5", "wire 8"} & set(ground_side("lit"))


def test_before_the_first_fuse_nothing_opens() -> None:
    short, _ = ground_side("quiet")["wire 1"]
    assert short.burns


def test_a_short_that_no_named_state_feeds_is_told_all_the_same() -> None:
    found = swept(GROUND_SIDE)
    reports = fault_reports(found, ["quiet"], Protection(found.circuit))
    told = next(r for r in reports if any(f.key == "wire 7" and f.mode == "short to ground" for f in r.faults))
    assert told.blows == ("MAIN",)
    assert told.blown == ("quiet with LIGHT on",)
    assert [(states, [(e.thing, e.now) for e in ends]) for states, ends in told.effects] == [
        (("quiet with LIGHT on",), [("LAMP.glow", "dead")])
    ]
    assert told.category is Category.MARGINAL


def test_chafed_wires_of_buttons_press_them() -> None:
    """The starter turns and the turn lamps flash as if their buttons were held, or had been pressed."""
    assert ends(shorts("rebuild", "riding-dip")["wire 154.1"])["FL.turn"] == "live"
    assert ends(shorts("rebuild", "idling")["wire 119.1"])["STARTER.armature"] == "live"


def test_a_magnetos_stop_lead_on_ground_stops_it() -> None:
    """The engine stops with it, and what its windings feed goes dark."""
    found = ends(shorts("small/magneto-single", "riding")["wire 1.1"])
    assert found == {"SPARK": "dead", "engine": "stops", "HEAD.dip": "dead", "REAR.tail": "dead"}


@pytest.mark.parametrize("name", ["small/points-single", "small/six-volt-dynamo"])
def test_a_points_lead_on_ground_takes_the_spark_and_not_the_current(name: str) -> None:
    """The coil gets all its amps, and nothing interrupts them: the engine stops with every volt in its place."""
    found = Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness)))
    (_, outcome) = found.shorts("riding", Protection(found.circuit))["wire 13"]
    assert [(e.thing, e.now, e.category) for e in outcome.effects] == [
        ("COIL.primary", "unbroken", Category.CRITICAL),
        ("engine", "stops", Category.CRITICAL),
    ]
    assert outcome.effects[0].words() == "COIL.primary is never interrupted and gives no spark"


@pytest.mark.parametrize(("name", "wire"), [("stock", "wire 88.1"), ("rebuild", "wire 113.1")])
def test_what_stops_the_engine_is_told_with_an_engine_that_does_not_turn(name: str, wire: str) -> None:
    """The fuse of the ignition goes, and with it the engine: no machine feeds D+ and the charge lamp backwards."""
    found = ends(shorts(name, "idling")[wire])
    assert found["engine"] == "stops"
    assert {found[coil] for coil in ("IGN supply", "COIL-LEFT.primary", "COIL-RIGHT.primary")} == {"dead"}
    assert found.get("WARN.charge") != "live"
    assert "BAT" not in found


def test_what_takes_half_the_ignition_stops_no_engine() -> None:
    """The other coil sparks on; the unit alone would not."""
    found = swept((SPECS / "stock.loom").read_text(encoding="utf-8"))
    lost = {key: {e.thing: e.now for e in found.outcomes("idling")[key].effects} for key in ("wire 27", "wire 29")}
    assert lost["wire 27"] == {"COIL-LEFT.primary": "dead"}
    assert lost["wire 29"]["engine"] == "stops"
    assert lost["wire 29"]["WARN.charge"] == lost["wire 29"]["WARN.oil"] == "live"  # its machine and its oil rest


TWO_COILS_ONE_FEED = """
loom "Two coils behind one wire, and a box with a feed of its own"
source BAT battery for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
switch KEY 30 A key for supply { off: ; on: 1 2 }
unit IGN for ignition { supply 300 mA: 15 31; input pick signal: P P-; output coil 5 A grounded clamped: C when pick }
sensor PICK for ignition { signal 210 ohm: 1 2 }
load COIL-A ignition for ignition { primary 4.2 ohm duty 40 %: 15 1 }
load COIL-B ignition for ignition { primary 4.2 ohm duty 40 %: 15 1 }
splice S
wire 1 BAT.+ to KEY.1 red 1 mm2 0.5 m
wire 2 KEY.2 to IGN.15 red 1 mm2 0.5 m
wire 3 KEY.2 to S red 1 mm2 0.5 m
wire 4 S to COIL-A.15 red 1 mm2 0.5 m
wire 5 S to COIL-B.15 red 1 mm2 0.5 m
wire 6 COIL-A.1 to IGN.C green 1 mm2 0.5 m
wire 7 COIL-B.1 to IGN.C green 1 mm2 0.5 m
wire 8 IGN.31 to BAT.- black 1 mm2 0.5 m
wire 9 PICK.1 to IGN.P white 1 mm2 0.5 m
wire 10 PICK.2 to IGN.P- white 1 mm2 0.5 m
state riding { KEY on, engine running }
"""


def test_a_box_alone_gives_no_spark() -> None:
    """The box goes on with its coils dead: the engine does not."""
    lost = swept(TWO_COILS_ONE_FEED).outcomes("riding")["wire 3"]
    assert {e.thing: e.now for e in lost.effects} == {
        "COIL-A.primary": "dead",
        "COIL-B.primary": "dead",
        "engine": "stops",
    }
