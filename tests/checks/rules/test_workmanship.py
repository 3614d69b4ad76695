"""Rules of the family build on cases near their edges."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from checked_text import about, findings

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text

LAMP = """
load LAMP lamp at bars { lamp 5 W: 1 2 }
wire l KEY.2 to LAMP.1 grey 1 mm2
wire r LAMP.2 to FRAME black 1 mm2 0.1 m
"""


# --- loose-end -------------------------------------------------------------------------------------------------------
def test_a_wired_lamp_has_no_loose_end() -> None:
    assert findings("loose-end", LAMP) == ()


def test_a_fed_splice_with_one_wire_is_an_error_and_an_unfed_one_a_warning() -> None:
    (fed,) = findings("loose-end", LAMP + "splice SP at bars\nwire x KEY.2 to SP grey 1 mm2")
    assert (fed.level, fed.about) == (Level.ERROR, ("x", "SP"))
    (dead,) = findings("loose-end", LAMP + "splice SP at bars\nwire x FRAME to SP black 1 mm2 0.1 m")
    assert dead.level is Level.WARNING


@pytest.mark.parametrize("half", ["s", "p"])
def test_half_a_way_is_loose_unless_either_half_is_capped(half: str) -> None:
    loose = LAMP + f"connector C1 2 ways 10 A at bars\nwire x KEY.2 to C1.2{half} grey 1 mm2\n"
    other = {"s": "p", "p": "s"}[half]
    assert about("loose-end", loose) == ["x"]
    assert about("loose-end", loose + f"capped C1.2{other}") == []
    assert about("loose-end", loose + f"wire y C1.2{other} to LAMP.1 grey 1 mm2 0.1 m") == []


def test_a_spare_throw_of_a_relay_is_no_loose_end() -> None:
    relay = """
    relay K1 20 A at tray { coil 85 ohm: 86 85; released: 30 87a; pulled: 30 87 }
    load LAMP lamp at tray { lamp 5 W: 1 2 }
    wire a KEY.2 to K1.30 grey 1 mm2 0.1 m
    wire c KEY.2 to K1.86 grey 1 mm2 0.1 m
    wire d K1.85 to FRAME black 1 mm2 0.1 m
    wire e LAMP.2 to FRAME black 1 mm2 0.1 m
    """
    assert findings("loose-end", relay + "wire f K1.87 to LAMP.1 grey 1 mm2 0.1 m") == ()
    assert findings("loose-end", relay + "wire f K1.87a to LAMP.1 grey 1 mm2 0.1 m") == ()
    (found,) = findings("loose-end", relay.replace("LAMP.2 to FRAME", "LAMP.2 to LAMP.1"))[:1]
    assert found.about == ("K1",)


def test_a_contact_whose_other_side_nothing_reaches() -> None:
    assert about("loose-end", LAMP + "switch B 2 A at bars { rest: ; press: 1 2 }\nwire x KEY.2 to B.1 grey 1 mm2") == [
        "B"
    ]


def test_a_filament_without_its_return() -> None:
    (found,) = findings(
        "loose-end",
        "load L lamp at bars { a 5 W: 1 3; b 5 W: 2 3 }\n"
        "wire x KEY.2 to L.1 grey 1 mm2\nwire y L.3 to FRAME black 1 mm2",
    )
    assert found.message == "L.2 (b) is not connected"


def test_an_input_that_no_output_asks_for_may_stay_open() -> None:
    unit = """
    unit U at tray { supply 10 mA: 30 31; input a grounded: A; input b grounded: B; output o 1 A: O when a }
    wire s KEY.2 to U.30 grey 1 mm2 0.1 m
    wire t U.31 to FRAME black 1 mm2 0.1 m
    """
    (found,) = findings("loose-end", unit)
    assert "U.A" in found.message


# --- unused-part, unsealed, stiff-at-steering ------------------------------------------------------------------------
def test_a_part_that_only_a_mount_reaches_is_used() -> None:
    assert about("unused-part", LAMP + "splice SP at tray") == ["SP"]
    assert about("unused-part", LAMP) == []


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("connector C1 2 ways 10 A at tail", ["C1"]),
        ("connector C1 2 ways 10 A sealed at tail", []),
        ("connector C1 2 ways 10 A at tray", []),
        ("fuse F 3 A blade at tail", ["F"]),
    ],
)
def test_water_and_open_parts(line: str, found: list[str]) -> None:
    assert about("unsealed", LAMP + line) == found


@pytest.mark.parametrize(("size", "found"), [("6 mm2", []), ("10 mm2", ["x"]), ("1 mm2 solid", ["x"])])
def test_what_bends_with_the_steering(size: str, found: list[str]) -> None:
    assert about("stiff-at-steering", LAMP + f"wire x KEY.2 to LAMP.1 grey {size}") == found
    assert about("stiff-at-steering", LAMP + f"wire x KEY.2 to FRAME grey {size} 0.1 m") == []


def test_a_splice_between_two_stretches_that_move() -> None:
    text = "place lever\nroute bars lever 0.2 m flexing\nsplice SP at {}\nwire x KEY.2 to SP grey 1 mm2"
    assert about("stiff-at-steering", text.format("bars")) == ["SP"]
    assert about("stiff-at-steering", text.format("lever")) == []
    assert about("stiff-at-steering", text.format("tray")) == []


# --- short-wire, wrong-terminal, crowded-terminal --------------------------------------------------------------------
@pytest.mark.parametrize(("length", "found"), [("0.79 m", ["x"]), ("0.8 m", []), ("", [])])
def test_a_length_below_its_route(length: str, found: list[str]) -> None:
    assert about("short-wire", LAMP + f"wire x KEY.2 to LAMP.1 grey 1 mm2 {length}") == found


def test_the_length_of_a_wire_through_a_plug_is_that_of_its_pieces_together() -> None:
    text = "connector C1 2 ways 10 A at bars\nload L lamp at bars {{ lamp 5 W: 1 2 }}\n"
    text += "wire x KEY.2 to L.1 via C1.1 grey 1 mm2 {}"
    assert about("short-wire", text.format("0.75 m")) == ["x"]
    assert about("short-wire", text.format("0.85 m")) == []


@pytest.mark.parametrize(
    ("amps", "size", "found"),
    [
        ("10 A", "2 mm2", []),
        ("10 A", "4 mm2", ["x"]),
        ("10 A", "0.35 mm2", ["x"]),
        ("5 A", "1 mm2", []),
        ("25 A", "4 mm2", []),
        ("25 A", "0.35 mm2", ["x"]),
        ("150 A", "25 mm2", []),  # no contact of such a rating is tabulated: nothing is stated
        ("", "6 mm2", []),
    ],
)
def test_sizes_that_no_contact_of_the_rating_takes(amps: str, size: str, found: list[str]) -> None:
    text = f"connector C1 2 ways {amps} at tray\nwire x KEY.2 to C1.1s grey {size} 0.1 m"
    assert about("wrong-terminal", LAMP + text) == found


def test_two_wires_in_one_contact_count_together() -> None:
    text = "connector C1 2 ways 10 A at tray\n"
    text += "wire x KEY.2 to C1.1s grey 1.5 mm2 0.1 m\nwire y LAMP.1 to C1.1s grey 1.5 mm2\n"
    assert about("wrong-terminal", LAMP + text) == ["x"]


def test_three_in_a_crimp_and_three_rings_on_a_post() -> None:
    three = "".join(f"wire x{i} KEY.2 to LAMP.1 grey 1 mm2\n" for i in range(2))
    assert about("crowded-terminal", LAMP + three) == ["KEY", "LAMP"]
    posts = "".join(f"wire x{i} BAT.- to FRAME black 1 mm2 0.1 m\n" for i in range(3))
    assert about("crowded-terminal", LAMP + posts) == []
    thick = "load M motor at tray { armature 100 A: 1 2 }\nwire y M.1 to KEY.2 red 16 mm2 0.1 m\n"
    stud = "".join(f"wire x{i} M.1 to KEY.1 red 1 mm2 0.1 m\n" for i in range(2))
    assert about("crowded-terminal", thick + stud) == ["KEY"]  # at M.1 the 16 mm2 has a ring: it is a stud


# --- colours ---------------------------------------------------------------------------------------------------------
TWO = """
switch S 10 A at tray { a: 1 2; b: 1 3 }
load L lamp at bars { near 5 W: 1 3; far 5 W: 2 3 }
connector C1 3 ways 10 A at bars
wire k KEY.2 to S.1 red 1 mm2 0.1 m
wire r L.3 to FRAME black 1 mm2 0.1 m
"""


def test_two_alike_in_one_half_of_a_plug() -> None:
    both = "wire x S.2 to L.1 via C1.1 green 1 mm2\nwire y S.3 to L.2 via C1.2 green 1 mm2\n"
    assert about("shared-colour", TWO + both) == ["C1", "C1", "L", "S"]
    one = "wire x S.2 to L.1 via C1.1 green 1 mm2\nwire y S.3 to L.2 via C1.2 green/white 1 mm2\n"
    assert about("shared-colour", TWO + one) == []


def test_alike_on_one_net_are_no_fault() -> None:
    text = (
        LAMP
        + "connector C1 2 ways 10 A at bars\n"
        + "wire x FRAME to C1.1s black 1 mm2 0.1 m\nwire y FRAME to C1.2s black 1 mm2 0.1 m"
    )
    assert about("shared-colour", text) == []


def test_the_two_ends_of_a_switch_may_be_exchanged() -> None:
    text = """
    connector C1 2 ways 10 A at bars
    switch B 5 A at bars { rest: ; press: 1 2 }
    load L lamp at tray { lamp 5 W: 1 2 }
    wire x KEY.2 to C1.1s white 1 mm2
    wire y L.1 to C1.2s grey 1 mm2
    wire z C1.1p to B.1 yellow 1 mm2 0.1 m
    wire w C1.2p to B.2 yellow 1 mm2 0.1 m
    wire r L.2 to FRAME black 1 mm2 0.1 m
    """
    assert about("shared-colour", text) == []
    assert about("shared-colour", text.replace("white", "grey")) == []  # the same two, seen from the other half


def test_phases_may_be_exchanged() -> None:
    text = """
    source ALT alternator at tray { phases: U V W }
    rectifier R at tray { phases: U V W; output 200 W: B+ B- }
    wire x ALT.U to R.U yellow 2 mm2 0.1 m
    wire y ALT.V to R.V yellow 2 mm2 0.1 m
    wire z ALT.W to R.W yellow 2 mm2 0.1 m
    """
    assert about("shared-colour", text) == []


def test_a_change_of_colour_counts_in_a_splice_and_not_at_a_plug() -> None:
    splice = "splice SP at bars\nwire x KEY.2 to SP grey 1 mm2\nwire y SP to LAMP.1 {} 1 mm2 0.1 m\n"
    assert about("colour-change", LAMP + splice.format("green")) == ["SP"]
    assert about("colour-change", LAMP + splice.format("grey")) == []
    plug = (
        "connector C1 2 ways 10 A at bars\nwire x KEY.2 to C1.1s grey 1 mm2\nwire y C1.1p to LAMP.1 green 1 mm2 0.1 m\n"
    )
    assert about("colour-change", LAMP + plug) == []


# --- plugs -----------------------------------------------------------------------------------------------------------
PLUG = """
connector C1 2 ways 10 A at bars
load L lamp at bars {{ lamp 5 W: 1 2 }}
wire x KEY.2 to C1.1{0} grey 1 mm2
wire y C1.1{1} to L.1 grey 1 mm2 0.1 m
wire r L.2 to FRAME black 1 mm2 0.1 m
"""


def test_the_fed_half_holds_the_sockets() -> None:
    (found,) = findings("live-pins", PLUG.format("p", "s"))
    assert found.message == "unplugged, C1 has live pins: way 1"
    assert findings("live-pins", PLUG.format("s", "p")) == ()


def test_pins_of_a_ground_plug_are_not_live() -> None:
    text = PLUG.format("s", "p") + "wire z C1.2s to L.2 black 1 mm2 0.1 m\nwire w C1.2p to FRAME black 1 mm2 0.1 m"
    assert findings("live-pins", text) == ()


def test_plugs_alike_that_cheat_a_fuse_when_crossed_or_do_no_harm() -> None:
    text = """
    fuse F1 25 A blade at tray
    fuse F2 {} A blade at tray
    load A heater at bars {{ pad 60 W: 1 2 }}
    load B heater at bars {{ pad 60 W: 1 2 }}
    connector C1 2 ways 25 A at bars
    connector C2 {} ways 25 A at bars
    wire 1 BAT.+ to F1.1 red 4 mm2 0.1 m
    wire 2 BAT.+ to F2.1 red 4 mm2 0.1 m
    wire 3 F1.2 to A.1 via C1.1 grey 4 mm2
    wire 4 F2.2 to B.1 via C2.1 violet {} mm2
    wire 5 A.2 to FRAME black 4 mm2 0.1 m
    wire 6 B.2 to FRAME black 4 mm2 0.1 m
    """
    assert about("look-alike-plugs", text.format(5, 2, 1)) == ["C1"]
    assert about("look-alike-plugs", text.format(5, 3, 1)) == []
    assert about("look-alike-plugs", text.format(25, 2, 4)) == []


def test_plugs_alike_that_short_the_battery_when_crossed() -> None:
    text = """
    connector C1 1 ways 10 A at bars
    connector C2 1 ways 10 A at bars
    load A lamp at bars { lamp 5 W: 1 2 }
    load B lamp at bars { lamp 5 W: 1 2 }
    wire 1 KEY.2 to C1.1s grey 1 mm2
    wire 2 C1.1p to A.1 grey 1 mm2 0.1 m
    wire 3 A.2 to FRAME black 1 mm2 0.1 m
    wire 4 KEY.2 to B.1 grey 1 mm2
    wire 5 B.2 to C2.1s black 1 mm2 0.1 m
    wire 6 C2.1p to FRAME black 1 mm2 0.1 m
    """
    (found,) = findings("look-alike-plugs", text)
    assert "shorts the battery" in found.message


CROWD = (Path(__file__).parents[3] / "specs" / "rules" / "crowded-ground" / "bad.loom").read_text("utf-8")
"""Five rings on one stud: the battery's, and those of four lamps of 5 W."""


def stud_fix(text: str) -> str:
    findings = check(read_text(text), today=date(2026, 6, 1)).findings
    return next(finding.to_do for finding in findings if finding.rule == "crowded-ground")


def test_no_wire_to_a_stud_is_sized_for_a_load_without_a_rating() -> None:
    """Such a load may take any current: what is known of its wire is no reason for a thin one."""
    unrated = CROWD.replace("load bulb { lamp 5 W lamp: 1 2 }", "load bulb { lamp lamp: 1 2 }")
    assert unrated != CROWD
    assert "join wires 9 and 10 in a splice and run one wire of 1 mm2 or thicker" in stud_fix(CROWD)
    assert "join the thinner wires in a splice" in stud_fix(unrated)
    assert "that carries the current of all of them" in stud_fix(unrated)
