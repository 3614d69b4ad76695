"""Named states: what they mean, whether they can come about, and that logic and numbers say the same of them."""

from __future__ import annotations

from checked_text import all_findings, sound, trial

from loomwright.checks.findings.finding import Level
from loomwright.checks.operation.operating_points import state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.tables.profiles import DEFAULT, profile_named
from loomwright.lang.circuit.build import build_circuit

PROFILE = profile_named(DEFAULT)


def told(of: str, *rules: str) -> list[str]:
    return [f.message for f in all_findings(of) if f.rule in rules]


def operation(of: str) -> Operation:
    return Operation(build_circuit(sound(of).harness))


def test_a_state_that_cannot_be_is_one_error_and_nothing_else_is_asked_of_it() -> None:
    # The latch is cleared whenever the key is off, so nothing that is stated of KEY off with it set means anything.
    found = all_findings(trial("state-that-cannot-be"))
    assert [(f.rule, f.level, f.state, f.message) for f in found if f.state or f.rule == "unmet-expectation"] == [
        (
            "impossible-state",
            Level.ERROR,
            "impossible",
            (
                "state impossible is impossible: condition CTRL.on set never occurs with KEY off; the rest of it was "
                "not checked"
            ),
        )
    ]


def test_states_refuses_what_cannot_be() -> None:
    asked = operation(trial("state-that-cannot-be"))
    (table,) = state_tables(asked, PROFILE)
    assert table.problem == "it is impossible: condition CTRL.on set never occurs with KEY off"
    assert list(asked.unsolved) == ["impossible"]


def test_a_latch_that_must_be_set_cannot_be_cleared() -> None:
    held = trial("state-that-cannot-be").replace("{ KEY off, CTRL.on set }", "{ KEY on, BTN press, CTRL.on cleared }")
    assert told(held, "impossible-state") == [
        (
            "state impossible is impossible: condition CTRL.on cleared never occurs with KEY on and BTN press; the "
            "rest of it was not checked"
        )
    ]
    free = held.replace("BTN press, ", "")
    assert told(free, "impossible-state") == []


def test_a_latch_that_a_state_does_not_name_is_cleared() -> None:
    assert told(trial("latch-at-rest"), "unmet-expectation", "impossible-state") == []


def test_a_latch_that_the_state_itself_sets_is_set_unnamed() -> None:
    pressed = trial("latch-at-rest").replace("state ride { KEY on }", "state ride { KEY on, BTN press }")
    pressed = pressed.replace("LAMP live", "LAMP dead").replace("HORN dead", "HORN live")
    assert told(pressed, "unmet-expectation", "impossible-state") == []


def test_dead_in_a_state_is_compared_with_its_numbers() -> None:
    pump = trial("dead-in-state-not-compared")
    assert told(pump, "unmet-expectation") == [
        "PUMP is expected dead and is live (KEY on and B rest)",
        "PUMP is expected dead in at-rest and is live (KEY on and B rest)",
    ]
    strong = pump.replace("stop 21 W", "stop 0.1 W")  # 1.8 kohm before 85 ohm: 0.6 V on the coil
    assert told(strong, "unmet-expectation") == []


def test_a_state_is_told_as_relays_may_have_been_left() -> None:
    asked = operation(trial("relay-held-through-lamps"))
    told_ = [(t.name, t.pulled, t.history) for t in state_tables(asked, PROFILE)]
    assert told_ == [("riding", ("K-IGN",), ""), ("killed", (), ""), ("killed", ("K-IGN",), "K-IGN still in")]
    (other,) = asked.left_before.others("killed")
    assert 12.0 < other.across("COIL.primary") < 12.6


def test_a_claim_in_volts_must_hold_in_every_history() -> None:
    bike = trial("relay-held-through-lamps", ("in killed: COIL dead", "in killed: COIL at most 1 V"))
    assert any(
        m.startswith("COIL is expected at most 1 V in killed (K-IGN still in) and has 12.")
        for m in told(bike, "unmet-expectation")
    )


def test_one_tell_tale_between_left_and_right_is_sound() -> None:
    # 3 W in a row with two cold 21 W lamps: it has over 11 V.
    pilot = trial("one-turn-pilot")
    assert told(pilot, "floating-ground", "unmet-expectation", "never-live") == []


def test_a_tell_tale_between_that_is_too_dim_is_told() -> None:
    # With two of 288 ohm on either side in place of the lamps, a 3 W lamp gets next to nothing.
    dim = trial("one-turn-pilot")
    for key in ("FL", "FR", "RL", "RR"):
        dim = dim.replace(f"load {key} lamp for signals {{ turn 21 W", f"load {key} heater for signals {{ turn 0.5 W")
    dim = dim.replace(" turn-right:", ":").replace(" turn-left:", ":")
    assert told(dim, "floating-ground") != []
    assert told(dim, "unmet-expectation") != []


def test_a_resistor_limits_what_lies_behind_it() -> None:
    # 6.8 kohm before a 55 W lamp: 1.8 mA, a thousandth of a volt.
    lamp = trial("resistor-is-no-feed")
    assert told(lamp, "live-with-key-out", "unmet-expectation") == []


def test_a_small_resistor_feeds_what_lies_behind_it() -> None:
    lamp = trial("resistor-is-no-feed").replace("6.8 kohm 1 W", "1 ohm 100 W")
    assert told(lamp, "live-with-key-out") == ["LAMP.bulb is live (KEY off)"]
    assert len(told(lamp, "unmet-expectation")) == 2


BETWEEN_BATTERIES = """loom "Two heaters between two batteries that share no pole"
system 12 V negative ground
place here
source BAT battery at here { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source AUX battery at here { voltage 6.3 V; capacity 9 Ah; resistance 20 mohm }
fuse MAIN 5 A blade at here
load L1 heater at here { heater 10 ohm: 1 2 }
load L2 heater at here { heater 10 ohm: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to L1.1 red/white 1.5 mm2 0.3 m
wire 3 L1.2 to AUX.+ red/blue 1.5 mm2 0.15 m
wire 4 AUX.- to L2.1 black/blue 1.5 mm2 0.2 m
wire 5 L2.2 to BAT.- black 1.5 mm2 0.2 m
state rest { }
"""


def test_what_is_not_dead_by_numbers_alone_is_told_in_percent_of_the_nominal_voltage() -> None:
    """Logic has no bound without a common pole: 1.68 V of 12 V are 14 %, above the 10 % below which a heater is off."""
    across = abs(operation(BETWEEN_BATTERIES).state("rest").across("L1.heater"))
    assert 1.62 < across < 1.74  # 13.5 to 14.5 % of 12 V
    assert told(BETWEEN_BATTERIES + "expect in rest: L1 dead\n", "unmet-expectation") == [
        "L1 is expected dead in rest and gets 14 % of the nominal voltage, under 10 % is dead"
    ]
    assert told(BETWEEN_BATTERIES + "expect in rest: L1 live\n", "unmet-expectation") == [
        "L1 is expected live in rest and is not"
    ]


# --- live where logic only knows that a relay may hold ----------------------------------------------------------------
SENSING = """loom "A relay between the key and what a machine feeds"
system 12 V negative ground
place here
source BAT battery at here { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at here { output 150 W: B+ B-; field 6 ohm: D+ B-; regulated 14.2 V; idle 60 W }
fuse MAIN 20 A blade at here
switch KEY 15 A key at here { off: ; on: 30 15 }
relay K 20 A at here { coil 90 ohm: 86 85; pulled: 30 87; released: 30 87a }
load HEAD lamp at here for lighting { glow 35 W: 1 2 }
load WARN lamp at here for charging { glow 3 W tell-tale: 1 2 }
ground FRAME at here
splice P at here
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 4 mm2 0.3 m
wire 3 BAT.- to FRAME black 6 mm2 0.2 m
wire 4 KEY.15 to P orange 4 mm2 0.3 m
wire 5 P to K.86 orange 4 mm2 0.3 m
wire 6 K.85 to ALT.D+ blue 4 mm2 0.3 m
wire 7 P to WARN.1 orange 4 mm2 0.3 m
wire 8 WARN.2 to ALT.D+ blue 4 mm2 0.3 m
wire 9 P to K.30 orange 4 mm2 0.3 m
wire 10 K.87a to HEAD.1 white 4 mm2 0.4 m
wire 11 HEAD.2 to FRAME black/white 4 mm2 0.4 m
wire 12 ALT.B+ to MAIN.2 brown 4 mm2 0.4 m
wire 13 ALT.B- to FRAME black/brown 4 mm2 0.2 m
state riding { KEY on, engine running }
expect in riding: HEAD live
"""


def test_a_relay_that_drops_out_once_the_machine_charges_is_believed_to() -> None:
    """Bounded by 14.2 V less 12.6 V it might stay in as it was before; by volts both of its ends have the same."""
    assert told(SENSING, "unmet-expectation") == []
    asked = operation(SENSING)
    assert asked.state("riding").memory.pulled == frozenset()
    assert asked.left_before.others("riding") == ()


def test_a_relay_that_a_resistor_holds_in_is_not() -> None:
    """3.8 V through 200 ohm: too little to pull in, enough to stay in once a button has grounded it."""
    holds = SENSING.replace("wire 6 K.85 to ALT.D+ blue 4 mm2 0.3 m\n", "").replace(
        "state riding",
        "switch BTN 5 A momentary at here { rest: ; press: 1 2 }\nresistor R 200 ohm at here\n"
        "wire 6 K.85 to R.1 blue 4 mm2 0.3 m\nwire 14 R.2 to FRAME black 4 mm2 0.3 m\n"
        "wire 15 K.85 to BTN.1 blue 4 mm2 0.3 m\nwire 16 BTN.2 to FRAME black 4 mm2 0.3 m\nstate riding",
    )
    assert told(holds, "unmet-expectation") == [
        "HEAD is expected live in riding (K still in) and gets 0 % of the nominal voltage, at least 50 % is needed"
    ]
