"""A stop switch with a stop on either side, LED tell-tales that glow while they are off, and batteries not charged."""

from __future__ import annotations

import pytest
from checked_text import all_findings

FRONT = """
loom "Stops and leaks"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
"""
COIL = """
switch KILL 10 A at tray for ignition { POSITIONS; rests run }
load COIL ignition at tray for ignition { primary 4 ohm duty 40 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS.2 to FRAME
wire 4 KEY.15 to KILL.1 orange 2 mm2 0.30 m
wire 5 KILL.2 to COIL.15 yellow 2 mm2 0.30 m
wire 7 COIL.1 to POINTS.1 yellow/black 2 mm2 0.30 m
"""


def said(text: str, rule: str) -> list[str]:
    return [f"{f.level.word}: {f.message}" for f in all_findings(text) if f.rule == rule]


@pytest.mark.parametrize("second", ["off", "off stop", "left stop"])
def test_both_sides_of_run_must_stop(second: str) -> None:
    """Off, run, off: whichever way the thumb goes, the engine stops."""
    both = FRONT + COIL.replace("POSITIONS", f"{second}: ; run: 1 2; stop: ")
    assert said(both, "no-kill-path") == []
    one, name = both.replace(f"{second}: ;", f"{second}: 1 2;"), second.split(maxsplit=1)[0]
    assert said(one, "no-kill-path") == [
        f"error: KILL {name} does not stop COIL (KEY on and KILL {name}): it is still fed"
    ]


def test_off_of_another_switch_stops_nothing() -> None:
    """A light switch has an `off` too, and the engine goes on."""
    lights = "switch LIGHTS 5 A at tray for lighting { off: ; on: 1 2; stop-lamp: }\ncapped LIGHTS.1\ncapped LIGHTS.2\n"
    text = FRONT + COIL.replace("POSITIONS", "run: 1 2; stop: ") + lights
    assert said(text, "no-kill-path") == []


DASH = """
unit DASH at tray for instruments {
    supply 50 mA: 30 31
    input horn fed: I
    output horn 5 A: OUT when horn
}
switch BTN 2 A momentary at tray for signals { rest: ; press: 1 2 }
load TELL led at tray for instruments { horn 0.3 W tell-tale: 1 2 }
wire 4 KEY.15 to DASH.30 orange 2 mm2 0.30 m
wire 5 DASH.31 to FRAME black 2 mm2 0.30 m
wire 6 KEY.15 to BTN.1 orange 2 mm2 0.30 m
wire 7 BTN.2 to DASH.I white 2 mm2 0.30 m
wire 8 DASH.OUT to TELL.1 blue 2 mm2 0.30 m
wire 9 TELL.2 to FRAME black 2 mm2 0.30 m
"""


def test_an_led_alone_on_an_output_of_amps() -> None:
    assert said(FRONT + DASH, "lamp-leak") == [
        (
            "note: TELL.horn (LED) is the only load on output DASH.horn: leakage or test pulses of the output can make "
            "it glow while the output is off"
        )
    ]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("output horn 5 A", "output horn 0.2 A"),  # made for an LED
        ("load TELL led", "load TELL lamp"),
        ("0.3 W tell-tale", "0.3 W"),
        (
            "wire 9",
            (
                "resistor R 1 kohm 1 W at tray\nwire 20 DASH.OUT to R.1 blue 2 mm2 1 m\n"
                "wire 21 R.2 to FRAME black 2 mm2 1 m\nwire 9"
            ),
        ),
    ],
    ids=["small output", "filament", "no tell-tale", "a resistor beside it"],
)
def test_what_takes_the_trickle(old: str, new: str) -> None:
    assert said(FRONT + DASH.replace(old, new), "lamp-leak") == []


LEAK = """
switch OIL 2 A senses oil-pressure at tray for sensing { low: 1 2; good: }
switch TEST 2 A at tray { off: ; on: 1 2 }
load TELL led at tray for instruments { oil 0.3 W tell-tale: 1 2 }
load BUZZ horn at tray for instruments { buzz 1 W: 1 2 }
wire 4 KEY.15 to TELL.1 orange 2 mm2 0.30 m
wire 5 TELL.2 to OIL.1 green 2 mm2 0.30 m
wire 6 OIL.2 to FRAME black 2 mm2 0.30 m
"""


def test_an_led_that_another_load_lights() -> None:
    """The buzzer on the same switch is grounded: with the switch open it is a way for the LED's current."""
    assert (
        said(FRONT + LEAK.replace("load BUZZ horn at tray for instruments { buzz 1 W: 1 2 }\n", ""), "lamp-leak") == []
    )
    wires = "wire 7 TELL.2 to BUZZ.1 green 2 mm2 0.30 m\nwire 8 BUZZ.2 to FRAME black 2 mm2 0.30 m\n"
    assert said(FRONT + LEAK + wires, "lamp-leak")[0].startswith("note: TELL.oil (LED) glows by backfeed through BUZZ")
    assert said(FRONT + LEAK.replace("TELL led", "TELL lamp") + wires, "lamp-leak") == []


def test_no_lamp_is_blamed_where_no_machine_charges() -> None:
    """Its field is not fed: fewer watts would not charge the battery."""
    text = (
        FRONT
        + "source ALT alternator at tray for charging { output 200 W: B+ B-; field 4 ohm: F E; regulated 14.2 V }\n"
        "load HEAD lamp at tray { dip 55 W: 1 2 }\nwire 4 KEY.15 to HEAD.1 white 2 mm2 0.3 m\n"
        "wire 5 HEAD.2 to FRAME black 2 mm2 0.3 m\nwire 6 ALT.B+ to MAIN.2 red 2 mm2 0.3 m\n"
        "wire 7 ALT.B- to FRAME black 2 mm2 0.3 m\nwire 8 ALT.E to FRAME black 2 mm2 0.3 m\ncapped ALT.F\n"
        "state riding { KEY on, engine running }\n"
    )
    findings = all_findings(text)
    told = [f for f in findings if f.rule == "charge-deficit"]
    assert len(told) == 1
    assert told[0].message.endswith("with the engine running: ALT does not charge")
    assert told[0].to_do == "find out why ALT does not charge: check its field, its output lead and its rectifier"


NEAR = """
loom "Pick-up leads"
system 12 V negative ground
wires class B
place tray, engine, frame
route tray engine 0.6 m
route tray frame 0.2 m
route frame engine 0.8 m
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray, engine
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
unit BOX at tray for ignition {
    supply 0.1 A: 15 31
    input pick signal: P P-
    output coil 6 A grounded clamped: C when pick
    output lamp 1 A: L
}
sensor PICK at engine for ignition { signal 200 ohm: 1 2 }
load COIL ignition at engine for ignition { primary 4 ohm duty 40 %: 15 1 }
wire 6 KEY.15 to BOX.15 white 2 mm2 0.2 m
wire 7 BOX.31 to FRAME black 2 mm2 0.2 m
wire 8 KEY.15 to COIL.15 white 2 mm2
wire 9 COIL.1 to BOX.C white/black 2 mm2
wire 10 PICK.1 to BOX.P green 1 mm2
wire 11 PICK.2 to BOX.P- blue 1 mm2
"""


def test_pick_up_leads_beside_the_lead_that_is_switched() -> None:
    text = NEAR.replace("route tray frame 0.2 m\nroute frame engine 0.8 m\n", "")
    said_of_it = "pick-up leads 10 and 11 of BOX run on one route with wire 9, a switched lead of an ignition coil"
    assert said(text, "near-ignition") == [f"note: {said_of_it}"]
    findings = all_findings(text)
    figures = [f.figures for f in findings if f.rule == "near-ignition"]
    assert [(f.label, f.value, f.unit) for f in figures[0]] == [("side by side", 0.6, "m")]


@pytest.mark.parametrize("more", ["twisted 10, 11\n", "shielded 10, 11\n"])
def test_twisted_or_screened_leads_may_run_there(more: str) -> None:
    assert said(NEAR + more, "near-ignition") == []


def test_one_lead_that_is_not_twisted_is_named_alone() -> None:
    assert "pick-up lead 11 of BOX" in said(NEAR + "shielded 10\n", "near-ignition")[0]


def test_the_feed_of_a_coil_carries_no_pulses() -> None:
    """The coil beside the box: only its feed runs to the engine with the pick-up leads."""
    text = NEAR.replace("COIL ignition at engine", "COIL ignition at tray").replace(
        "white 2 mm2\n", "white 2 mm2 0.2 m\n"
    )
    assert said(text.replace("white/black 2 mm2\n", "white/black 2 mm2 0.2 m\n"), "near-ignition") == []
