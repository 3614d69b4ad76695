"""Rules of windings that go by what the current does: through lamps, behind switches, in each state."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text

BIKE = """
loom "A lighting winding"
system 12 V negative ground
source MAG alternator { winding light 45 W 0.6 ohm open 24 V short 6 A: 59 31; speeds 30 % 180 % }
regulator LIMIT 8 A { shunts 13.5 V: 59 31 }
switch LIGHTS 6 A { off: ; on: 59 56 }
load HEAD lamp { dip 35 W dip-beam: 56 31 }
ground FRAME
splice SP
mount MAG.31 to FRAME
wire 1 MAG.59 to SP yellow 1.5 mm2 0.5 m
wire 2 SP to LIGHTS.59 yellow 1.5 mm2 0.5 m
wire 3 LIGHTS.56 to HEAD.56 white 1.5 mm2 0.5 m
wire 4 HEAD.31 to FRAME black 1.5 mm2 0.5 m
wire 5 SP to LIMIT.59 yellow 1.5 mm2 0.1 m
wire 6 LIMIT.31 to FRAME black 1.5 mm2 0.2 m
state riding { LIGHTS on, engine running }
state flat-out { LIGHTS on, engine fast }
"""

SERIES = """
load PILOT lamp { glow 5 W: 1 2 }
wire 10 SP to PILOT.1 yellow 1 mm2 0.5 m
"""

BEHIND = """
load STOP lamp { stop 10 W stop-lamp: 54 31 }
switch BRAKE 3 A momentary senses rear-brake { rest: ; press: 1 2 }
wire 20 SP to BRAKE.1 yellow 1 mm2 0.5 m
wire 21 BRAKE.2 to STOP.54 pink 1 mm2 0.5 m
wire 22 STOP.31 to FRAME black 1 mm2 0.5 m
"""


def found(text: str, rule: str) -> list[str]:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    return [each.message for each in check(reading, today=date(2026, 6, 1)).findings if each.rule == rule]


def test_a_sound_winding_is_left_alone() -> None:
    for rule in ("mixed-current", "led-on-winding", "limiter-off"):
        assert found(BIKE + BEHIND, rule) == []


def test_an_led_in_series_with_a_lamp_is_driven_backwards() -> None:
    led = SERIES + "load TELL led { glow 0.5 W: + - }\nwire 11 PILOT.2 to TELL.+ white 1 mm2 0.5 m\n"
    led += "wire 12 TELL.- to FRAME black 1 mm2 0.5 m\n"
    (message,) = found(BIKE + led, "led-on-winding")
    assert message.startswith("TELL.glow (LED) gets ")
    assert "backwards (LIGHTS on and engine fast) from an alternating winding: LEDs commonly withstand 5 V" in message


def test_an_led_past_a_diode_is_not() -> None:
    led = "diode D 1 A\nload TELL led { glow 0.5 W: + - }\nwire 11 SP to D.A white 1 mm2 0.5 m\n"
    led += "wire 12 D.K to TELL.+ white 1 mm2 0.5 m\nwire 13 TELL.- to FRAME black 1 mm2 0.5 m\n"
    assert found(BIKE + led, "led-on-winding") == []


def test_a_relay_in_series_with_a_lamp_gets_alternating_current() -> None:
    relay = SERIES + "relay K 20 A { coil 85 ohm: 86 85; pulled: 30 87 }\n"
    relay += "wire 11 PILOT.2 to K.86 white 1 mm2 0.5 m\nwire 12 K.85 to FRAME black 1 mm2 0.5 m\n"
    (message,) = found(BIKE + relay, "mixed-current")
    assert message.startswith("K coil (coil) gets alternating current from a winding, 1")
    assert message.endswith("V both ways (LIGHTS on and engine fast)")


def test_a_relay_past_a_diode_gets_half_waves_one_way() -> None:
    relay = "diode D 1 A\nrelay K 20 A { coil 85 ohm: 86 85; pulled: 30 87 }\nwire 10 SP to D.A white 1 mm2 0.5 m\n"
    relay += "wire 11 D.K to K.86 white 1 mm2 0.5 m\nwire 12 K.85 to FRAME black 1 mm2 0.5 m\n"
    assert found(BIKE + relay, "mixed-current") == []


@pytest.mark.parametrize(("watts", "harms"), [(10, True), (90, False)])
def test_a_limiter_behind_the_light_switch_leaves_the_stop_lamp_alone(watts: int, harms: bool) -> None:
    """More watts than the winding was made for hold its voltage down at most speed, too."""
    behind = BIKE.replace("wire 5 SP to LIMIT.59", "wire 5 LIGHTS.56 to LIMIT.59")
    text = behind + BEHIND.replace("stop 10 W", f"stop {watts} W")
    messages = found(text, "limiter-off")
    if harms:
        assert messages == [
            "LIMIT does not limit MAG.light (LIGHTS off and rear-brake press), and STOP.stop is connected to it",
        ]
    else:
        assert messages == []
    assert found(BIKE + BEHIND.replace("stop 10 W", f"stop {watts} W"), "limiter-off") == []


def test_a_limiter_takes_what_the_lamps_leave_at_most_speed() -> None:
    """By hand: 24 V and 4 ohm, 0.6 of them resistance, at 1.8 times the speed: 43.2 V behind 0.6 + 7.12j ohm. To hold
    13.5 V across itself with the lights off it is a resistance R with |43.2 R / (R + 0.6 + 7.12j)| = 13.5 V, so that
    R = 2.46 ohm, and takes 5.5 A.
    """
    assert found(BIKE, "overloaded-contact") == []
    (message,) = found(BIKE.replace("LIMIT 8 A", "LIMIT 5 A"), "overloaded-contact")
    assert message.startswith("LIMIT takes at least 5.5")
    assert message.endswith("A rms of its winding to limit the voltage (engine fast), rated 5 A")


@pytest.mark.parametrize("figures", ["", "30 W"])
def test_of_what_is_not_solved_no_number_is_claimed(figures: str) -> None:
    """At idling speed W alone tell nothing, and without them nothing does: that it gets 0 % is not known."""
    text = BIKE.replace("45 W 0.6 ohm open 24 V short 6 A", figures).replace("engine running", "engine idling")
    assert found(text + "expect in riding: HEAD.dip live\n", "unmet-expectation") == []
