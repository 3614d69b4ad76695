"""What findings say, where a number or a combination too many would lead a rider astray."""

from __future__ import annotations

import pytest
from checked_text import BENCH, findings

SIX_VOLT = """
loom "Positive ground"
system 6 V positive ground
place saddle
source BAT battery at saddle for supply { voltage 6.3 V; capacity 12 Ah; resistance 20 mohm }
source DYN dynamo at saddle for charging { output 60 W: OUTPUT; regulated 7 V }
ground FRAME at saddle
fuse MAIN 15 A glass at saddle
wire 1 BAT.+ to FRAME red 4 mm2 0.2 m
wire 2 BAT.- to MAIN.1 brown 4 mm2 0.1 m
wire 3 MAIN.2 to DYN.D brown 4 mm2 0.3 m
mount DYN.E to FRAME
"""


def test_a_dynamo_the_wrong_way_round_is_said_to_be_so_and_once() -> None:
    (found,) = findings("no-charge", SIX_VOLT.replace("OUTPUT", "D E"), bench=False)
    assert found.message == "DYN is the wrong way round: DYN.E, its - side, is connected to BAT.+"
    assert findings("no-charge", SIX_VOLT.replace("OUTPUT", "E D"), bench=False) == ()


DYNAMO = """
loom "A dynamo and its regulator box"
system 6 V {ground} ground
place saddle
source BAT battery at saddle for supply {{ voltage 6.3 V; capacity 12 Ah; resistance 20 mohm }}
source DYN dynamo at saddle for charging {{ output 60 W: {output}; field 3 ohm: {field}; regulated 7 V }}
regulator REG 12 A at saddle for charging {{ passes: {passes}; cut-out 6.4 V: {cut_out}; sense: {sense} }}
ground FRAME at saddle
load COIL ignition at saddle {{ primary 2 ohm: 1 2 }}
wire 1 BAT.{frame} to FRAME black 4 mm2 0.2 m
wire 2 BAT.{live} to REG.B brown 4 mm2 0.2 m
wire 3 REG.D to DYN.D yellow 4 mm2 0.2 m
wire 4 REG.F to DYN.F green 4 mm2 0.2 m
wire 5 REG.E to FRAME black 2 mm2 0.2 m
wire 6 COIL.1 to REG.B brown 2 mm2 0.2 m
wire 7 COIL.2 to FRAME black 2 mm2 0.2 m
mount DYN.E to FRAME
state riding {{ engine running }}
"""
NEGATIVE = {"ground": "negative", "frame": "-", "live": "+", "output": "D E", "field": "F E"}
NEGATIVE |= {"passes": "D F", "cut_out": "D B", "sense": "B E"}
POSITIVE = {"ground": "positive", "frame": "+", "live": "-", "output": "E D", "field": "E F"}
POSITIVE |= {"passes": "F D", "cut_out": "B D", "sense": "E B"}


@pytest.mark.parametrize(("written", "right", "wrong"), [(NEGATIVE, "D B", "B D"), (POSITIVE, "B D", "D B")])
def test_a_cut_out_the_wrong_way_round_is_named_with_what_to_write(
    written: dict[str, str], right: str, wrong: str
) -> None:
    assert findings("no-charge", DYNAMO.format(**written), bench=False) == ()
    (found,) = findings("no-charge", DYNAMO.format(**{**written, "cut_out": wrong}), bench=False)
    assert found.message.startswith("REG cut-out is the wrong way round: it conducts from REG.")
    assert f"write `cut-out 6.4 V: {right}`" in found.to_do
    assert found.about == ("DYN", "REG")


@pytest.mark.parametrize("written", [NEGATIVE, POSITIVE])
def test_field_and_sense_the_wrong_way_round_are_named_with_what_to_write(written: dict[str, str]) -> None:
    for rule, name in (("dead-short", "field"), ("sense-error", "sense")):
        first, second = written[name].split()
        assert findings(rule, DYNAMO.format(**written), bench=False) == ()
        found = findings(rule, DYNAMO.format(**{**written, name: f"{second} {first}"}), bench=False)
        assert f"write `{name}: {first} {second}`" in found[0].to_do


def test_an_output_the_wrong_way_round_with_a_positive_ground_is_the_line_to_turn() -> None:
    first, second = POSITIVE["output"].split()
    found = findings("dead-short", DYNAMO.format(**{**POSITIVE, "output": f"{second} {first}"}), bench=False)
    assert f"write `output: {first} {second}`" in found[0].to_do


@pytest.mark.parametrize(("ends", "found"), [("A K", 0), ("K A", 1)])
def test_a_diode_against_the_current_of_a_machine_is_named(ends: str, found: int) -> None:
    first, second = ends.split()
    text = DYNAMO.format(**NEGATIVE).replace("wire 3 REG.D to DYN.D", f"wire 3 DYN.D to DIODE.{first}")
    text += f"diode DIODE 15 A at saddle\nwire 8 DIODE.{second} to REG.D yellow 4 mm2 0.2 m"
    told = findings("no-charge", text, bench=False)
    assert [f.to_do for f in told] == ["swap the wires at DIODE.A and DIODE.K"] * found
    assert all(f.message.startswith("DIODE is the wrong way round") for f in told)


@pytest.mark.parametrize(
    ("takes", "said"),
    [
        ("25 mA", "discharges at 25.1 mA with the motorcycle parked and is half empty in 11.6 days"),
        ("2.5 A", "discharges at 2.51 A with the motorcycle parked and is half empty in 2.78 hours"),
    ],
)
def test_a_drain_is_told_in_figures_that_people_read(takes: str, said: str) -> None:
    text = f"load BOX electronics at tray always {{ box {takes}: 1 2 }}\nwire x MAIN.2 to BOX.1 red 2 mm2 0.1 m\n"
    (found,) = findings("key-off-drain", text + "wire y BOX.2 to FRAME black 2 mm2 0.1 m")
    assert said in found.message


def test_only_what_decides_is_named_beside_the_key() -> None:
    text = """
    switch HAZARD 2 A at tray { off: ; on: 1 2 }
    switch HORN 2 A momentary at tray { rest: ; press: 2 3 }
    load LAMP lamp at tray { lamp 5 W: 1 2 }
    load TONE horn at tray { horn 1 A: 1 2 }
    wire x MAIN.2 to HAZARD.1 red 2 mm2 0.1 m
    wire y HAZARD.2 to LAMP.1 red 2 mm2 0.1 m
    wire z LAMP.2 to FRAME black 2 mm2 0.1 m
    wire u HORN.2 to HAZARD.2 red 2 mm2 0.1 m
    wire v HORN.3 to TONE.1 red 2 mm2 0.1 m
    wire w TONE.2 to LAMP.2 black 2 mm2 0.1 m
    """
    (found,) = findings("live-with-key-out", text)
    assert found.message == "LAMP.lamp is live (KEY off and HAZARD on)"
    assert found.combination == (("KEY", "off"), ("HAZARD", "on"))


HELD = """
relay K 20 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
switch BUTTON 2 A momentary at tray { rest: ; press: 1 2 }
switch HORN-BUTTON 2 A momentary at tray { rest: ; press: 1 2 }
load HORN horn at tray { horn 1 A: 1 2 }
load TONE horn at tray { horn 1 A: 1 2 }
wire n KEY.2 to BUTTON.1 red 2 mm2 0.1 m
wire o KEY.2 to K.30 red 2 mm2 0.1 m
wire p BUTTON.2 to K.86 red 2 mm2 0.1 m
wire q K.87 to K.86 red 2 mm2 0.1 m
wire r K.85 to FRAME black 2 mm2 0.1 m
wire s K.87 to HORN.1 red 2 mm2 0.1 m
wire t HORN.2 to FRAME black 2 mm2 0.1 m
wire u K.87 to HORN-BUTTON.1 red 2 mm2 0.1 m
wire v HORN-BUTTON.2 to TONE.1 red 2 mm2 0.1 m
wire w TONE.2 to FRAME black 2 mm2 0.1 m
"""


def test_a_relay_that_holds_itself_in_is_told_without_the_buttons_that_are_let_go() -> None:
    (found,) = findings("held-on", HELD)
    assert found.message == "HORN.horn stays live after every button is released (KEY on): K holds itself in"
    assert found.combination == (("KEY", "on"),)
    assert found.to_do.endswith("its own contact does not feed: the loop is K 30-87 - wire q - K coil")


BEAMS = """
switch LIGHTS 6 A at tray {{ off: ; tail: 1 58; on: 1 56{} }}
switch DIP 6 A at tray {{ low: 56 56b; high: 56 56a }}
load HEAD lamp at tray {{ dip 55 W dip-beam: 56b 31; main 60 W main-beam: 56a 31 }}
load REAR lamp at tray {{ tail 5 W tail-lamp plate-lamp: 58 31 }}
wire n KEY.2 to LIGHTS.1 red 2 mm2 0.1 m
wire o LIGHTS.56 to DIP.56 red 2 mm2 0.1 m
wire p DIP.56b to HEAD.56b red 2 mm2 0.1 m
wire q DIP.56a to HEAD.56a red 2 mm2 0.1 m
wire r LIGHTS.58 to REAR.58 red 2 mm2 0.1 m
wire s HEAD.31 to FRAME black 2 mm2 0.1 m
wire t REAR.31 to FRAME black 2 mm2 0.1 m
"""


def test_what_a_burning_lamp_says_by_itself_is_not_said_again() -> None:
    dip, main = findings("lamp-law", BEAMS.format(""))
    assert dip.message == "REAR.tail is off while HEAD.dip is on"
    assert main.message == "REAR.tail is off while HEAD.main is on"
    assert findings("lamp-law", BEAMS.format(", 1 58")) == ()
    only_high = BEAMS.format(", 1 58").replace("high: 56 56a }", "high: 56 56a; flash: 56 56b, 1 56a }")
    (found,) = findings("lamp-law", only_high + "wire u KEY.2 to DIP.1 red 2 mm2 0.1 m")
    assert found.message == "REAR.tail is off while HEAD.main is on (LIGHTS off)"


STARTER = """
load STARTER motor at tray for starting { armature 60 A: 1 2 }
switch START 3 A momentary at tray { rest: ; press: 1 2 }
relay K 100 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
wire s1 BAT.+ to K.30 red 16 mm2 0.1 m
wire s2 K.87 to STARTER.1 red 16 mm2 0.1 m
wire s3 FEED to START.1 red 1 mm2 0.1 m
wire s4 START.2 to K.86 red 1 mm2 0.1 m
wire s5 K.85 to FRAME black 1 mm2 0.1 m
mount STARTER.2 to FRAME
"""


def test_a_starter_that_turns_with_the_key_out_is_found() -> None:
    (found,) = findings("live-with-key-out", STARTER.replace("FEED", "MAIN.2"))
    assert found.message == "STARTER.armature is live (KEY off and START press)"
    assert findings("live-with-key-out", STARTER.replace("FEED", "KEY.2")) == ()
    meant = STARTER.replace("FEED", "MAIN.2").replace("motor at tray", "motor always at tray")
    assert findings("live-with-key-out", meant) == ()


def test_a_machine_without_a_key_has_a_starter_button_all_the_same() -> None:
    keyless = BENCH.replace("switch KEY 10 A key at tray", "switch KEY 10 A at tray")
    assert findings("live-with-key-out", keyless + STARTER.replace("FEED", "MAIN.2"), bench=False) == ()


def test_any_number_of_buttons_says_nothing_of_what_they_do_not_move() -> None:
    for key in ("A key", "A"):
        bench = BENCH.replace("switch KEY 10 A key at tray", f"switch KEY 10 {key} at tray")
        buttons = "".join(
            f"switch B{i} 2 A momentary at tray {{ rest: ; press: 1 2 }}\n"
            f"load L{i} lamp at tray {{ x 5 W: 1 2 }}\n"
            f"wire a{i} MAIN.2 to B{i}.1 red 1 mm2 0.1 m\n"
            f"wire b{i} B{i}.2 to L{i}.1 red 1 mm2 0.1 m\n"
            f"mount L{i}.2 to FRAME\n"
            for i in range(40)
        )
        lamp = "load ON lamp at tray { x 5 W: 1 2 }\nwire on MAIN.2 to ON.1 red 1 mm2 0.1 m\nmount ON.2 to FRAME\n"
        (found,) = findings("live-with-key-out", bench + buttons + lamp, bench=False)
        assert found.message.startswith("ON.x is live")
        assert {name for name, _ in found.combination} <= {"KEY"}


@pytest.mark.parametrize("written", [NEGATIVE, POSITIVE])
def test_a_field_wire_that_was_never_drawn_is_missed(written: dict[str, str]) -> None:
    """Both its ends are named, and the dynamo is not taken to charge."""
    text = DYNAMO.format(**written)
    wire = next(line for line in text.splitlines(keepends=True) if "DYN.F" in line and line.startswith("wire"))
    assert findings("loose-end", text, bench=False) == ()
    assert findings("charge-deficit", text, bench=False) == ()
    told = {f.message for f in findings("loose-end", text.replace(wire, ""), bench=False)}
    assert told == {
        "DYN.F (field) is not connected",
        "REG.F (feed of the field) is not connected",
    }
    assert findings("charge-deficit", text.replace(wire, ""), bench=False)


def test_a_charge_lamp_without_its_machine_is_never_told_to_be_grounded() -> None:
    text = """
loom "A charge lamp that leads nowhere"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at tray { output 200 W: B+ B-; field 6 ohm: D+ B- }
switch KEY 5 A key at tray { off: ; on: 1 2 }
splice SP at tray
load TELL lamp at tray { charge 3 W tell-tale: 1 2 }
wire 1 BAT.+ to KEY.1 red 1 mm2 0.2 m
wire 2 KEY.2 to TELL.1 brown 1 mm2 0.2 m
wire 3 TELL.2 to SP blue 1 mm2 0.2 m
wire 4 ALT.B+ to BAT.+ red 4 mm2 0.2 m
wire 5 ALT.B- to BAT.- black 4 mm2 0.2 m
"""
    (found,) = findings("floating-ground", text, bench=False)
    assert found.to_do.startswith("find out where TELL.2 belongs: a charge lamp is connected to D+ or the field of its")
    (plain,) = findings("floating-ground", text.replace(" tell-tale", ""), bench=False)
    assert plain.to_do == "fit a ground wire from TELL.2 to BAT.-, 1 mm2"
