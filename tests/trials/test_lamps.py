"""Stop, tail and headlamps that do another one's work: what is stated of each, and sound lamps of which nothing is."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from checked_text import all_findings

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_file

HERE = Path(__file__).parent
RULES = ("stop-always-on", "stop-is-tail", "exchanged-filaments", "both-beams", "stop-lamp-controls")

FRONT = """
loom "Lamps"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
ground FRAME at tray
splice SP at tray
splice SP-54 at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
"""
KEY = """
switch KEY 15 A key at tray for supply { off: ; on: 30 15 }
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 4 KEY.15 to SP orange 2 mm2 0.30 m
"""
BRAKES = """
switch BRAKE-FRONT 3 A momentary senses front-brake at tray { rest: ; press: 1 2 }
switch BRAKE-REAR 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
wire 5 SP to BRAKE-FRONT.1 orange 2 mm2 0.30 m
wire 6 SP to BRAKE-REAR.1 orange 2 mm2 0.30 m
wire 7 BRAKE-FRONT.2 to SP-54 pink 2 mm2 0.30 m
wire 8 BRAKE-REAR.2 to SP-54 pink 2 mm2 0.30 m
"""
REAR = """
load REAR lamp at tray for lighting { tail 5 W tail-lamp plate-lamp: 58 31; stop 21 W stop-lamp: 54 31 }
switch LIGHTS 6 A at tray for lighting { off: ; on: 15 58 }
wire 10 SP to LIGHTS.15 orange 2 mm2 0.30 m
wire 12 REAR.31 to FRAME black 2 mm2 0.30 m
"""
TAIL = "wire 11 LIGHTS.58 to REAR.58 grey 2 mm2 0.30 m\n"
STOP = "wire 9 SP-54 to REAR.54 pink 2 mm2 0.30 m\n"
BIKE = FRONT + KEY + BRAKES + REAR
HEAD = FRONT + KEY + (
    "load HEAD lamp at tray for lighting { dip 55 W dip-beam: 56b 31; main 60 W main-beam: 56a 31 }\n"
    "load REAR lamp at tray for lighting { tail 5 W tail-lamp: 58 31 }\n"
    "wire 5 HEAD.31 to FRAME black 2 mm2 0.30 m\n"
    "wire 6 SP to REAR.58 grey 2 mm2 0.30 m\n"
    "wire 7 REAR.31 to FRAME black 2 mm2 0.30 m\n"
    "wire 8 SP to DIP.56 white 2 mm2 0.30 m\n"
    "wire 9 DIP.56a to HEAD.56a white/blue 2 mm2 0.30 m\n"
    "wire 10 DIP.56b to HEAD.56b yellow 2 mm2 0.30 m\n"
)  # fmt: skip
DIP = "switch DIP 15 A at tray for lighting { low: 56 56b; high: 56 56a }\n"


def found(text: str) -> list[Finding]:
    return [f for f in all_findings(text) if f.rule in RULES]


def said(text: str) -> list[str]:
    return [f"{f.level.word} {f.rule}: {f.message}" for f in found(text)]


@pytest.mark.parametrize(
    ("trial", "wanted"),
    [
        ("stop-lamp-always-on", ["stop-always-on: stop lamp REAR.stop is on without a brake (KEY on)"]),
        (
            "stop-and-tail-exchanged",
            [
                (
                    "exchanged-filaments: tail lamp REAR.tail is rated 21 W and stop lamp REAR.stop only 5 W: the "
                    "stop lamp must be the brighter one"
                )
            ],
        ),
        (
            "both-beams-at-once",
            [("both-beams: HEAD.dip and HEAD.main, filaments of one bulb, are both on (KEY on and DIP high)")],
        ),
    ],
)
def test_the_trial(trial: str, wanted: list[str]) -> None:
    findings = check(read_file(str(HERE / f"{trial}.loom")), today=date(2026, 6, 1)).findings
    assert [f"{f.rule}: {f.message}" for f in findings if f.level is Level.WARNING] == wanted


def test_a_tail_lamp_that_is_on_with_the_stop_lamp_is_sound() -> None:
    assert said(BIKE + STOP + TAIL) == []


def test_a_wire_past_the_brake_switches() -> None:
    """Where the wire is the very feed, the brake switches are bridged; the path names the wire to look at."""
    told = found(BIKE + STOP + TAIL + "wire 13 SP to SP-54 pink 2 mm2 0.30 m\n")
    assert [f.message for f in told] == ["stop lamp REAR.stop is on without a brake (KEY on)"]
    assert "wire 13" in told[0].path
    assert told[0].to_do == ("disconnect the wire that bypasses the brake switches to REAR.54: it is on the path above")


def test_a_relay_s_released_contact_lights_it() -> None:
    relay = (
        "relay K 20 A at tray { coil 85 ohm: 86 85; released: 30 87a; pulled: }\n"
        "wire 20 SP-54 to K.86 pink 2 mm2 0.3 m\nwire 21 K.85 to FRAME black 2 mm2 0.3 m\n"
        "wire 22 SP to K.30 orange 2 mm2 0.3 m\nwire 23 K.87a to REAR.54 white 2 mm2 0.3 m\n"
    )
    assert said(BIKE + TAIL + relay)[0] == (
        "warning stop-always-on: stop lamp REAR.stop is on without a brake (KEY on)"
    )
    assert said(BIKE + TAIL + relay.replace("released: 30 87a; pulled:", "released: ; pulled: 30 87a")) == []


UNIT = """
unit BOX at tray for lighting {
    supply 0.1 A: 15 31
    input brake grounded: B
    output stop 5 A: OUT when CONDITION
}
wire 20 SP to BOX.15 orange 2 mm2 0.3 m
wire 21 BOX.31 to FRAME black 2 mm2 0.3 m
wire 22 BOX.OUT to REAR.54 pink 2 mm2 0.3 m
wire 23 BOX.B to SP-54 white 2 mm2 0.3 m
"""


def test_a_unit_s_output_that_means_the_opposite() -> None:
    """The brakes ground the box's input: an output `when not brake` is on without them."""
    grounding = BRAKES.replace("SP to", "FRAME to").replace("orange", "black")
    bike = FRONT + KEY + grounding + REAR + TAIL + UNIT
    assert said(bike.replace("CONDITION", "brake")) == []
    assert said(bike.replace("CONDITION", "not brake"))[0] == (
        "warning stop-always-on: stop lamp REAR.stop is on without a brake (KEY on)"
    )


def test_the_stop_lamp_on_the_tail_lamp_s_lead() -> None:
    bike = BIKE + TAIL + STOP + "wire 13 LIGHTS.58 to REAR.54 grey 2 mm2 0.30 m\n"
    assert said(bike) == [
        (
            "warning stop-is-tail: stop lamp REAR.stop shares the lead of tail lamp REAR.tail and is on without a "
            "brake (KEY on and LIGHTS on)"
        )
    ]


def test_the_brakes_on_the_tail_lamp_and_the_stop_lamp_on_nothing() -> None:
    bike = BIKE + TAIL + "wire 9 SP-54 to REAR.58 pink 2 mm2 0.30 m\ncapped REAR.54\n"
    told = [line for line in said(bike) if "stop-is-tail" in line]
    assert len(told) == 1
    assert told[0].startswith("warning stop-is-tail: tail lamp REAR.tail is switched by a brake (KEY on, ")


def test_leads_exchanged_at_the_bulb_are_told_once() -> None:
    bike = BIKE + TAIL.replace("REAR.58", "REAR.54") + STOP.replace("REAR.54", "REAR.58")
    told = found(bike)
    assert [(f.rule, f.level) for f in told] == [("exchanged-filaments", Level.WARNING)]
    assert told[0].to_do == "swap the wires at REAR.54 and REAR.58"


def test_a_lamp_that_the_brake_switch_grounds_has_the_feed_of_the_tail_lamp() -> None:
    """Old brake switches are in the ground lead: a common feed is then right."""
    bike = (
        FRONT + KEY + "load REAR lamp at tray for lighting { tail 5 W tail-lamp: 58 31; stop 21 W stop-lamp: 58 B }\n"
        "switch BRAKE-FRONT 3 A momentary senses front-brake at tray { rest: ; press: 1 2 }\n"
        "switch BRAKE-REAR 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }\n"
        "wire 5 SP to REAR.58 orange 2 mm2 0.3 m\nwire 6 REAR.31 to FRAME black 2 mm2 0.3 m\n"
        "wire 7 REAR.B to SP-54 pink 2 mm2 0.3 m\nwire 8 SP-54 to BRAKE-FRONT.1 pink 2 mm2 0.3 m\n"
        "wire 9 SP-54 to BRAKE-REAR.1 pink 2 mm2 0.3 m\nwire 10 BRAKE-FRONT.2 to FRAME black 2 mm2 0.3 m\n"
        "wire 11 BRAKE-REAR.2 to FRAME black 2 mm2 0.3 m\n"
    )
    assert said(bike) == []


def test_a_brake_switch_that_is_not_said_to_be_one() -> None:
    """Any switch may be the brake's where none senses a brake: the lamp is then not always on."""
    plain = FRONT + KEY + "switch PEDAL 3 A at tray { up: ; down: 1 2 }\n" + REAR + TAIL
    wires = "wire 5 SP to PEDAL.1 orange 2 mm2 0.3 m\nwire 6 PEDAL.2 to REAR.54 pink 2 mm2 0.3 m\n"
    assert [line for line in said(plain + wires) if line.startswith("warning")] == []
    past = wires + "wire 7 SP to REAR.54 pink 2 mm2 0.3 m\n"
    assert said(plain + past)[0] == "warning stop-always-on: stop lamp REAR.stop is on without a brake (KEY on)"


def test_equal_filaments_are_not_told_by_watts() -> None:
    assert said(BIKE.replace("tail 5 W", "tail 21 W") + STOP + TAIL) == []
    assert len(said(BIKE.replace("tail 5 W", "tail 2 A") + STOP + TAIL)) == 1


def test_lamps_of_two_parts_are_two_bulbs() -> None:
    """A large tail lamp beside a small stop lamp of another part is no exchange."""
    bike = BIKE.replace("tail 5 W", "tail 25 W").replace("stop 21 W stop-lamp: 54 31 }", "}").replace("; }", " }")
    more = (
        "load STOP lamp at tray for lighting { stop 21 W stop-lamp: 54 31 }\nwire 14 STOP.31 to FRAME black 2 mm2 1 m\n"
    )
    assert said(bike + more + STOP.replace("REAR.54", "STOP.54") + TAIL) == []


def test_one_beam_at_a_time_and_the_flash_of_a_button() -> None:
    assert said(HEAD + DIP) == []
    flash = (
        "switch PASS 10 A momentary at tray { rest: ; press: 1 2 }\n"
        "wire 20 SP to PASS.1 orange 2 mm2 0.3 m\nwire 21 PASS.2 to HEAD.56a white/blue 2 mm2 0.3 m\n"
    )
    assert said(HEAD + DIP + flash) == []
    assert said(HEAD + DIP + flash.replace("momentary ", "").replace("rest:", "off:").replace("press:", "on:")) == [
        ("warning both-beams: HEAD.dip and HEAD.main, filaments of one bulb, are both on (KEY on, DIP low and PASS on)")
    ]


def test_separate_bulbs_that_add_up_are_meant_so() -> None:
    """Four lamps: dipped stays on beside main. Two bulbs in one housing have no terminal in common."""
    both = DIP.replace("56 56a", "56 56a, 56 56b")
    assert len(said(HEAD + both)) == 1
    apart = HEAD.replace("main 60 W main-beam: 56a 31", "main 60 W main-beam: 56a 31a")
    assert said(apart + both + "wire 15 HEAD.31a to FRAME black 2 mm2 0.3 m\n") == []
    assert said(HEAD.replace("load HEAD lamp", "load HEAD led") + both) == []


def test_a_relay_that_keeps_the_dipped_beam() -> None:
    """Main beam through a relay from the dip switch, dipped beam straight from the feed: both are on."""
    relay = (
        "relay K 20 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }\n"
        "wire 20 DIP.56a to K.86 white/blue 2 mm2 0.3 m\nwire 21 K.85 to FRAME black 2 mm2 0.3 m\n"
        "wire 22 SP to K.30 orange 2 mm2 0.3 m\nwire 23 K.87 to HEAD.56a white/blue 2 mm2 0.3 m\n"
        "wire 24 SP to HEAD.56b yellow 2 mm2 0.3 m\n"
    )
    bike = HEAD.replace("wire 9 DIP.56a to HEAD.56a white/blue 2 mm2 0.30 m\n", "")
    assert said(bike + DIP + relay) == [
        ("warning both-beams: HEAD.dip and HEAD.main, filaments of one bulb, are both on (KEY on and DIP high)")
    ]


def test_a_keyless_machine_is_asked_while_its_receiver_is_awake() -> None:
    """With the receiver asleep everything is dark, and that is no fault of a brake switch."""
    keyless = """
relay RX 20 A at tray for supply { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
switch RECEIVER 1 A at tray for supply { away: ; near: 1 2 }
wire 30 MAIN.2 to RX.30 red 2 mm2 0.15 m
wire 31 MAIN.2 to RECEIVER.1 red 2 mm2 0.15 m
wire 32 RECEIVER.2 to RX.86 white 2 mm2 0.15 m
wire 33 RX.85 to FRAME black 2 mm2 0.15 m
wire 34 RX.87 to SP orange 2 mm2 0.15 m
"""
    bike = FRONT + keyless + BRAKES + REAR + TAIL + STOP
    assert said(bike) == []
    in_a_row = bike.replace("wire 6 SP to", "wire 6 BRAKE-FRONT.2 to")
    assert said(in_a_row) == [
        (
            "warning stop-lamp-controls: BRAKE-REAR does not light REAR.stop by itself (RECEIVER near, "
            "front-brake rest and rear-brake press)"
        )
    ]


def test_a_stop_lamp_on_a_winding_is_said_once() -> None:
    """It needs the engine by design: a note, and with the engine running both brakes must light it."""
    winding = (
        "source MAG alternator at tray { winding light 40 W: 59 31 }\nmount MAG.31 to FRAME\n"
        "wire 40 MAG.59 to SP-M yellow 2 mm2 0.3 m\nsplice SP-M at tray\n"
    )
    on_it = BRAKES.replace("SP to", "SP-M to")
    bike = FRONT + KEY + winding + on_it + REAR + TAIL + STOP
    note = (
        "note stop-lamp-controls: REAR.stop is fed by the engine's windings alone: no brake lights it while the engine "
        "is off"
    )
    assert said(bike) == [note]
    in_a_row = bike.replace("wire 6 SP-M to", "wire 6 BRAKE-FRONT.2 to")
    assert [line for line in said(in_a_row) if line != note] == [
        (
            "warning stop-lamp-controls: BRAKE-REAR does not light REAR.stop by itself (KEY on, front-brake "
            "rest, rear-brake press and engine running)"
        )
    ]
