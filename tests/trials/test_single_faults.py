"""What single faults do: devices of both ends and by state, lost returns, lost batteries, and one answer both ways."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked_text import sound, trial

from loomwright.checks.fmea.effects import Category
from loomwright.checks.fmea.failure_modes import SHORT, Damage, opens
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.propagation import Propagation
from loomwright.checks.fmea.report import Report, fault_reports
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.render.report.faults import faults_text


def operation(text: str) -> Operation:
    return Operation(build_circuit(sound(text).harness))


def reports(text: str, *states: str) -> tuple[Report, ...]:
    found = operation(text)
    protection = Protection(found.circuit)
    return fault_reports(Sweep(found, protection), states or tuple(found.points), protection)


def short(found: tuple[Report, ...], key: str) -> Report:
    return next(r for r in found for f in r.faults if f.key == key and f.mode == SHORT)


def opened(found: tuple[Report, ...], key: str) -> Report:
    return next(r for r in found for f in r.faults if f.key == key and f.mode == "open")


def ends(report: Report) -> set[tuple[str, str]]:
    return {(e.thing, e.now) for _, effects in report.effects for e in effects}


@pytest.mark.parametrize(
    ("name", "behind", "before"),
    [
        ("short-behind-main-and-machine", ("wire m2", "wire 7", "wire 12"), "wire m1"),
        ("short-at-main-output", ("wire 2", "wire 4", "wire 9"), "wire 1"),
    ],
)
def test_the_main_fuse_opens_though_the_machine_feeds_the_other_end(
    name: str, behind: tuple[str, ...], before: str
) -> None:
    """The battery's share goes through MAIN whichever end is looked at; only what lies before it burns."""
    found = reports(trial(name))
    for key in behind:
        assert (short(found, key).blows, short(found, key).burns) == (("MAIN",), False)
    assert short(found, before).burns
    assert short(found, before).category is Category.CATASTROPHIC


def test_behind_an_open_contact_the_button_is_named() -> None:
    """Behind a relay that has not pulled in nothing burns until somebody presses the button."""
    found = reports(trial("short-behind-open-contact"), "riding")
    assert short(found, "wire 6").fires == ("riding",)
    assert short(found, "wire 7").fires == ("riding with BTN press",)
    assert (short(found, "wire 4").blows, short(found, "wire 4").blown) == (("MAIN",), ("riding with BTN press",))
    text = faults_text(found, operation(trial("short-behind-open-contact")).circuit.harness, ["riding"])
    assert "wire 7: short to ground\n      no fuse protects it: fire in riding with BTN press\n" in text
    assert "wire 2, wire 3, wire 9: short to ground\n      blows MAIN\n" in text


def test_what_two_controls_keep_apart_from_every_feed_is_told_as_such() -> None:
    """Two buttons before the relay: both have to be pressed."""
    text = trial("short-behind-open-contact").replace(
        "wire 4 BTN.2 to K.86 yellow 2 mm2 0.5 m",
        "switch ARM 5 A momentary { rest: ; press: 1 2 }\nwire 4 BTN.2 to ARM.1 yellow 2 mm2 0.5 m\n"
        "wire 11 ARM.2 to K.86 yellow 2 mm2 0.5 m",
    )
    assert short(reports(text, "riding"), "wire 7").fires == ("riding with BTN press and ARM press",)


def test_a_lost_strap_sends_the_starters_current_through_a_thin_wire() -> None:
    """The starter still turns: only the current tells, and that is a fire."""
    found = reports(trial("strap-comes-loose"))
    assert [e.words() for _, effects in opened(found, "wire 3").effects for e in effects] == [
        "wire 4 carries 110 A: melts"
    ]
    stouter = trial("strap-comes-loose").replace("FRAME black 1.5 mm2", "FRAME black 2.5 mm2")
    assert [e.words() for _, effects in opened(reports(stouter), "wire 3").effects for e in effects] == [
        "wire 4 carries 110 A: overheats"
    ]
    assert opened(found, "wire 3").category is Category.CATASTROPHIC
    thick = (
        trial("strap-comes-loose")
        .replace("wire 4 BAT.- to FRAME black 1.5 mm2", "wire 4 BAT.- to FRAME black 16 mm2")
        .replace("wire 5 ENGINE to FRAME black 6 mm2", "wire 5 ENGINE to FRAME black 16 mm2")
    )
    assert not any(f.key == "wire 3" for r in reports(thick) for f in r.faults)  # near miss: it can carry that


def test_an_alternator_without_its_battery_runs_away() -> None:
    """A main fuse that carries the charge as well takes the battery from the machine while riding."""
    found = reports(trial("main-fuse-carries-charge"))
    report = opened(found, "MAIN")
    assert ends(report) == {("ALT", "without battery"), ("BAT", "not charged")}
    assert report.category is Category.CRITICAL
    assert "ALT runs without the battery: voltage peaks" in [e.words() for _, es in report.effects for e in es]
    assert not any(thing == "ALT" for thing, _ in ends(short(found, "wire 2")))  # shorted as well: nothing runs away


RUNS_ON = """loom "a relay that holds itself"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade
switch KEY 10 A key { off: ; on: 1 2 }
relay K 20 A { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
load COIL ignition for ignition { primary 3.4 ohm duty 50 %: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.2 m
wire 2 MAIN.2 to KEY.1 red 2 mm2 0.2 m
wire 3 KEY.2 to K.86 white 1 mm2 0.2 m
wire 4 MAIN.2 to K.30 red 2 mm2 0.2 m
wire 5 K.87 to COIL.1 white 2 mm2 0.2 m
wire 6 COIL.2 to BAT.- black 2 mm2 0.2 m
wire 7 K.85 to BAT.- black 1 mm2 0.2 m
{more}
state riding { KEY on; engine running }
"""


def test_a_stop_position_that_leaves_the_engine_running_is_kept() -> None:
    """From rest the relay never pulls in with the key off; after riding it holds itself."""
    found = reports(RUNS_ON.replace("{more}", "wire 8 K.87 to K.86 white 1 mm2 0.2 m"))
    assert (found[0].faults, found[0].category) == ((), Category.CATASTROPHIC)
    assert found[0].effects[0][0] == ("riding with KEY off",)
    assert [e.words() for e in found[0].effects[0][1]] == ["COIL is not stopped"]
    assert all(r.faults for r in reports(RUNS_ON.replace("{more}", "")))


def test_a_kill_switch_that_shorts_a_fused_feed_says_what_opens_and_what_then() -> None:
    """It stops the engine by its fuse, once: which is not fire, and said all the same."""
    kill = "switch KILL 10 A { run: ; stop: 1 2 }\nwire 9 {at} to KILL.1 white 2 mm2 0.2 m\n"
    kill += "wire 10 KILL.2 to BAT.- black 2 mm2 0.2 m"
    found = next(r for r in reports(RUNS_ON.replace("{more}", kill.replace("{at}", "KEY.2"))) if not r.faults)
    assert (found.blows, found.blown, found.category) == (("MAIN",), ("riding with KILL stop",), Category.MARGINAL)
    fire = next(r for r in reports(RUNS_ON.replace("{more}", kill.replace("{at}", "MAIN.1"))) if not r.faults)
    assert (fire.blows, fire.fires, fire.category) == ((), ("riding with KILL stop",), Category.CATASTROPHIC)


@pytest.mark.parametrize("name", ["sweep-differs-1", "sweep-differs-2"])
def test_all_faults_at_once_and_one_by_one_are_equal(name: str) -> None:
    """A half that is parted keeps its own differences; a field is fed by whatever reaches its pole."""
    found = operation(trial(name))
    compared = 0
    for point in found.points.values():
        sweep = Propagation(found, point)
        damages = [Damage((branch,)) for branch in opens(found.circuit)]
        for damage, after in zip(damages, sweep.of(damages), strict=True):
            plain = sweep.plainly(damage)
            assert after.memory == plain.memory, (point.state, damage)
            assert after.volts == pytest.approx(plain.volts, abs=0.02), (point.state, damage)
            compared += 1
    assert compared > 50


# --- what nobody is warned of ----------------------------------------------------------------------------------------
def test_a_dead_lamp_of_oil_or_charge_is_graded_above_other_tell_tales() -> None:
    """Without oil pressure the engine seizes, without charge it stops on the road: nobody is warned of either."""
    text = (Path(__file__).parents[2] / "specs" / "stock.loom").read_text("utf-8")
    states = ("key-on", "riding-main")
    effects = [e for report in reports(text, *states) for _, among in report.effects for e in among]
    grades = {e.thing: e.category for e in effects if (e.was, e.now) == ("live", "dead")}
    assert grades["WARN.oil"] is grades["WARN.charge"] is Category.MARGINAL
    assert grades["WARN.main"] is Category.MINOR


def test_with_its_return_off_an_alternator_delivers_nothing() -> None:
    """Wire 16 of the demonstration is the rectifier's only return: no charge, and no voltage that peaks."""
    text = (Path(__file__).parents[2] / "specs" / "stock.loom").read_text("utf-8")
    found = opened(reports(text, "riding-dip"), "wire 16")
    assert ("BAT", "not charged") in ends(found)
    assert ("RECT", "without battery") not in ends(found)
