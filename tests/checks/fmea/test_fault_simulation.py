"""What single faults do to the demonstration machines, told by what a rider would find."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from loomwright.checks.fmea.effects import Category, Elements
from loomwright.checks.fmea.failure_modes import SHORT, Damage, opens, series_groups
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.next_start import uncharged, with_next_start
from loomwright.checks.fmea.report import Report, fault_reports
from loomwright.checks.operation.load_status import load_status
from loomwright.checks.operation.most_charged import most_charged
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.parts import Source

SPECS = Path(__file__).parents[3] / "specs"

FAST = ("lights-on", "riding-dip", "riding-main", "turning-left")


@cache
def sweep(name: str) -> Sweep:
    return Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness)))


@cache
def reports(name: str) -> tuple[Report, ...]:
    found = sweep(name)
    return fault_reports(found, found.operation.points, Protection(found.circuit))


def effects(name: str, state: str, key: str) -> dict[str, str]:
    return {e.thing: e.now for e in sweep(name).outcomes(state)[key].effects}


def test_a_lamp_wire_takes_its_lamp() -> None:
    assert effects("stock", "riding-dip", "wire 67") == {"HEAD.dip": "dead"}


def test_a_fuse_takes_all_behind_it() -> None:
    gone = effects("stock", "turning-left", "F-TURN")
    assert gone == {"FL.turn": "dead", "RL.turn": "dead", "WARN.left": "dead"}


def test_a_latch_that_the_state_names_is_cleared_by_a_fault_that_clears_it() -> None:
    """The turn lamps went on before the fault: what takes the key from the unit, or grounds `cancel`, puts them out."""
    lamps = ("FL.turn", "RL.turn", "WARN.left")
    for key in ("F-KEY", "wire 106", "wire 115"):
        gone = effects("rebuild", "turning-left", key)
        assert [gone[lamp] for lamp in lamps] == ["dead"] * 3, key
    cancelled = next(r for r in reports("rebuild") for f in r.faults if (f.key, f.mode) == ("wire 156.1", SHORT))
    assert {(e.thing, e.now) for _, found in cancelled.effects for e in found} == {(lamp, "dead") for lamp in lamps}
    assert "FL.turn" not in effects("rebuild", "turning-left", "wire 154.1")  # the button is released: nothing is lost


def test_the_main_fuse_of_a_running_machine_takes_its_battery() -> None:
    assert effects("stock", "riding-dip", "MAIN") == {"BAT": "not charged", "RECT": "without battery"}


def test_a_field_that_loses_its_second_feed_is_weak() -> None:
    """Without D+ only the charge lamp feeds it: 14.2 V less a diode over 3 W and 6 ohm leave it 1.25 V."""
    (weak,) = (e for e in sweep("stock").outcomes("riding-dip")["wire 12"].effects if e.now == "weak field")
    assert weak.words() == "RECT may deliver too little to charge with 1.25 V across the field"
    assert effects("stock", "riding-dip", "wire 12")["WARN.charge"] == "live"
    assert "RECT" not in effects("stock", "riding-dip", "wire 14.1")  # D+ feeds it, whatever the lamp does


@pytest.mark.parametrize(("name", "key"), [("stock", "D-CHG"), ("stock", "wire 14.1"), ("rebuild", "wire 112")])
def test_what_takes_the_first_field_current_keeps_it_from_charging(name: str, key: str) -> None:
    """The charge lamp, or the resistor beside the LED, starts the alternator: nothing else shows that it is off."""
    (start,) = (e for e in sweep(name).outcomes("key-on")[key].effects if e.now == "not excited")
    assert start.words() == "RECT gets too little field current to start charging"
    assert "not excited" not in effects(name, "riding-dip", key).values()  # what runs is excited


def test_an_engine_that_does_not_start_is_not_said_to_charge_too_little() -> None:
    assert "not excited" not in effects("stock", "key-on", "MAIN").values()


def test_a_lost_ground_feeds_the_tell_tales_backwards() -> None:
    """The panel's ground is off: what its lamps pass goes to ground by the tell-tales of the turn lamps."""
    found = sweep("stock").outcomes("riding-dip")["wire 70"].effects
    backwards = {e.thing for e in found if e.now == "backwards"}
    assert backwards == {"WARN.left", "WARN.right"}
    assert all(e.category is Category.MINOR for e in found if e.now == "backwards")
    assert "WARN.left is fed backwards" in [e.words() for e in found]


def test_backwards_is_against_the_usual_way_whatever_pole_is_grounded() -> None:
    """With a positive ground current enters a coil at the side of the points."""
    found = sweep("small/six-volt-dynamo")
    for state in found.operation.points:
        assert not any(e.now == "backwards" for o in found.outcomes(state).values() for e in o.effects), state


def test_an_input_without_current_is_heard_all_the_same() -> None:
    """The wire of the dip switch carries nothing; where it breaks the unit takes main for dip."""
    assert effects("rebuild", "riding-main", "wire 137.1") == {
        "HEAD.main": "dead",
        "HEAD.dip": "live",
        "WARN.main": "dead",
    }


def test_a_starter_relay_without_its_coil_wire_turns_nothing() -> None:
    assert effects("stock", "cranking", "wire 38.1")["STARTER.armature"] == "dead"


@pytest.mark.parametrize("state", ["cranking", "riding-dip"])
def test_faults_judge_elements_by_the_limits_of_states(state: str) -> None:
    """With a tired battery the coils get 62 % of their volts while it cranks: less than a start takes, and more than
    an engine that runs needs.
    """
    text = (SPECS / "stock.loom").read_text(encoding="utf-8").replace("resistance 15 mohm", "resistance 45 mohm")
    point = Operation(build_circuit(read_text(text, "bike.loom").harness)).state(state)
    elements, flow = Elements(point), point.flow
    (shares,) = elements.shares(flow.volts[None], np.array([[flow.law_amps[key] for key in flow.laws.keys]]), flow.laws)
    words: dict[str, str] = {
        b.key: ("dead", "dim", "live")[n] for b, n in zip(elements.branches, elements.words(shares), strict=True)
    }
    stated = {key: found.word for key in words if (found := load_status(point, key)) is not None}
    assert words == stated
    assert words["COIL-LEFT.primary"] == ("dim" if state == "cranking" else "live")


def test_an_engine_that_cannot_be_stopped_is_the_gravest() -> None:
    """A stop lead that is off tells nobody until somebody presses stop: so that is tried, from a running state."""
    found = reports("small/magneto-single")
    worst = found[0]
    assert worst.category is Category.CATASTROPHIC
    assert {"wire 1.1", "wire 2", "STOP 1-2"} <= {f.key for f in worst.faults}
    assert [(states, [(e.thing, e.was, e.now) for e in ends]) for states, ends in worst.effects] == [
        (("riding with STOP stop",), [("SPARK", "dead", "live")])
    ]


EXCITER = """
loom "A capacitor ignition that its own winding feeds, stopped by grounding a lead"
place engine
source MAG alternator at engine { winding EXC 20 W: X E }
load CDI ignition at engine { box 15 W: EX GD; stop-lead: KL GD }
switch KILL 2 A at engine { run: ; stop: 1 2 }
ground FRAME at engine
wire 1 MAG.X to CDI.EX red 1 mm2 0.2 m
wire 2 MAG.E to FRAME black 1 mm2 0.2 m
wire 3 CDI.GD to FRAME black 1 mm2 0.2 m
wire 4 CDI.KL to KILL.1 white 1 mm2 0.2 m
wire 5 KILL.2 to FRAME black 1 mm2 0.2 m
state riding { engine running }
"""


def test_what_alternating_current_feeds_is_stopped_by_its_lead_all_the_same() -> None:
    """How much it gets is not solved; that it cannot be stopped needs no volts."""
    reading = read_text(EXCITER.strip() + "\n")
    assert reading.mistakes == ()
    found = Sweep(Operation(build_circuit(reading.harness)))
    assert list(found.halted) == ["riding with KILL stop"]
    lost = found.outcomes("riding with KILL stop")
    assert [(e.thing, e.now) for e in lost["wire 4"].effects] == [("CDI", "live")]
    assert lost["wire 4"].effects[0].category is Category.CATASTROPHIC
    chafed = found.shorts("riding", Protection(found.circuit))
    assert [(e.thing, e.now) for e in chafed["wire 4"][1].effects] == [("CDI", "dead"), ("engine", "stops")]


def test_stopping_is_tried_by_every_control_that_stops() -> None:
    assert list(sweep("stock").halted) == ["idling with KEY off", "idling with KILL stop"]
    assert sweep("stock").all_states(["parked"]) == ("parked",)


def test_an_engine_whose_coils_alone_are_cut_is_stopped() -> None:
    """The box stays fed, and works coils that get nothing: that is no spark."""
    text = (SPECS / "stock.loom").read_text(encoding="utf-8")
    text = text.replace("wire 29 SP-KILL to IGN.15", "wire 29 SP-IGN to IGN.15")
    cut = Sweep(Operation(build_circuit(read_text(text, "box.loom").harness)))
    assert list(cut.halted) == ["idling with KEY off", "idling with KILL stop"]
    assert (cut.failing, cut.state("idling").running) == ({}, {"COIL-LEFT", "COIL-RIGHT", "IGN"})


def test_without_its_pick_up_an_ignition_gives_no_sparks() -> None:
    assert effects("stock", "riding-dip", "wire 33.1") == {"COIL-LEFT.primary": "dead"}


def test_worst_first_and_alike_ones_together() -> None:
    found = reports("stock")
    assert [r.category for r in found] == sorted(r.category for r in found)
    told = [fault for report in found for fault in report.faults]
    assert len(told) == len(set(told))
    together = next(r for r in found if any(f.key == "F-HEAD" and f.mode == "open" for f in r.faults))
    assert {"wire 20", "F-HEAD", "wire 61.1"} <= {f.key for f in together.faults}


def test_an_unfused_wire_that_chafes_burns() -> None:
    burning = [r for r in reports("stock") if r.burns]
    assert burning
    assert all(r.category is Category.CATASTROPHIC for r in burning)
    assert {"wire 1", "wire 2"} <= {f.key for r in burning for f in r.faults}


def test_a_short_behind_a_fuse_opens_it_and_takes_what_hangs_there() -> None:
    found = next(r for r in reports("stock") if r.blows == ("F-HEAD",))
    assert all(f.mode == "short to ground" for f in found.faults)
    assert any(e.thing == "HEAD.dip" and e.now == "dead" for _, ends in found.effects for e in ends)


def test_a_fuse_that_a_short_blows_stays_open_in_the_other_states_too() -> None:
    """The horn's wire shorts while the button is pressed, and takes the fuse that it shares with the stop lamp."""
    horn = next(r for r in reports("stock") for f in r.faults if (f.key, f.mode) == ("wire 50.1", "short to ground"))
    assert (horn.blows, horn.lasting, horn.category) == (("F-STOP",), ("F-STOP",), Category.CRITICAL)
    assert {e.thing for _, ends in horn.effects for e in ends} == {"HORN.horn"}
    stop = next(r for r in reports("stock") for f in r.faults if (f.key, f.mode) == ("F-STOP", "open"))
    assert stop.category is Category.CRITICAL
    lights = next(r for r in reports("stock") if r.blows == ("F-HEAD",))
    assert lights.lasting == ()  # as bad as the fuse alone: what it does is listed


def test_the_loss_of_the_ignition_is_graver_than_that_of_a_dial() -> None:
    found = {f.key: r.category for r in reports("stock") for f in r.faults if f.mode == "open"}
    assert found["wire 26.1"] is Category.CRITICAL
    assert found["wire 60"] is Category.MINOR


def test_what_gets_too_little_to_work_does_not_come_on_and_is_not_critical() -> None:
    """The panel has no feed: 12 ohm of the relay and two bulbs in series give the coil 1.3 V, where 8 V pull it in."""
    found = next(r for r in reports("stock") for f in r.faults if (f.key, f.mode) == ("wire 86.1", "open"))
    (coil,) = [e for states, ends in found.effects for e in ends if e.thing == "K-START coil"]
    assert (coil.was, coil.now, coil.words()) == ("dead", "dim", "K-START coil gets some voltage (dim)")
    assert 0.08 < coil.share < 0.13
    assert found.category is Category.MARGINAL
    ground = next(r for r in reports("stock") for f in r.faults if (f.key, f.mode) == ("wire 4", "open"))
    assert ground.category is Category.MARGINAL  # its ignition box gets 3 V with the key off, no coil anything


@pytest.mark.parametrize("state", ["riding-main", "braking", "cranking"])
def test_a_chain_does_alike_wherever_it_opens(state: str) -> None:
    """What is solved once for a chain is what solving each of its parts gives."""
    found = sweep("rebuild")
    once, by_key = found.outcomes(state), found.circuit.by_key
    assert once.keys() == found.outcomes(state, exact=True).keys()
    here, damages = found.state(state), {key: Damage((by_key[key],)) for key in once}
    lost = uncharged(here, damages)
    each = {k: with_next_start(o, lost.get(k, ())) for k, o in here.solved(damages, halting=True).items()}
    for key, outcome in once.items():
        told = [(e.thing, e.now) for e in outcome.effects]
        assert told == [(e.thing, e.now) for e in each[key].effects], key


def test_chains_hold_what_lies_in_series() -> None:
    circuit = sweep("rebuild").circuit
    found = series_groups(circuit)
    assert found["wire 103.1"] == found["wire 103.2"] == found["C-KEY.1"] == found["F-KEY"]
    assert found["wire 103.1"] != found["wire 104.1"]
    assert set(found) == {b.key for b in opens(circuit)}


def test_the_loss_of_a_regulators_ground_overcharges() -> None:
    text = """
loom "A regulator on a ground wire of its own"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source GEN dynamo at tray { output 200 W: B E; field 6 ohm: B F }
regulator REG 5 A at tray { passes: F D; sense: S D; regulated 14.2 V }
ground FRAME at tray
load LAMP at tray { dip 55 W lamp: 1 2 }
wire 1 BAT.+ to GEN.B red 4 mm2 0.3 m
wire 2 GEN.E to FRAME black 4 mm2 0.3 m
wire 3 BAT.- to FRAME black 4 mm2 0.3 m
wire 4 GEN.F to REG.F green 1 mm2 0.3 m
wire 5 REG.D to FRAME black 1 mm2 0.3 m
wire 6 BAT.+ to REG.S white 1 mm2 0.3 m
wire 7 BAT.+ to LAMP.1 blue 1 mm2 0.3 m
wire 8 LAMP.2 to FRAME black 1 mm2 0.3 m
state riding { engine running }
"""
    reading = read_text(text.strip() + "\n")
    assert reading.mistakes == ()
    found = Sweep(Operation(build_circuit(reading.harness))).outcomes("riding")
    assert {e.now for e in found["wire 6"].effects} == {"unregulated"}
    assert found["wire 8"].effects[0].thing == "LAMP.dip"


def test_volts_of_a_machine_at_full_output_are_the_most_that_there_may_be() -> None:
    """The rated output is a most, so the volts that it drives a battery to are no result. They are those of the mean,
    which a battery sees and a meter shows: while coils draw the sweep has 14.98 V.
    """
    outcome = sweep("stock").outcomes("idling")["wire 17"]
    (battery,) = (e for e in outcome.effects if e.thing == "BAT")
    assert battery.words() == "BAT is overcharged at up to 15.7 V"
    assert battery.share == pytest.approx(15.749, abs=2e-3)


def test_check_finds_overcharge_by_the_mean_too() -> None:
    """The same harness without that wire, and without the states in which the voltage is beyond all doubt."""
    gone = ("wire 17 ", *(f"{word} {s}" for s in FAST for word in ("state", "expect in")))
    kept = (line for line in (SPECS / "stock.loom").read_text("utf-8").splitlines() if not line.startswith(gone))
    report = check(read_text("\n".join(kept) + "\n"), today=date(2026, 1, 1))
    (found,) = (f for f in report.findings if f.rule == "overcharge")
    assert found.message == (
        "BAT is charged at more than 15 V with the engine idling: REG.D- (sense) is not connected, so RECT charges it "
        "without regulation"
    )
    battery, limit = found.figures
    assert (battery.label, battery.value) == ("battery, at most", pytest.approx(15.749, abs=2e-3))
    assert limit.value == 15.0


@pytest.mark.parametrize(
    ("battery", "most"),
    [("battery { voltage 12.6 V", 15.0), ("battery lithium { voltage 13.2 V", 14.6), ("battery { voltage 6.3 V", 7.5)],
)
def test_the_one_limit_of_faults_and_check_is_by_cells(battery: str, most: float) -> None:
    """2.5 V a cell of lead, 3.65 V a cell of lithium: common practice, no source."""
    text = f'loom "B"\nsource BAT {battery}; capacity 14 Ah; resistance 15 mohm }}\n'
    (part,) = (p for p in read_text(text).harness.parts.values() if p.name == "BAT")
    assert isinstance(part, Source)
    assert most_charged(part, 6.0 if most < 10.0 else 12.0)[0] == pytest.approx(most)
