"""Stops, `dead` and interlocks where something comes through other loads, or through what passes one way only."""

from __future__ import annotations

import pytest
from checked_text import all_findings, sound, trial

from loomwright.checks.logic import SwitchingLogic
from loomwright.lang.circuit.build import build_circuit

STOPS = {"no-kill-path", "run-on", "undecided-path"}


def told(of: str, *rules: str) -> list[str]:
    """The messages of some rules, in order."""
    return [f.message for f in all_findings(of) if f.rule in rules]


def unmet(of: str) -> list[str]:
    return told(of, "unmet-expectation")


def doubts(of: str) -> list[str]:
    return list(SwitchingLogic(build_circuit(sound(of).harness)).network.doubts)


# --- a relay that loads hold in ---------------------------------------------------------------------------------------
def test_a_relay_held_in_through_two_lamps_is_a_stop_that_does_not_stop() -> None:
    # 12.6 V over two 3 W lamps in a row and 85 ohm: some 7.5 V, and the relay drops out below 1.2 V only.
    lamps = trial("relay-held-through-lamps")
    assert told(lamps, "no-kill-path") == [
        ("KILL stop does not stop COIL (KEY on, KILL stop, oil-pressure good and K-IGN pulled before): it is still fed")
    ]
    assert len(unmet(lamps)) == 2


def test_a_relay_that_lets_go_above_what_the_lamps_give_is_stopped() -> None:
    # Near miss: 9 V is more than two lamps leave, so the relay drops out.
    lamps = trial("relay-held-through-lamps").replace("released: ;", "pulls 10 V; holds 9 V; released: ;")
    assert told(lamps, *STOPS) == []
    assert unmet(lamps) == []
    assert doubts(lamps) == []


def test_a_lamp_across_the_kill_switch_pulls_its_relay_in() -> None:
    lamp = trial("lamp-across-kill-switch")
    assert told(lamp, "no-kill-path") == ["KILL stop does not stop COIL (KEY on and KILL stop): it is still fed"]
    assert unmet(lamp) == ["COIL is expected dead and is live (KEY on and KILL stop)"]


@pytest.mark.parametrize(
    ("load", "weak"),
    [
        ("load LAMP lamp at tray for instruments { warn 3 W tell-tale: 1 2 }", True),
        ("load LAMP led at tray for instruments { warn 0.2 W tell-tale: 1 2 }", True),  # 85 ohm at a few mA: over 1.2 V
        ("load LAMP led at tray for instruments { warn 3 mA tell-tale: 1 2 }", False),  # 3 mA over 85 ohm are 0.26 V
        ("load LAMP motor at tray for instruments { fan 2 A: 1 2 }", True),
        ("resistor LAMP 50 ohm 5 W at tray", True),
        ("resistor LAMP 3 kohm 1 W at tray", False),  # 12.6 V over 3,085 ohm: 0.35 V on the coil
    ],
)
def test_whatever_lies_across_the_kill_switch_is_judged_by_its_volts(load: str, weak: bool) -> None:
    old = "load LAMP lamp at tray for instruments { warn 3 W tell-tale: 1 2 }"
    bike = trial("lamp-across-kill-switch").replace(old, load)
    assert load in bike
    assert bool(doubts(bike)) is weak
    assert bool(told(bike, "no-kill-path")) is weak


def test_two_lamps_side_by_side_pull_in_what_two_in_a_row_only_hold() -> None:
    row = trial("relay-held-through-lamps")
    # 8 V to pull in: two lamps in a row leave 7.5 V, which holds it; one alone leaves 9 V, which pulls it in.
    assert "K-IGN pulled before" in told(row, "no-kill-path")[0]
    beside = row.replace("wire 10 SP-K to LAMP2.1", "wire 10 SP-K to LAMP2.2").replace(
        "wire 11 LAMP2.2 to SP-O", "wire 11 LAMP2.1 to SP-15"
    )
    beside = beside.replace("wire 9 LAMP1.2 to SP-O", "wire 9 LAMP1.2 to SP-K")
    assert told(beside, "no-kill-path") == ["KILL stop does not stop COIL (KEY on and KILL stop): it is still fed"]


def test_a_chain_of_relays_is_held_by_its_first() -> None:
    chain = trial("relay-held-through-lamps").replace(
        "wire 6 K-IGN.87 to COIL.15 blue 2.5 mm2 0.2 m",
        """relay K-TWO 20 A clamped at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
wire 13 K-IGN.87 to K-TWO.86 blue 1 mm2 0.2 m
wire 14 K-TWO.85 to FRAME black 1 mm2 0.2 m
wire 15 SP-15 to K-TWO.30 orange 2.5 mm2 0.2 m
wire 6 K-TWO.87 to COIL.15 blue 2.5 mm2 0.2 m""",
    )
    assert doubts(chain) == ["K-IGN through loads"]
    assert len(told(chain, "no-kill-path")) == 1


def positive_ground(bike: str) -> str:
    """The same bike with the other pole of its battery on the frame."""
    swapped = bike.replace("system 12 V negative ground", "system 12 V positive ground")
    return (
        swapped.replace("BAT.+ to MAIN.1", "BAT.x to MAIN.1")
        .replace("BAT.- to FRAME", "BAT.+ to FRAME")
        .replace("BAT.x to MAIN.1", "BAT.- to MAIN.1")
    )


@pytest.mark.parametrize("name", ["relay-held-through-lamps", "lamp-across-kill-switch"])
def test_a_positive_ground_is_judged_alike(name: str) -> None:
    assert len(told(positive_ground(trial(name)), "no-kill-path")) == 1


# --- by share of time, with the engine turning ------------------------------------------------------------------------
def test_a_charge_lamp_is_too_little_for_a_coil_while_its_circuit_is_closed() -> None:
    # 4 W at 13.5 V are 0.30 A: 1 V over 3.4 ohm, whatever share of the time it flows; 15 % of 12 V are 1.8 V.
    lamp = trial("coil-duty-in-bound")
    assert told(lamp, *STOPS) == []
    assert unmet(lamp) == []
    assert len(told(lamp.replace("charge 4 W", "charge 10 W"), "run-on")) == 1


def test_a_stop_is_asked_with_the_engine_turning() -> None:
    # 6 W leave 1.6 V over 3.4 ohm, 21 W more than 4 V: the proof and the numbers of the state agree on both.
    lamp = trial("stop-while-running")
    assert told(lamp, *STOPS) == []
    assert len(told(lamp.replace("warn 6 W", "warn 21 W"), "run-on")) == 1


# --- units ------------------------------------------------------------------------------------------------------------
def test_an_input_grounded_through_a_cold_filament_may_be_active() -> None:
    assert unmet(trial("input-grounded-through-lamp")) == [
        "HORN is expected dead in dark and is live (KEY on and LIGHT off)"
    ]


def test_what_an_input_may_do_through_a_lamp_is_no_duty_done() -> None:
    bike = trial("input-grounded-through-lamp").replace("expect in dark: HORN dead", "expect in dark: HORN live")
    assert len(unmet(bike)) == 1


def test_a_box_whose_run_input_a_lamp_feeds_is_not_stopped() -> None:
    bike = trial("input-fed-through-lamp")
    assert [f.message for f in all_findings(bike) if f.rule == "no-kill-path"] == [
        "KILL stop does not stop BOX (KEY on and KILL stop): it is still fed; likewise COIL"
    ]
    assert len(unmet(bike)) == 2


def test_a_box_is_stopped_when_its_coil_outputs_are_off() -> None:
    bike = trial("box-stopped-by-input")
    assert told(bike, *STOPS) == []
    assert unmet(bike) == []


def test_a_box_with_a_standing_supply_is_stopped_by_its_input() -> None:
    bike = trial("box-stopped-by-input").replace("wire 1 SP-15 to BOX.30", "wire 1 MAIN.2 to BOX.30")
    assert told(bike, *STOPS) == []
    free = bike.replace(": C when run", ": C")  # and not without it
    assert told(free, "no-kill-path") == [
        "KILL stop does not stop BOX (KEY on and KILL stop): it is still fed; likewise COIL"
    ]


def test_a_box_that_a_lamp_wakes_still_fires() -> None:
    # 10 mA through a 3 W lamp lose next to nothing: the box has 12 V where it should have none.
    bike = trial("box-stopped-by-input")
    bike = bike.replace("wire 1 SP-15 to BOX.30", "wire 1 SP-R to BOX.30").replace("supply 200 mA", "supply 10 mA")
    bike = bike.replace("input run fed: RUN", "input run grounded: RUN").replace("when run", "when not run")
    bike = bike.replace("wire 5 SP-R to BOX.RUN yellow 1 mm2 0.2 m\n", "")
    assert told(bike, *STOPS) == []
    lamp = "load LAMP lamp at tray for instruments { on 3 W tell-tale: 1 2 }\n"
    wires = "wire 8 SP-15 to LAMP.1 orange 1 mm2 0.2 m\nwire 9 LAMP.2 to SP-R yellow 1 mm2 0.2 m\n"
    lit = bike.replace("state riding", f"{lamp}{wires}state riding")
    assert doubts(lit) == ["BOX supply through loads"]
    assert len(told(lit, "no-kill-path")) == 1


def test_a_box_fires_while_one_of_its_coils_lives_on_a_lamp() -> None:
    # 35 W over the stop switch leave the coil 5.9 V, and the box, on the key alone, goes on grounding it.
    lamp = trial("coil-of-box-behind-lamp")
    alive = "runs on at KILL stop (KEY on, KILL stop and engine cranking): it is kept fed through other loads"
    # One repair answers for both, so they are reported as one.
    assert told(lamp, *STOPS) == [f"BOX {alive}; likewise COIL"]
    assert unmet(lamp) == [
        f"{part} is expected dead and gets too much through other loads (KEY on, KILL stop and engine cranking)"
        for part in ("BOX", "COIL")
    ]


def test_a_box_is_still_where_its_coils_are_dead_or_its_outputs_off() -> None:
    # Near misses: 1.2 W is far below 15 % of the coil; and an output that the stop switch turns off fires nothing,
    # though the coil itself, on its way to ground through a second lamp, is not dead.
    lamp = trial("coil-of-box-behind-lamp")
    small = lamp.replace("bulb 35 W", "bulb 1.2 W")
    assert told(small, *STOPS) == unmet(small) == []
    off = lamp.replace("{ run: 1 2; stop: }", "{ run: 1 2, 3 4; stop: }").replace("O when pick", "O when pick and run")
    off = off.replace("input pick signal: P;", "input pick signal: P; input run fed: R;") + (
        "load OTHER lamp at here { bulb 35 W: 1 2 }\n"
        "wire 13 SP15 to KILL.3 red 1 mm2 0.2 m\nwire 14 KILL.4 to BOX.R red 1 mm2 0.2 m\n"
        "wire 15 COIL.1 to OTHER.1 red 1 mm2 0.2 m\nwire 16 OTHER.2 to FRAME black 1 mm2 0.2 m\n"
    )
    assert [each.partition(" runs")[0] for each in told(off, *STOPS)] == ["COIL"]
    assert [each.partition(" is")[0] for each in unmet(off)] == ["COIL"]


def test_two_pairs_of_points_are_not_closed_together() -> None:
    # With both closed the lamp grounds itself past the coils; with one open it feeds them in a row with 4.8 V each.
    turn = trial("points-in-turn")
    alive = "runs on at KILL stop (KEY on and KILL stop): it is kept fed through other loads"
    assert told(turn, *STOPS) == [f"COIL {alive}", f"COIL2 {alive}"]
    assert len(unmet(turn)) == 2
    small = turn.replace("bulb 35 W", "bulb 1.2 W")  # near miss
    assert told(small, *STOPS) == unmet(small) == []


# --- stop leads -------------------------------------------------------------------------------------------------------
def test_a_diode_in_a_stop_lead_stops_half_the_waves() -> None:
    diode = trial("diode-in-stop-lead")
    said = (
        "STOP stop does not stop SPARK (STOP stop and engine cranking): its kill wire is connected to its return one "
        "way only, through D1"
    )
    assert told(diode, "no-kill-path") == [said]
    turned = diode.replace("SPARK.2 to D1.A", "SPARK.2 to D1.K").replace("D1.K to STOP.1", "D1.A to STOP.1")
    assert told(turned, "no-kill-path") == [said]


def test_a_stop_lead_without_a_diode_is_a_whole_stop() -> None:
    plain = trial("diode-in-stop-lead").replace("wire 1 SPARK.2 to D1.A", "wire 1 SPARK.2 to STOP.1")
    plain = plain.replace("wire 2 D1.K to STOP.1 black/red 1 mm2 class C\n", "").replace("diode D1 1 A at engine\n", "")
    plain = plain.replace("1 mm2 class C 0.1 m", "1 mm2 class C 0.6 m")
    assert told(plain, *STOPS) == []
    assert unmet(plain) == []


CDI = """loom "A box with a kill wire"
system 12 V negative ground
place here
source BAT battery at here { voltage 12.6 V; capacity 9 Ah; resistance 20 mohm }
fuse MAIN 10 A blade at here
switch KEY 10 A key at here { off: ; on: 30 15 }
switch KILL 2 A at here for ignition { run: ; stop: 1 2 }
load CDI ignition at here for ignition { box 2 A: 15 31; stop-lead: S 31 }
ground FRAME at here
splice P at here
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.3 m
wire 3 BAT.- to FRAME black 6 mm2 0.2 m
wire 4 KEY.15 to P orange 2 mm2 0.3 m
wire 5 P to CDI.15 orange 1 mm2 0.3 m
wire 6 CDI.31 to FRAME black 1 mm2 0.2 m
wire 7 CDI.S to KILL.1 blue 1 mm2 0.4 m
wire 8 KILL.2 to FRAME black 1 mm2 0.3 m
expect whenever KILL stop: CDI dead
"""
DIODE = "diode D 3 A at here\nwire 7 CDI.S to D.{} blue 1 mm2 0.2 m\nwire 9 D.{} to KILL.1 blue 1 mm2 0.2 m\n"
LAMP = "load L lamp at here for lighting {{ glow 3 W: 1 2 }}\n{}"


def stops(of: str) -> list[tuple[str, str]]:
    return [(f.message, f.to_do) for f in all_findings(of) if f.rule in STOPS]


def test_a_kill_wire_straight_to_ground_stops_a_box_that_is_still_fed() -> None:
    assert stops(CDI) == []
    assert unmet(CDI) == []


@pytest.mark.parametrize("ends", [("A", "K"), ("K", "A")])
def test_a_diode_in_the_kill_wire_of_a_fed_box_is_told_and_not_its_feed(ends: tuple[str, str]) -> None:
    """The kill switch grounds a lead: to open the feeds by it is no advice for this box."""
    through = CDI.replace("wire 7 CDI.S to KILL.1 blue 1 mm2 0.4 m\n", DIODE.format(*ends))
    ((message, remedy),) = stops(through)
    assert message == (
        "KILL stop does not stop CDI (KEY on and KILL stop): it is still fed, and its kill wire is connected to its "
        "return one way only, through D"
    )
    assert remedy == "take D out of the kill wire of CDI: a diode grounds only every other half wave"


def test_a_lamp_in_the_kill_wire_is_told() -> None:
    lamp = LAMP.format("wire 8 KILL.2 to L.1 black 1 mm2 0.2 m\nwire 9 L.2 to FRAME black 1 mm2 0.2 m\n")
    through = CDI.replace("wire 8 KILL.2 to FRAME black 1 mm2 0.3 m\n", lamp)
    ((message, remedy),) = stops(through)
    assert message == (
        "KILL stop does not stop CDI (KEY on and KILL stop): it is still fed, and its kill wire is connected to its "
        "return only through L"
    )
    assert remedy == ("take L out of the kill wire of CDI, and connect it through KILL straight to its return")
    (unmoved,) = (f.to_do for f in all_findings(through) if f.rule == "unswitched-part")
    assert unmoved.endswith(
        "or the circuit that it should switch: KILL is there to stop the engine"
    )  # and not to be taken out
    assert len(unmet(through)) == 1


@pytest.mark.parametrize(("other", "count"), [("P", 0), ("FRAME", 0)])
def test_a_lamp_beside_the_kill_wire_takes_nothing_from_it(other: str, count: int) -> None:
    """From the feed or to ground, it is grounded or bridged in stop: the lead is on its return all the same."""
    beside = CDI + LAMP.format(f"wire 9 CDI.S to L.1 blue 1 mm2 0.2 m\nwire 10 L.2 to {other} white 1 mm2 0.2 m\n")
    assert len(stops(beside)) == len(unmet(beside)) == count


def test_a_kill_wire_that_reaches_the_feed_through_a_lamp_is_only_not_grounded() -> None:
    """Past a feed no current of the stop lead returns: the lamp is not what is in its way."""
    fed = CDI.replace("wire 8 KILL.2 to FRAME", "wire 8 KILL.2 to L.1").replace(
        "expect", LAMP.format("wire 9 L.2 to P white 1 mm2 0.2 m\nexpect"), 1
    )
    ((message, remedy),) = stops(fed)
    assert message == "KILL stop does not stop CDI (KEY on and KILL stop): it is still fed"
    assert "L " not in remedy


# --- points and boxes -------------------------------------------------------------------------------------------------
COMMON = """loom "Points beside lamps"
system 12 V negative ground
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 20 A blade at tray
switch KEY 15 A key at tray for supply { off: ; on: 30 15 }
splice SP-15 at tray
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 red 2.5 mm2 0.2 m
wire 3 BAT.- to FRAME black 2.5 mm2 0.2 m
wire 4 KEY.15 to SP-15 orange 2.5 mm2 0.2 m
switch KILL 15 A at tray for ignition { run: 1 2; stop: }
splice SP-RUN at tray
wire 5 SP-15 to KILL.1 orange 2.5 mm2 0.2 m
wire 6 KILL.2 to SP-RUN yellow 2.5 mm2 0.2 m
"""
POINTS = (
    COMMON
    + """load COIL ignition at tray for ignition { primary 3 ohm duty 60 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
wire 7 SP-RUN to COIL.15 yellow 2.5 mm2 0.2 m
wire 8 COIL.1 to POINTS.1 blue 2.5 mm2 0.2 m
wire 9 POINTS.2 to FRAME black 2.5 mm2 0.2 m
load LAMP lamp at tray { lamp 35 W: 1 2 }
wire 10 SP-15 to LAMP.1 orange 2.5 mm2 0.2 m
wire 11 LAMP.2 to COIL.1 white 2.5 mm2 0.2 m
load GRIPS heater at tray { heater 35 W: 1 2 }
wire 12 SP-RUN to GRIPS.1 yellow 2.5 mm2 0.2 m
wire 13 GRIPS.2 to FRAME black 2.5 mm2 0.2 m
"""
)
BOX = (
    COMMON
    + """unit BOX at tray for ignition { supply 100 mA: 15 31; output spark 8 A grounded: O }
load COIL ignition at tray for ignition { primary 3 ohm duty 40 %: 15 1 }
wire 7 SP-15 to BOX.15 orange 2.5 mm2 0.2 m
wire 8 BOX.31 to FRAME black 2.5 mm2 0.2 m
wire 9 SP-RUN to COIL.15 yellow 2.5 mm2 0.2 m
wire 10 COIL.1 to BOX.O blue 2.5 mm2 0.2 m
load LAMP lamp at tray { lamp 35 W: 1 2 }
wire 11 SP-15 to LAMP.1 orange 2.5 mm2 0.2 m
wire 12 LAMP.2 to SP-RUN white 2.5 mm2 0.2 m
expect whenever KILL stop: BOX dead
"""
)


def test_a_coil_that_a_lamp_feeds_backwards_while_its_points_are_open_runs_on() -> None:
    # With the points open the lamp's current goes backwards through the coil to the heater, well above 1.8 V.
    assert told(POINTS, *STOPS) == [
        "COIL runs on at KILL stop (KEY on and KILL stop): it is kept fed through other loads"
    ]


def test_a_lamp_of_its_own_feeds_no_coil() -> None:
    # Near miss: the same lamp to ground.
    assert told(POINTS.replace("LAMP.2 to COIL.1", "LAMP.2 to FRAME"), *STOPS) == []


def test_a_box_whose_coil_lives_through_a_lamp_is_not_stopped_and_told_once() -> None:
    # The box keeps its own supply; what it fires is what its coil gets.
    found = [f for f in all_findings(BOX) if f.rule in STOPS]
    assert [f.message for f in found] == [
        ("BOX runs on at KILL stop (KEY on and KILL stop): it is kept fed through other loads; likewise COIL")
    ]
    assert any("COIL runs on at KILL stop" in note.text for note in found[0].notes)
    assert any("BOX" in message and "dead" in message for message in unmet(BOX))


def test_a_box_whose_coil_has_one_feed_is_stopped() -> None:
    # Near miss: the lamp is connected to the coil's feed alone and is grounded.
    sound = BOX.replace("SP-15 to LAMP.1", "FRAME to LAMP.1")
    assert told(sound, *STOPS) == []
    assert unmet(sound) == []


# --- a stop that is a dead short --------------------------------------------------------------------------------------
def test_a_stop_that_shorts_one_feed_hides_no_coil_that_another_fuse_feeds() -> None:
    # Of a short nothing else is asked; but F-LEFT blows, and the other cylinder runs on.
    shorts = trial("kill-switch-shorts-a-feed")
    assert told(shorts, *STOPS) == [
        (
            "KILL stop does not stop COIL-R (KEY on and KILL stop): it makes a dead short, and once F-LEFT has blown "
            "it is still fed"
        )
    ]
    assert unmet(shorts) == ["COIL-R is expected dead and is live (KEY on and KILL stop)"]
    assert len(told(shorts, "dead-short")) == 1


def test_a_stop_that_shorts_the_only_feed_stops_once_its_fuse_has_blown() -> None:
    # Near miss: both coils are connected to the feed that is shorted. The short itself is reported all the same.
    one = trial("kill-switch-shorts-a-feed").replace("KEY.4 to COIL-R.15", "KEY.2 to COIL-R.15")
    assert told(one, *STOPS) == []
    assert unmet(one) == []
    assert len(told(one, "dead-short")) == 1


def test_two_fuses_in_parallel_blow_one_after_the_other() -> None:
    # Behind both the short goes on until the second has blown too; a third feed then still feeds COIL-R.
    two = trial("kill-switch-shorts-a-feed").replace(
        "wire 3 F-LEFT.2",
        "fuse F-MORE 20 A blade at tray\nwire 11 BAT.+ to F-MORE.1 red 2.5 mm2 0.2 m\n"
        "wire 12 F-MORE.2 to KEY.1 red 2.5 mm2 0.2 m\nwire 3 F-LEFT.2",
    )
    assert told(two, *STOPS) == [
        (
            "KILL stop does not stop COIL-R (KEY on and KILL stop): it makes a dead short, and once F-LEFT and F-MORE "
            "have blown it is still fed"
        )
    ]


def test_a_stop_that_is_a_short_without_a_fuse_is_not_said_to_stop() -> None:
    bare = trial("kill-switch-shorts-a-feed").replace("wire 3 F-LEFT.2 to", "wire 3 BAT.+ to")
    short = "it is a dead short there, and no fuse ends it"
    assert told(bare, *STOPS) == [
        f"KILL stop was not proved to stop COIL: {short}",
        f"KILL stop was not proved to stop COIL-R: {short}",
        f"COIL-R was not proved dead as expected: {short}",
    ]


# --- live through loads -----------------------------------------------------------------------------------------------
THROUGH = (
    COMMON
    + """load SMALL lamp at tray { lamp 3 W: 1 2 }
load LARGE lamp at tray { lamp 55 W: 1 2 }
wire 7 SP-15 to LARGE.1 orange 2.5 mm2 0.2 m
wire 8 LARGE.2 to SMALL.1 white 2.5 mm2 0.2 m
wire 9 SMALL.2 to FRAME black 2.5 mm2 0.2 m
expect whenever KEY on: SMALL live
"""
)


def test_live_of_what_only_a_load_feeds_is_not_said_to_be_dead() -> None:
    # 3 W behind 55 W has nearly all the volts: no joined path proves it, and none of it is refuted.
    assert unmet(THROUGH) == []
    assert told(THROUGH, "undecided-path") == [
        "SMALL was not proved live as expected: it is fed only through other loads there"
    ]


def test_live_of_what_gets_too_little_through_a_load_is_refuted() -> None:
    # The most that the other one leaves it is far below the share from which a lamp works.
    assert unmet(THROUGH.replace("SMALL live", "LARGE live")) == ["LARGE is expected live and is not (KEY on)"]
