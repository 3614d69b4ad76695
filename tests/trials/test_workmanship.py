"""Seals, water and parts the wrong way round: what a careful electrician sees at the bench."""

from __future__ import annotations

import pytest
from checked_text import all_findings, trial

from loomwright.lang.files.reading import read_text
from loomwright.lang.model.parts import Fuse, Relay, Splice

RULES = ("crowded-seal", "unsealed", "reversed-polarity")


def said(text: str) -> list[str]:
    return [f"{f.level.word} {f.rule}: {f.message}" for f in all_findings(text) if f.rule in RULES]


def fixes(text: str) -> list[str]:
    return [f.to_do for f in all_findings(text) if f.rule in RULES]


def test_one_wire_closes_a_seal() -> None:
    text = trial("two-wires-in-sealed-way")
    assert said(text)[:2] == [
        "warning crowded-seal: 2 wires end in sealed way C1.1p, and its seal fits one",
        "warning crowded-seal: 2 wires end in sealed way C1.2p, and its seal fits one",
    ]
    assert fixes(text)[0] == (
        "join wires 5 and 6 in a splice, SP-C1, sealed with adhesive-lined heat-shrink, and run one wire of 0.75 mm2 "
        "to C1.1p"
    )
    assert [line for line in said(text.replace("10 A sealed", "10 A")) if "crowded" in line] == []


def test_a_wire_on_each_half_of_a_way_is_one_a_seal() -> None:
    text = trial("two-wires-in-sealed-way").replace("C1.1p to B.1", "A.1 to B.1").replace("B.2 to C1.2p", "B.2 to A.2")
    assert [line for line in said(text) if "crowded" in line] == []


def test_splices_relays_and_fuse_holders_in_the_wet() -> None:
    text = trial("splice-in-the-wet")
    assert said(text) == [
        "warning unsealed: relay K1 is not sealed, and water reaches tail",
        "warning unsealed: splice SP is not sealed, and water reaches tail",
    ]
    assert fixes(text)[1] == (
        "seal SP with adhesive-lined heat-shrink, and write `sealed` on its line; or move it to a dry place"
    )
    sealed = text.replace("K1 20 A at", "K1 20 A sealed at").replace("splice SP at", "splice SP sealed at")
    assert said(sealed) == []
    fuse = text.replace("fuse MAIN 10 A blade at tray", "fuse MAIN 10 A blade at tail").replace("0.15 m", "1 m")
    assert "warning unsealed: the holder of fuse MAIN is not sealed, and water reaches tail" in said(fuse)
    held = fuse.replace("10 A blade", "10 A blade sealed")
    assert [line for line in said(held) if "MAIN" in line] == []


def test_what_the_new_words_say() -> None:
    text = 'loom "x"\nplace p\nsplice S sealed at p\nrelay K 5 A clamp diode sealed at p { coil 85 ohm: 1 2 }\n'
    reading = read_text(
        text + "relay L 5 A at p { coil 85 ohm: 86 85; pulled: 30 87 }\nfuse F 5 A sealed at p\nsplice T at p\n", "x"
    )
    assert [m.message for m in reading.mistakes] == []
    parts = reading.harness.parts
    splice, other, relay, plain, fuse = (parts[name] for name in ("S", "T", "K", "L", "F"))
    assert isinstance(splice, Splice)
    assert splice.sealed
    assert isinstance(other, Splice)
    assert other.sealed is False
    assert isinstance(relay, Relay)
    assert (relay.clamp, relay.clamped, relay.sealed) == ("diode", True, True)
    assert isinstance(plain, Relay)
    assert (plain.clamp, plain.clamped, plain.sealed) == (None, False, False)
    assert isinstance(fuse, Fuse)
    assert fuse.sealed
    wrong = read_text(text.replace("clamp diode", "clamp lamp"), "x")
    assert [(m.message, m.expected) for m in wrong.mistakes] == [
        ("`lamp` is no clamp that the language knows", "`clamp` and `diode` or `resistor`")
    ]


def test_an_ignition_box_the_wrong_way_round() -> None:
    text = trial("ignition-box-backwards")
    assert said(text) == [
        (
            "error reversed-polarity: BOX.feed is fed backwards (KEY on): its + side is BOX.15, and the feed is "
            "connected to BOX.31"
        ),
        (
            "error reversed-polarity: CONV.feed is fed backwards (KEY on): its + side is CONV.15, and the feed is "
            "connected to CONV.31"
        ),
    ]
    assert fixes(text)[0] == "swap the wires at BOX.15 and BOX.31"
    turned = text.replace("KEY.2 to BOX.15", "KEY.2 to BOX.31").replace("BOX.31 to FRAME", "BOX.15 to FRAME")
    assert [line for line in said(turned) if "BOX" in line] == []


@pytest.mark.parametrize(
    "coil",
    ["primary 4 ohm: 15 31", "primary 4 ohm duty 60 %: 15 31", "primary 20 W duty 60 %: 15 31"],
)
def test_a_coil_has_no_side(coil: str) -> None:
    """Sparks come either way round: only a box is harmed."""
    text = trial("ignition-box-backwards").replace("feed 20 W: 15 31", coil)
    assert [line for line in said(text) if "BOX" in line] == []


def test_a_coil_in_watts_behind_points_has_no_side() -> None:
    text = trial("ignition-box-backwards").replace("wire 5 BOX.31 to FRAME", "wire 5 BOX.31 to POINTS.1")
    points = "switch POINTS 5 A senses crank at tray { open: ; closed: 1 2 }\nmount POINTS.2 to FRAME\n"
    assert [line for line in said(text + points) if "BOX" in line] == []


def test_a_box_known_by_its_stop_lead() -> None:
    text = trial("ignition-box-backwards").replace("feed 20 W: 15 31 }", "feed 20 W: 15 31; stop-lead: S 31 }")
    wired = text + "switch KILL 1 A at tray for ignition { run: ; stop: 1 2 }\nwire 9 BOX.S to KILL.1 pink 1 mm2 1 m\n"
    assert any("BOX.feed is fed backwards" in line for line in said(wired + "wire 10 KILL.2 to FRAME red 1 mm2 1 m\n"))


def test_a_clamped_coil_the_wrong_way_round() -> None:
    text = trial("clamped-relay-reversed")
    backwards = "K1 coil is fed backwards (KEY on): its + side is K1.86, and the feed is connected to K1.85"
    assert said(text) == [f"note reversed-polarity: {backwards}; if its clamp is a diode, that shorts the feed"]
    assert fixes(text) == [
        (
            "look at K1 and write `clamp diode` or `clamp resistor` on its line; with a diode swap the wires at "
            "K1.86 and K1.85"
        )
    ]
    with_diode = text.replace("30 A clamped", "30 A clamp diode")
    assert said(with_diode) == [f"error reversed-polarity: {backwards}; its diode shorts the feed"]
    assert said(text.replace("30 A clamped", "30 A clamp resistor")) == []
    assert said(text.replace("30 A clamped", "30 A")) == []
    turned = with_diode.replace("KEY.2 to K1.85", "KEY.2 to K1.86").replace("K1.86 to FRAME", "K1.85 to FRAME")
    assert said(turned) == []


def test_with_a_positive_ground_the_clamped_coil_has_its_plus_on_ground() -> None:
    text = trial("clamped-relay-reversed").replace("30 A clamped", "30 A clamp diode")
    mirrored = (
        text.replace("negative ground", "positive ground").replace("BAT.- to FRAME", "BAT.+ to FRAME")
        .replace("BAT.+ to MAIN", "BAT.- to MAIN")
    )  # fmt: skip
    assert said(mirrored) == []
    turned = mirrored.replace("KEY.2 to K1.85", "KEY.2 to K1.86").replace("K1.86 to FRAME", "K1.85 to FRAME")
    assert [line.partition(":")[0] for line in said(turned)] == ["error reversed-polarity"]


PLUGS = """
loom "Two plugs alike"
system 12 V negative ground
wires class B
place tray, bars
route tray bars 0.8 m
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray, bars
splice SP at tray
connector C1 2 ways 10 A at bars
connector C2 2 ways 10 A at bars
switch KILL 6 A at bars for ignition { run: 1 2; stop: }
switch LIGHTS 6 A at bars for lighting { off: ; on: 1 2 }
load COIL ignition at tray for ignition { primary 4 ohm duty 60 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS.2 to FRAME
load LAMP lamp at tray for lighting { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 1.5 mm2 0.15 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to SP orange 1.5 mm2 0.2 m
wire 5 SP to KILL.1 via C1.1 orange 1.5 mm2
wire 6 KILL.2 to COIL.15 via C1.2 white 1.5 mm2
wire 7 SP to LIGHTS.1 via C2.1 orange 1.5 mm2
wire 8 LIGHTS.2 to LAMP.1 via C2.2 grey 1.5 mm2
wire 9 COIL.1 to POINTS.1 white/black 1.5 mm2 0.2 m
wire 10 LAMP.2 to FRAME black 1.5 mm2 0.2 m
"""


def of_rule(text: str, rule: str) -> list[str]:
    return [f"{f.message} | {f.to_do}" for f in all_findings(text) if f.rule == rule]


def test_plugs_that_crossed_take_the_stop_switch_off_the_coil() -> None:
    """Nothing is shorted and no wire is too thin: the light switch then stops the engine, and KILL the lamp."""
    told = of_rule(PLUGS, "look-alike-plugs")
    assert [line.partition(" | ")[0] for line in told] == [
        "C1 and C2 are alike at bars; plugged into each other, KILL stop does not stop COIL"
    ]
    assert of_rule(PLUGS.replace("connector C2 2 ways", "connector C2 3 ways"), "look-alike-plugs") == []


def test_plugs_of_two_lamps_may_cross() -> None:
    plain = PLUGS.replace("KILL.1 via C1.1", "KILL.1").replace("COIL.15 via C1.2", "COIL.15")
    horn = (
        "load HORN horn at bars { horn 2 A: 1 2 }\nswitch BTN 5 A momentary at bars { rest: ; press: 1 2 }\n"
        "wire 11 SP to BTN.1 via C1.1 orange 1.5 mm2\nwire 12 BTN.2 to HORN.1 via C1.2 blue 1.5 mm2\n"
        "wire 13 HORN.2 to FRAME black 1.5 mm2 0.2 m\n"
    )
    assert of_rule(plain + horn, "look-alike-plugs") == []


CHARGING = """
loom "A rectifier's plug"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source GEN alternator at tray for charging { phases: U V }
rectifier REG 15 A shunt at tray for charging { phases: U V; output 140 W: B+ B-; regulated 14.2 V }
ground FRAME at tray
fuse F 15 A blade at tray
connector C1 2 ways 15 A at tray
wire 1 BAT.+ to F.1 red 2.5 mm2 0.15 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 GEN.U to REG.U yellow 1.5 mm2 0.2 m
wire 5 GEN.V to REG.V yellow 1.5 mm2 0.2 m
"""


def test_a_rectifier_s_plug_has_a_live_pin_either_way_round() -> None:
    """B+ is fed by the battery on one half and by the rectifier on the other: no way of fitting it is right."""
    for own, far in ("sp", "ps"):
        wires = (
            f"wire 6 REG.B+ to C1.1{own} red 2.5 mm2 0.2 m\nwire 7 C1.1{far} to F.2 red 2.5 mm2 0.2 m\n"
            f"wire 8 REG.B- to C1.2{own} black 2.5 mm2 0.2 m\nwire 9 C1.2{far} to FRAME black 2.5 mm2 0.2 m\n"
        )
        assert of_rule(CHARGING + wires, "live-pins") == []


def test_a_way_fed_from_the_other_side_has_to_move() -> None:
    """Two pins of the loom's half are live and one socket is, from the handlebar: turning alone would not do."""
    text = PLUGS.replace("connector C1 2 ways", "connector C1 4 ways").replace("via C1.1 ", "").replace("via C1.2 ", "")
    ways = (
        "load HORN horn at bars { horn 2 A: 1 2 }\nload PAD heater at bars { pad 20 W: 1 2 }\n"
        "wire 20 SP to C1.1p orange 1.5 mm2 1 m\nwire 21 C1.1s to HORN.1 orange 1.5 mm2 0.2 m\n"
        "wire 22 SP to C1.2p orange 1.5 mm2 1 m\nwire 23 C1.2s to PAD.1 orange 1.5 mm2 0.2 m\n"
        "wire 24 HORN.2 to FRAME black 1.5 mm2 0.2 m\nwire 25 PAD.2 to FRAME black 1.5 mm2 0.2 m\n"
        "load TELL lamp at tray { lamp 2 W: 1 2 }\nwire 26 KILL.2 to C1.3s white 1.5 mm2 0.2 m\n"
        "wire 27 C1.3p to TELL.1 white 1.5 mm2 1 m\nwire 28 TELL.2 to FRAME black 1.5 mm2 0.2 m\n"
    )
    assert of_rule(text + ways, "live-pins") == [
        (
            "unplugged, C1 has live pins: ways 1 and 2 | route way 3 of C1 through another connector, its live half "
            "with the sockets, and swap plug and socket halves of C1"
        )
    ]
    few = ways.replace("C1.2p", "C1.4p").replace("C1.2s", "C1.4s")
    assert "ways 1 and 4" in of_rule(text + few, "live-pins")[0]
    one = text + "\n".join(
        line for line in ways.splitlines() if not line.startswith(("wire 26", "wire 27", "wire 28", "load TELL"))
    )
    assert of_rule(one + "\n", "live-pins") == [
        (
            "unplugged, C1 has live pins: ways 1 and 2 | swap plug and socket halves of C1: the half that can be live "
            "holds the sockets"
        )
    ]


HELD = """
loom "Held by a switch that stays"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
load LAMP lamp at tray { lamp 20 W: 1 2 }
relay K 20 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
switch SPOT 2 A at tray { off: ; on: 1 2 }
splice SP at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to SP orange 2 mm2 0.20 m
wire 5 SP to SPOT.1 orange 1 mm2 0.20 m
wire 6 SP to K.30 orange 2 mm2 0.20 m
wire 7 SPOT.2 to K.86 white 1 mm2 0.20 m
wire 9 K.85 to FRAME black 1 mm2 0.20 m
wire 10 K.87 to LAMP.1 blue 2 mm2 0.20 m
wire 11 LAMP.2 to FRAME black 2 mm2 0.20 m
"""


def test_a_relay_that_a_maintained_switch_latches() -> None:
    """Once switched on, the lamp cannot be switched off: the contact feeds the coil."""
    assert of_rule(HELD, "held-on") == []
    told = of_rule(HELD + "wire 12 K.87 to K.86 white 1 mm2 0.1 m\n", "held-on")
    assert [line.partition(" | ")[0] for line in told] == [
        "LAMP.lamp stays live after SPOT is back at off (KEY on): K holds itself in"
    ]


def test_a_relay_that_a_button_latches_is_not_told_of_other_switches() -> None:
    latched = HELD.replace("SPOT 2 A at tray { off: ; on: 1 2 }", "SPOT 2 A momentary at tray { rest: ; press: 1 2 }")
    told = of_rule(latched + "wire 12 K.87 to K.86 white 1 mm2 0.1 m\n", "held-on")
    assert [line.partition(" | ")[0] for line in told] == [
        "LAMP.lamp stays live after every button is released (KEY on): K holds itself in"
    ]
