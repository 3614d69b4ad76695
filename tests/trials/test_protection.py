"""Protection, conductors and grounds: small harnesses that were judged wrongly, what is wanted, and near misses."""

from __future__ import annotations

import pytest
from checked_text import all_findings, trial

from loomwright.checks.findings.finding import Finding, Level


def of(rule: str, harness: str) -> list[Finding]:
    """Every finding of a rule, those that are merged into another one by themselves."""
    return [each for f in all_findings(harness) if f.rule == rule for each in (f.members or (f,))]


def wires(found: list[Finding]) -> list[str]:
    return [each.about[0] for each in found]


# --- behind a resistor: what limits a fault there is the resistor, and no fuse notices -------------------------------
def test_a_wire_behind_a_resistor_is_judged_by_what_it_carries_on_ground() -> None:
    (found,) = of("oversized-fuse", trial("thin-wire-behind-resistor"))
    assert found.level is Level.ERROR
    assert found.message == (
        "wire 3 (0.22 mm2, rated 5.55 A continuous) carries 17.6 A when it is shorted to ground behind R1, and MAIN "
        "(20 A) does not blow"
    )
    assert found.to_do == "use 1.5 mm2 or thicker for wire 3; or fit a fuse of 5 A or less between R1 and the wire"
    assert found.about == ("3", "MAIN", "R1")


@pytest.mark.parametrize(
    "change",
    [
        ("0.22 mm2", "1.5 mm2"),  # the fix
        ("R1 0.6 ohm", "R1 6 ohm"),  # two amps
        ("MAIN 20 A", "MAIN 5 A"),  # the fuse opens
    ],
)
def test_a_wire_behind_a_resistor_that_stands_it_is_silent(change: tuple[str, str]) -> None:
    assert of("oversized-fuse", trial("thin-wire-behind-resistor", change)) == []


def test_a_wire_behind_a_heater_is_the_same_cause() -> None:
    """Any load limits, not a resistor alone: a heater of 240 W before a small lamp lets 20 A on."""
    as_heater = trial(
        "thin-wire-behind-resistor",
        ("resistor R1 0.6 ohm 100 W at tray", "load R1 heater at tray { pad 180 W: 1 2 }"),
    )
    (found,) = of("oversized-fuse", as_heater)
    assert found.about[0] == "3"


# --- alternating currents --------------------------------------------------------------------------------------------
def test_phase_leads_carry_a_share_of_the_direct_current() -> None:
    """300 W at 14.2 V are 21.1 A, and 0.741 of it flows in each lead; the shunt makes it more."""
    found = of("thin-conductor", trial("thin-phase-leads"))
    assert wires(found) == ["9", "10", "11"]
    assert {each.level for each in found} == {Level.ERROR}
    assert found[0].message == (
        "wire 9 (0.5 mm2) carries at least 15.7 A rms to REGREC at full output, rated 9.68 A continuous"
    )
    assert found[0].notes[0].text.startswith("REGREC is a shunt regulator: the true current in wire 9 is higher")
    assert of("thin-conductor", trial("thin-phase-leads", ("yellow 0.5 mm2", "yellow 1 mm2"))) == []


def test_a_plug_in_a_phase_lead_is_judged_as_its_wire_is() -> None:
    plug = trial("thin-phase-leads", ("place tray\n", "place tray\nconnector P1 1 ways 12 A at tray\n")).replace(
        "wire 9 STATOR.U to REGREC.U yellow 0.5", "wire 9 STATOR.U to REGREC.U via P1.1 yellow 2.5"
    )
    (found,) = of("overloaded-contact", plug)
    assert "carries at least 15.7 A rms to REGREC at full output" in found.message
    assert found.level is Level.ERROR
    assert of("overloaded-contact", plug.replace("12 A", "20 A")) == []


def test_leads_and_switch_of_a_lighting_winding() -> None:
    """100 W at a lamp's 12 V are 8.33 A, there and back, through whatever lies between."""
    harness = trial("thin-winding-lead")
    assert wires(of("thin-conductor", harness)) == ["3", "4", "5"]
    (contact,) = of("overloaded-contact", harness)
    assert "carries at least 8.33 A rms from MAG.light to HEAD.dip, rated 6 A" in contact.message
    sound = trial("thin-winding-lead", ("0.22 mm2", "0.75 mm2"), ("LIGHTS 6 A", "LIGHTS 10 A"))
    assert of("thin-conductor", sound) == of("overloaded-contact", sound) == []


def test_a_winding_gives_no_more_than_it_has() -> None:
    """A 35 W winding under a 100 W lamp: dim, and no wire is too thin for it."""
    assert of("thin-conductor", trial("thin-winding-lead", ("light 130 W", "light 35 W"))) == []


# --- devices and contacts --------------------------------------------------------------------------------------------
def test_a_charging_fuse_beside_the_main_one_is_no_row() -> None:
    """What comes to MAIN through F-CHG is the alternator's own 20 A, which melts no 30 A fuse."""
    assert of("fuse-not-selective", trial("charging-fuse-beside-main")) == []


def test_the_positions_of_a_change_over_are_never_both_closed() -> None:
    """Wire 3 is fed past F1 alone; 2 and 7 are fed straight from the battery in y, and nobody may miss them."""
    assert wires(of("unfused-feed", trial("changeover-both-closed"))) == ["2", "7"]


def test_two_contacts_of_one_relay_are_never_both_closed() -> None:
    relay = trial(
        "changeover-both-closed",
        ("switch C 10 A { x: 1 2; y: 1 3 }", "relay C 10 A { coil 85 ohm: 86 85; released: 1 2; pulled: 1 3 }"),
    )
    assert wires(of("unfused-feed", relay)) == ["2", "7"]


def test_two_switches_that_share_one_control_are_never_both_closed() -> None:
    """Two neutral switches stand alike: one in neutral, the other in gear, and no current gets through both."""
    shared = trial(
        "changeover-both-closed",
        (
            "switch C 10 A { x: 1 2; y: 1 3 }",
            """switch C 10 A senses gearbox { neutral: 1 2; in-gear: }
switch D 10 A senses gearbox { neutral: ; in-gear: 1 3 }""",
        ),
        ("to C.3 red", "to D.3 red"),
        ("wire 7 C.1 to", "wire 9 C.1 to D.1 green 1.5 mm2 0.1 m\nwire 7 C.1 to"),
    )
    assert "3" not in wires(of("unfused-feed", shared))
    assert {"2", "7", "9"} <= set(wires(of("unfused-feed", shared)))


# --- insulation and thin wires ---------------------------------------------------------------------------------------
def test_a_class_that_is_no_hotter_than_its_route_is_one_finding() -> None:
    found = all_findings(trial("class-cooler-than-route"))
    assert [f.rule for f in found if f.level is Level.ERROR] == []
    (said,) = [f for f in found if f.rule == "over-temperature"]
    assert [each.about for each in said.members] == [("2",), ("3",)]
    assert said.message.startswith(
        "wire 2 is class A, rated to 85 degC, and its route reaches 85 degC: its class leaves no "
    )
    assert said.to_do == "use class B (100 degC) or better for wires 2, 3; or find a cooler route"
    assert not any("0 A" in f.message for f in found)


def test_a_current_too_great_for_the_right_class_is_not_hidden() -> None:
    """16 A in 0.22 mm2 are too much in any class that the route could have."""
    harness = trial("class-cooler-than-route", ("b 5 W", "b 200 W"), ("red 16 mm2", "red 0.22 mm2"), ("5 A", "20 A"))
    (found,) = of("thin-conductor", harness)
    assert found.level is Level.ERROR
    assert "class B (100 degC)" in found.source
    assert of("over-temperature", harness)


@pytest.mark.parametrize("area", ["0.2", "0.13", "0.1", "0.05", "0.02", "0.01"])
def test_a_thinner_wire_is_never_quieter(area: str) -> None:
    """6 A on a wire below the thinnest row that is published: the same errors, and said that the table ends."""
    harness = trial("fuse-in-ground-lead", ("grey 1.5 mm2", f"grey {area} mm2"), ("lamp 55 W", "lamp 80 W"))
    loud = {f.rule for f in all_findings(harness) if f.level is Level.ERROR for name in f.about if name == "4"}
    assert {"thin-conductor", "oversized-fuse"} <= loud
    listed = [note.text for f in all_findings(harness) if f.rule == "not-judged" for note in f.notes]
    assert ("ends at 0.2 mm2, taken in proportion to the area" in "".join(listed)) is (float(area) < 0.2)


# --- grounds and the battery -----------------------------------------------------------------------------------------
def test_a_fuse_in_the_ground_lead_of_the_battery() -> None:
    (found,) = of("parted-ground-lead", trial("fuse-in-ground-lead"))
    assert (found.level, found.about) == (Level.WARNING, ("NEG",))
    assert found.message == (
        "NEG is in the ground lead of BAT: when it blows, FRAME loses its ground and the feed stays connected"
    )
    assert found.to_do == (
        "connect BAT.- straight to FRAME, without NEG; fit NEG in the feed of BAT where that has no fuse at the battery"
    )


def test_an_isolator_in_the_ground_lead_alone_is_the_same_cause() -> None:
    switch = trial("fuse-in-ground-lead", ("fuse NEG 10 A blade", "switch NEG 10 A")).replace(
        "NEG 10 A at tray", "NEG 10 A at tray { off: ; on: 1 2 }"
    )
    (found,) = of("parted-ground-lead", switch)
    assert "when it is in off" in found.message
    assert found.to_do == "move NEG to the feed of BAT, and connect BAT.- straight to FRAME"


def test_a_fuse_that_another_ground_lead_bridges_parts_nothing() -> None:
    both = trial("fuse-in-ground-lead") + "wire 8 BAT.- to FRAME black 6 mm2 0.15 m\n"
    assert of("parted-ground-lead", both) == []


def test_a_positive_ground_has_its_fuse_in_the_other_lead() -> None:
    """Turned round, MAIN is in the grounded lead and NEG in the feed."""
    turned = (
        trial(
            "fuse-in-ground-lead",
            ("negative ground", "positive ground"),
            ("NEG.2 to FRAME", "NEG.2 to LAMP.2"),
            ("LAMP.2 to FRAME", "KEY.2 to FRAME"),
        )
        .replace("wire 4 KEY.2 to LAMP.1 grey", "wire 4 FRAME to LAMP.1 grey")
        .replace("wire 1 MAIN.2 to KEY.1", "wire 1 MAIN.2 to KEY.1")
    )
    found = of("parted-ground-lead", turned)
    assert [each.about for each in found] == [("MAIN",), ("KEY",)]


def test_an_alternator_behind_the_main_fuse_can_lose_its_battery() -> None:
    (found,) = of("battery-can-part", trial("main-fuse-carries-charge"))
    assert (found.level, found.about) == (Level.WARNING, ("MAIN", "ALT"))
    assert found.message == (
        "ALT charges BAT only through MAIN: if MAIN blows with the engine running, ALT feeds HEAD without BAT, "
        "and its voltage peaks (load dump)"
    )
    assert found.to_do == (
        "take wire 6 off ALT.B+, remove it or insulate the end, which stays live, and connect ALT.B+ to BAT by a wire "
        "rated for its full output, through a fuse of 25 A near BAT that carries nothing else"
    )
    assert of("battery-can-part", trial("charging-fuse-beside-main")) == []


def test_a_charge_lamp_at_the_trio_is_no_load_that_the_alternator_feeds_alone() -> None:
    """With the charging fuse blown it lies between the battery's feed and D+, as it does before each start."""
    harness = """loom "A trio behind a charging fuse"
system 12 V negative ground
place here
source BAT battery at here { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at here for charging { phases: U V W; field 4 ohm: DF E }
rectifier RECT 25 A at here for charging { phases: U V W; output 250 W: B+ B-; idle 60 W; trio: D+ }
regulator VR 5 A at here for charging { passes: D+ DF; sense: D+ D-; regulated 14.2 V }
load CHARGE lamp at here for charging { glow 3 W tell-tale: 1 2 }
fuse F-ALT 30 A blade at here
fuse MAIN 15 A blade at here
switch KEY 15 A key at here { off: ; on: 30 15 }
ground FRAME at here
splice SD at here
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 4 mm2 0.3 m
wire 3 BAT.- to FRAME black 6 mm2 0.2 m
wire 4 RECT.B+ to F-ALT.2 brown 4 mm2 0.2 m
wire 5 F-ALT.1 to BAT.+ brown 4 mm2 0.12 m
wire 6 RECT.B- to FRAME black 4 mm2 0.2 m
wire 7 ALT.E to FRAME black 4 mm2 0.2 m
wire 8 ALT.U to RECT.U yellow 2.5 mm2 0.3 m
wire 9 ALT.V to RECT.V yellow 2.5 mm2 0.3 m
wire 10 ALT.W to RECT.W yellow 2.5 mm2 0.3 m
wire 11 KEY.15 to CHARGE.1 orange 4 mm2 0.3 m
wire 12 CHARGE.2 to SD blue 1.5 mm2 0.3 m
wire 13 SD to VR.D+ blue 1.5 mm2 0.3 m
wire 14 RECT.D+ to SD blue 1.5 mm2 0.3 m
wire 15 VR.DF to ALT.DF green 1.5 mm2 0.3 m
wire 16 VR.D- to FRAME black 1.5 mm2 0.3 m
state riding { KEY on, engine running }
"""
    assert of("battery-can-part", harness) == []
    lamp = "load POD lamp at here for lighting { glow 5 W: 1 2 }\nwire 17 RECT.B+ to POD.1 white 4 mm2 0.3 m\n"
    (found,) = of("battery-can-part", harness + lamp + "wire 18 POD.2 to FRAME black 1.5 mm2 0.3 m\n")
    assert "RECT feeds POD without BAT, and its voltage peaks (load dump)" in found.message


def test_an_alternator_behind_the_key_is_the_same_cause() -> None:
    behind = trial("main-fuse-carries-charge", ("wire 6 MAIN.2 to ALT.B+", "wire 6 KEY.2 to ALT.B+"))
    (found,) = of("battery-can-part", behind)
    assert found.about in {("KEY", "ALT"), ("MAIN", "ALT")}


# --- the starter's way back ------------------------------------------------------------------------------------------
def test_a_strap_whose_loss_sends_the_starters_current_through_a_thin_wire() -> None:
    """With wire 3 off 110 A go through 1.5 mm2, which 226 S sqrt(ln(334.5 / 274.5) / 30 s) = 27.5 A
    bring from 40 to 100 degC.
    """
    (found,) = of("lost-ground", trial("strap-comes-loose"))
    assert found.about == ("3", "4", "STARTER")
    assert found.message == "wire 4 (1.5 mm2, rated 27.5 A short-time) carries the 110 A of STARTER when wire 3 is open"
    assert (
        of("lost-ground", trial("strap-comes-loose", ("k 1.5 mm2", "k 16 mm2"), ("black 6 mm2", "black 16 mm2"))) == []
    )


def test_a_starter_of_unknown_current_behind_a_light_strap() -> None:
    stout = "wire 3 BAT.- to ENGINE black 16 mm2 0.3 m"
    light = trial("strap-comes-loose", ("armature 110 A", "armature"), (stout, ""))
    (found,) = of("starter-through-ground", light)
    assert (found.level, found.about) == (Level.WARNING, ("4", "STARTER"))
    assert found.message == "STARTER is grounded only through wire 4 (1.5 mm2), and its feed is 16 mm2"
    assert found.to_do == "use 16 mm2 or thicker for wire 4"
    assert of("starter-through-ground", trial("strap-comes-loose", ("armature 110 A", "armature"))) == []


def test_a_starter_of_known_current_behind_a_light_strap_is_told_once() -> None:
    light = trial("strap-comes-loose", ("wire 3 BAT.- to ENGINE black 16 mm2 0.3 m", ""))
    assert of("thin-return", light)
    assert of("starter-through-ground", light) == []
