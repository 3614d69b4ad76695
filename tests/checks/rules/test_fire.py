"""Rules of the family fire on cases near their edges."""

from __future__ import annotations

import pytest
from checked_text import about, findings

from loomwright.checks.findings.finding import Finding, Level

LAMP = """
load LAMP lamp at bars { lamp 5 W: 1 2 }
wire l KEY.2 to LAMP.1 grey 1 mm2
wire r LAMP.2 to FRAME black 1 mm2 0.1 m
"""


def figures(finding: Finding) -> dict[str, float]:
    return {figure.label: figure.value for figure in finding.figures}


# --- unfused-feed ----------------------------------------------------------------------------------------------------
def test_a_second_feed_on_the_battery_post_needs_its_own_fuse() -> None:
    (found,) = findings(
        "unfused-feed", LAMP + "switch S 10 A at bars { off: ; on: 1 2 }\nwire x BAT.+ to S.1 red 1 mm2"
    )
    assert (found.about, found.level, found.path) == (("x",), Level.ERROR, ("BAT", "x"))
    assert figures(found)["allowed"] == 0.178
    assert "33 CFR 183.455" in found.source


def test_a_charging_lead_counts_since_the_battery_feeds_it_backwards() -> None:
    text = """
    source GEN alternator at bars {{ output 200 W: B+ B-; regulated 14.2 V }}
    wire x {} to GEN.B+ red 4 mm2
    wire y GEN.B- to FRAME black 4 mm2 0.1 m
    """
    assert about("unfused-feed", text.format("BAT.+")) == ["x"]
    assert about("unfused-feed", text.format("MAIN.2")) == []


@pytest.mark.parametrize(("ground", "feed", "back"), [("negative", "+", "-"), ("positive", "-", "+")])
def test_the_starter_is_exempt_whatever_is_grounded_and_its_branches_are_not(ground: str, feed: str, back: str) -> None:
    text = f"""
    loom "crank"
    system 12 V {ground} ground
    place tray
    source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
    ground ENGINE at tray
    relay SOL 150 A at tray {{ coil 12 ohm: 86 85; released: ; pulled: 30 87 }}
    load M motor at tray for starting {{ armature 100 A: 30 31 }}
    fuse F 5 A blade at tray
    wire 1 BAT.{feed} to SOL.30 red 16 mm2 0.6 m
    wire 2 SOL.87 to M.30 red 16 mm2 0.5 m
    wire 3 M.31 to ENGINE black 16 mm2 0.3 m
    wire 4 BAT.{back} to ENGINE black 16 mm2 0.3 m
    wire 5 SOL.30 to F.1 red 1 mm2 0.1 m
    """
    assert about("unfused-feed", text, bench=False) == ["5"]


def test_an_unknown_length_is_no_excuse_where_the_rest_is_too_far_already() -> None:
    text = """
    loom "no length"
    source BAT battery
    ground FRAME
    splice SP
    switch S 10 A { off: ; on: 1 2 }
    wire 1 BAT.+ to SP red 1 mm2 0.3 m
    wire 2 SP to S.1 red 1 mm2
    wire 3 BAT.- to FRAME black 1 mm2
    """
    found = findings("unfused-feed", text, bench=False)
    assert [f.about[0] for f in found] == ["1", "2"]
    assert "at least 0.3 m" in found[1].message


# --- oversized-fuse --------------------------------------------------------------------------------------------------
def test_a_machine_adds_to_what_the_fuse_lets_through() -> None:
    text = """
    source GEN alternator at tray { output 142 W: B+ B-; regulated 14.2 V }
    splice SP at tray
    wire x MAIN.2 to SP red 1 mm2 0.1 m
    wire y GEN.B+ to SP red 1 mm2 0.1 m
    wire z GEN.B- to FRAME black 4 mm2 0.1 m
    load L lamp at bars { lamp 5 W: 1 2 }
    wire w SP to L.1 red 1 mm2
    """
    (found,) = [f for f in findings("oversized-fuse", text) if f.about[0] == "w"]
    assert figures(found)["exposure"] == pytest.approx(20.0)
    assert figures(found)["ampacity"] == pytest.approx(15.0 * (40.0 / 50.0) ** 0.5)  # 18 AWG, column 80, at 40 degC
    assert found.level is Level.WARNING
    assert "GEN (10 A)" in found.message
    assert found.to_do.endswith("or fit a fuse of 10 A in wire w within 0.178 m of SP")


def test_an_old_glass_fuse_is_judged_by_half_of_what_blows_it() -> None:
    text = """
    fuse OLD blows {} A glass at tray
    load L lamp at bars {{ lamp 5 W: 1 2 }}
    wire a BAT.+ to OLD.1 red 4 mm2 0.1 m
    wire x OLD.2 to L.1 red 1 mm2
    """
    assert about("oversized-fuse", text.format(25)) == []  # 12.5 A continuously
    assert about("oversized-fuse", text.format(35)) == ["x"]


def test_a_fuse_without_a_rating_is_left_to_the_list() -> None:
    text = "fuse F at tray\nload L lamp at bars { lamp 5 W: 1 2 }\n"
    text += "wire a BAT.+ to F.1 red 1 mm2 0.1 m\nwire x F.2 to L.1 red 0.35 mm2"
    assert about("oversized-fuse", text) == []
    (listed,) = findings("not-judged", text)
    assert "F" in listed.about


def test_an_output_that_trips_protects_its_wire_and_one_that_does_not_leaves_it_to_the_fuse() -> None:
    text = """
    fuse BIG 30 A blade at tray
    unit U at tray {{ supply 10 mA: 30 31; output o 5 A {}: O }}
    load L lamp at bars {{ lamp 5 W: 1 2 }}
    wire a BAT.+ to BIG.1 red 4 mm2 0.1 m
    wire s BIG.2 to U.30 red 4 mm2 0.1 m
    wire t U.31 to FRAME black 1 mm2 0.1 m
    wire x U.O to L.1 red 1 mm2
    """
    assert about("oversized-fuse", text.format("trips 7 A")) == []
    assert about("oversized-fuse", text.format("")) == ["x"]


TAPS = """
fuse BIG 30 A blade at tray
fuse OWN {own} at tray
splice SP at tray
load L lamp at bars {{ lamp 5 W: 1 2 }}
wire a BAT.+ to BIG.1 red 4 mm2 0.15 m
wire s BIG.2 to SP red 4 mm2 0.5 m
wire t SP to OWN.1 red 1 mm2 {length}
wire l OWN.2 to L.1 grey 1 mm2
wire e L.2 to FRAME black 1 mm2 0.1 m
"""


@pytest.mark.parametrize(
    ("own", "length", "more", "found"),
    [
        ("5 A", "0.17 m", "", []),
        ("5 A", "0.18 m", "", ["t"]),  # 7 in are 0.178 m
        ("20 A", "0.17 m", "", ["t", "l"]),  # its own fuse does not fit it either
        ("", "0.17 m", "", ["t", "l"]),  # nor is one of unknown rating trusted
        ("5 A", "0.17 m", "load M lamp at tray { lamp 5 W: 1 2 }\nwire n OWN.1 to M.1 red 4 mm2 0.1 m", ["t"]),
        ("5 A", "0.10 m", "splice SQ at tray\nwire u OWN.1 to SQ red 4 mm2 0.07 m", []),
        ("5 A", "0.10 m", "splice SQ at tray\nwire u OWN.1 to SQ red 4 mm2 0.09 m", ["t"]),  # 0.19 m from SP
    ],
)
def test_a_short_tap_to_a_fuse_of_its_own_is_allowed(own: str, length: str, more: str, found: list[str]) -> None:
    assert about("oversized-fuse", TAPS.format(own=own, length=length) + more) == found


def test_the_way_to_a_tap_must_be_stout() -> None:
    text = TAPS.format(own="5 A", length="0.1 m").replace("red 4 mm2 0.5 m", "red 1 mm2 0.5 m")
    assert about("oversized-fuse", text) == ["s", "t"]


def test_what_one_fuse_lets_through_is_one_group_led_by_the_worst_wire() -> None:
    more = "wire x SP to L.1 grey 1.5 mm2\nwire y SP to L.1 grey 0.75 mm2"
    found = findings("oversized-fuse", TAPS.format(own="5 A", length="0.1 m") + more)
    assert {f.group for f in found} == {"BIG"}
    assert min(found, key=lambda f: f.rank).about == ("y", "BIG")
    assert found[0].to_do == "fit a fuse of 10 A or less at BIG; or use 4 mm2 or thicker for wires l, x and y"


# --- currents --------------------------------------------------------------------------------------------------------
def test_the_combination_that_nobody_named_is_found_and_shown() -> None:
    text = """
    switch A 10 A at tray { off: ; on: 1 2 }
    switch B 10 A at tray { off: ; on: 1 2 }
    load LA heater at tray { pad 60 W: 1 2 }
    load LB heater at tray { pad 60 W: 1 2 }
    wire 1 KEY.2 to A.1 red 2 mm2 0.1 m
    wire 2 KEY.2 to B.1 red 2 mm2 0.1 m
    wire 3 A.2 to LA.1 red 2 mm2 0.1 m
    wire 4 B.2 to LB.1 red 2 mm2 0.1 m
    wire 5 LA.2 to FRAME black 2 mm2 0.1 m
    wire 6 LB.2 to FRAME black 2 mm2 0.1 m
    state one { KEY on; A on }
    state other { KEY on; B on }
    """
    (found,) = findings("overloaded-fuse", text)
    assert found.state == ""
    assert {("KEY", "on"), ("A", "on"), ("B", "on")} <= set(found.combination)


def test_a_horn_counts_while_it_is_pressed_and_no_longer() -> None:
    text = """
    switch BUTTON {} A momentary at tray {{ rest: ; press: 1 2 }}
    load HORN horn at tray {{ horn 9 A: 1 2 }}
    wire 1 KEY.2 to BUTTON.1 red 2 mm2 0.1 m
    wire 2 BUTTON.2 to HORN.1 red 2 mm2 0.1 m
    wire 3 HORN.2 to FRAME black 2 mm2 0.1 m
    """
    assert about("overloaded-fuse", text.format(10)) == []  # 9 A of 10 A, held: less than its rating
    assert about("overloaded-contact", text.format(10)) == []
    assert about("overloaded-contact", text.format(5)) == ["BUTTON"]


def test_a_held_current_may_be_what_the_wire_stands_for_half_a_minute() -> None:
    text = """
    loom "crank"
    place tray
    source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
    ground ENGINE at tray
    relay SOL 150 A at tray {{ coil 12 ohm: 86 85; released: ; pulled: 30 87 }}
    switch START 5 A momentary at tray {{ rest: ; press: 1 2 }}
    load M motor at tray for starting {{ armature 100 A: 30 31 }}
    fuse F 5 A blade at tray
    wire 1 BAT.+ to SOL.30 red {0} mm2 0.4 m
    wire 2 SOL.87 to M.30 red {0} mm2 0.4 m
    wire 3 M.31 to ENGINE black 16 mm2 0.3 m
    wire 4 BAT.- to ENGINE black {0} mm2 0.3 m
    wire 5 BAT.+ to F.1 red 1 mm2 0.1 m
    wire 6 F.2 to START.1 red 1 mm2 0.1 m
    wire 7 START.2 to SOL.86 white 1 mm2 0.1 m
    wire 8 SOL.85 to ENGINE black 1 mm2 0.1 m
    state cranking {{ START press; engine cranking }}
    """
    # 226 S sqrt(ln((234.5 + 85) / (234.5 + 40)) / 30 s), IEC 60949: 6 mm2 of class A stays below 85 degC with 96.5 A,
    # 8 mm2 with 129 A, and 16 mm2 far more
    assert about("thin-conductor", text.format(8), bench=False) == []
    assert about("thin-conductor", text.format(6), bench=False) == ["1", "2"]
    assert about("thin-return", text.format(4), bench=False) == ["4"]


# --- fuses in a row --------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("amps", "form", "found"), [("3", "blade", []), ("7.5", "blade", ["F"]), ("3", "glass", [])])
def test_selectivity(amps: str, form: str, found: list[str]) -> None:
    """A 10 A blade melts from (60 A)^2 x 0.02 s = 72 A2s; 3 A lets (18 A)^2 x 0.1 s = 32 A2s through, 7.5 A 203."""
    text = f"fuse F {amps} A {form} at tray\nwire x MAIN.2 to F.1 red 2 mm2 0.1 m\nwire y F.2 to FRAME red 2 mm2 0.1 m"
    assert about("fuse-not-selective", text.replace("to FRAME red", "to LAMP.1 red") + LAMP) == found


# --- coils -----------------------------------------------------------------------------------------------------------
COIL = """
unit U at tray {{ supply 10 mA: 30 31; output o 1 A trips 2 A {0}: O }}
relay K1 20 A {1} at tray {{ coil 85 ohm: 86 85; released: ; pulled: 30 87 }}
wire s KEY.2 to U.30 red 1 mm2 0.1 m
wire t U.31 to FRAME black 1 mm2 0.1 m
wire x U.O to K1.86 green 1 mm2 0.1 m
wire y K1.85 to FRAME black 1 mm2 0.1 m
"""


@pytest.mark.parametrize(
    ("output", "relay", "more", "found"),
    [
        ("", "", "", ["K1"]),
        ("clamped", "", "", []),
        ("", "clamped", "", []),
        (
            "",
            "",
            "resistor R 680 ohm 1 W at tray\nwire p R.1 to K1.86 green 1 mm2\nwire q R.2 to K1.85 black 1 mm2",
            [],
        ),
        ("", "", "diode D 1 A at tray\nwire p D.K to K1.86 green 1 mm2\nwire q D.A to K1.85 black 1 mm2", []),
        ("", "", "diode D 1 A at tray\nwire p D.A to U.O green 1 mm2\nwire q D.K to KEY.2 black 1 mm2", ["K1"]),
    ],
)
def test_a_coil_on_an_output(output: str, relay: str, more: str, found: list[str]) -> None:
    assert about("missing-suppression", COIL.format(output, relay) + more) == found


@pytest.mark.parametrize(("amps", "found"), [("1", []), ("0.2", ["K1"])])
def test_a_coil_on_a_contact_near_its_rating(amps: str, found: list[str]) -> None:
    """85 ohm take 0.15 A: more than half of 0.2 A, and a small share of 1 A."""
    text = f"""
    switch S {amps} A at tray {{ off: ; on: 1 2 }}
    relay K1 20 A at tray {{ coil 85 ohm: 86 85; released: ; pulled: 30 87 }}
    wire s KEY.2 to S.1 red 1 mm2 0.1 m
    wire x S.2 to K1.86 green 1 mm2 0.1 m
    wire y K1.85 to FRAME black 1 mm2 0.1 m
    """
    assert about("missing-suppression", text) == found


# --- heat ------------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("letter", "degrees", "found"),
    [("A", 79, []), ("A", 85, ["x"]), ("A", 86, ["x"]), ("B", 86, []), ("D", 151, ["x"])],
)
def test_a_class_below_its_route(letter: str, degrees: int, found: list[str]) -> None:
    text = f"place pipe\nroute tray pipe 0.5 m ambient {degrees} degC\nload L lamp at pipe {{ lamp 5 W: 1 2 }}\n"
    assert about("over-temperature", text + f"wire x KEY.2 to L.1 red 1 mm2 class {letter}") == found


# --- two-feeds -------------------------------------------------------------------------------------------------------
SECOND = """
source SECOND battery at tray {{ voltage {volts} V; capacity 12 Ah; resistance 20 mohm }}
fuse F-SECOND 10 A blade at tray
wire s1 SECOND.- to FRAME black 4 mm2 0.1 m
wire s2 SECOND.+ to F-SECOND.1 red 2 mm2 0.1 m
"""
ALONE = """
loom "Two batteries"
system 12 V negative ground
place tray
ground FRAME at tray
source FIRST battery at tray { voltage 12.6 V; capacity 12 Ah; resistance 10 mohm }
wire f1 FIRST.- to FRAME black 4 mm2 0.1 m
fuse F-FIRST 10 A blade at tray
wire f2 FIRST.+ to F-FIRST.1 red 2 mm2 0.1 m
"""
BY_SWITCH = """
switch S 10 A at tray { off: ; on: 1 2 }
wire s3 F-FIRST.2 to S.1 red 2 mm2 0.1 m
wire s4 S.2 to F-SECOND.2 red 2 mm2 0.1 m
"""
BY_DIODE = """
diode D 10 A at tray
wire s3 F-FIRST.2 to D.{} red 2 mm2 0.1 m
wire s4 D.{} to F-SECOND.2 red 2 mm2 0.1 m
"""


@pytest.mark.parametrize(("volts", "unequal"), [(6.3, True), (11.2, True), (11.4, False), (12.4, False), (14.1, True)])
def test_batteries_side_by_side_differ_by_a_tenth_at_most(volts: float, unequal: bool) -> None:
    told = findings("two-feeds", ALONE + SECOND.format(volts=volts) + BY_SWITCH, bench=False)
    assert [finding.level for finding in told] == [Level.ERROR] * unequal


def test_unequal_batteries_are_named_with_what_flows() -> None:
    (found,) = findings("two-feeds", ALONE + SECOND.format(volts=6.3) + BY_SWITCH, bench=False)
    assert "at first about 210 A flows from FIRST into SECOND" in found.message  # (12.6 - 6.3) / (0.010 + 0.020)
    assert found.combination == (("S", "on"),)
    assert {"FIRST", "SECOND", "F-FIRST", "F-SECOND", "S"} <= set(found.about)


@pytest.mark.parametrize(("ends", "found"), [("AK", 1), ("KA", 0)])
def test_a_diode_parts_two_batteries_only_against_the_higher(ends: str, found: int) -> None:
    text = ALONE + SECOND.format(volts=6.3) + BY_DIODE.format(*ends)
    assert len(findings("two-feeds", text, bench=False)) == found


def test_batteries_one_behind_the_other_are_not_side_by_side() -> None:
    text = ALONE.replace("FIRST.- to FRAME", "FIRST.- to SECOND.+") + SECOND.format(volts=6.3).replace(
        "wire s2 SECOND.+ to F-SECOND.1 red 2 mm2 0.1 m", ""
    )
    assert findings("two-feeds", text, bench=False) == ()


# By the text 11.3 V are within a tenth of a 12 V system; only the usual 12.65 V at rest, from memory, is farther away.
@pytest.mark.parametrize(
    ("volts", "levels"), [(6.3, [Level.ERROR]), (11.3, [Level.WARNING]), (11.5, []), (14.1, [Level.ERROR])]
)
def test_usual_volts_at_rest_from_memory_make_no_error_alone(volts: float, levels: list[Level]) -> None:
    text = ALONE.replace("voltage 12.6 V; ", "") + SECOND.format(volts=volts) + BY_SWITCH
    assert [finding.level for finding in findings("two-feeds", text, bench=False)] == levels


THIN_RETURN = """
loom "Let-through"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance {} mohm }}
ground FRAME at tray
fuse MAIN {} at tray
load LAMP lamp at tray {{ lamp 21 W: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.1 m
wire 2 MAIN.2 to LAMP.1 red 6 mm2 0.1 m
wire 3 LAMP.2 to FRAME black 0.35 mm2 0.1 m
wire 4 BAT.- to FRAME black 6 mm2 0.1 m
"""


@pytest.mark.parametrize(
    ("milliohms", "fuse", "level"),
    [
        (15, "30 A blade", Level.WARNING),  # what a blade passes at 600 % is from memory
        (435, "10 A glass", Level.ERROR),  # IEC 60127-2's 2 s at 275 % were read
    ],
)
def test_what_a_wire_withstands_in_a_short_makes_an_error_only_by_figures_that_were_read(
    milliohms: float, fuse: str, level: Level
) -> None:
    (told,) = findings("short-not-cleared", THIN_RETURN.format(milliohms, fuse), bench=False)
    assert told.message.startswith("wire 3 (0.35 mm2) withstands ")
    assert told.level is level
