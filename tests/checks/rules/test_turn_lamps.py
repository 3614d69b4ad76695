"""The two sides of the turn lamps, with hazard lights and a tell-tale for both, and where a finding points."""

from __future__ import annotations

import pytest
from checked_text import BENCH, findings

SIDES = """
pattern load turn led for signals { lit 2 W: 1 31 }
load FL turn-left at tray as turn
load RL turn-left at tray as turn
load FR turn-right at tray as turn
load RR turn-right at tray as turn
load TT led tell-tale at tray for instruments { lit 0.3 W: 1 2 }
flasher FLASH electronic at tray { flash: 49 49a; supply: 49 31 }
switch TURN 3 A at tray { off: ; left: 1 L; right: 1 R }
switch HAZARD 3 A at tray { off: ; on: 1 L, 1 R }
wire f KEY.2 to FLASH.49 red 1 mm2 0.1 m
wire g1 FLASH.31 to FRAME black 1 mm2 0.1 m
wire a FLASH.49a to TURN.1 grey 1 mm2 0.1 m
wire h FLASH.49a to HAZARD.1 grey 1 mm2 0.1 m
wire hl HAZARD.L to TURN.L grey 1 mm2 0.1 m
wire hr HAZARD.R to TURN.R grey 1 mm2 0.1 m
wire l1 TURN.L to FL.1 green 1 mm2 0.1 m
wire l2 TURN.L to RL.1 green 1 mm2 0.1 m
wire r1 TURN.R to FR.1 blue 1 mm2 0.1 m
wire r2 TURN.R to RR.1 blue 1 mm2 0.1 m
mount FL.31 to FRAME
mount RL.31 to FRAME
mount FR.31 to FRAME
mount RR.31 to FRAME
mount TT.2 to FRAME
diode DR 1 A at tray
wire t1 TURN.R to DR.A blue 1 mm2 0.1 m
wire t2 DR.K to TT.1 blue 1 mm2 0.1 m
"""
TWO_DIODES = "diode DL 1 A at tray\nwire t3 TURN.L to DL.A green 1 mm2 0.1 m\nwire t4 DL.K to TT.1 green 1 mm2 0.1 m\n"
ONE_DIODE = "wire t3 TURN.L to TT.1 green 1 mm2 0.1 m\n"
NO_DIODE = ONE_DIODE + "wire t5 DR.A to DR.K blue 1 mm2 0.1 m\n"


def test_hazard_lights_and_a_tell_tale_by_two_diodes_are_no_fault() -> None:
    assert findings("lamp-law", SIDES + TWO_DIODES) == ()


def test_a_side_that_never_flashes_alone_is_found_and_shown_by_the_turn_switch() -> None:
    front, rear = findings("lamp-law", SIDES + ONE_DIODE)
    assert front.message.startswith("FL.lit, a left turn lamp, flashes with the right turn lamps (KEY on, ")
    assert rear.about[0] == "RL"
    assert front.combination == (("KEY", "on"), ("TURN", "right"), ("HAZARD", "off"))


def test_two_sides_joined_by_copper_are_found() -> None:
    found = findings("lamp-law", SIDES + ONE_DIODE + "wire t5 DR.A to DR.K blue 1 mm2 0.1 m\n")
    assert {f.about[0] for f in found} == {"FL", "RL", "FR", "RR"}


def test_what_a_pattern_says_of_a_part_is_told_at_the_part() -> None:
    front, _ = findings("lamp-law", SIDES + ONE_DIODE)
    assert (BENCH + SIDES).splitlines()[front.span.line - 1].startswith("load FL")


LOADED = """
flasher FLASH {} at tray {{ flash: 49 49a }}
switch TURN 5 A at tray {{ off: ; left: 1 L }}
load FL turn-left at tray {{ turn {}: 1 31 }}
load RL turn-left at tray {{ turn {}: 1 31 }}
wire f KEY.2 to FLASH.49 red 1 mm2 0.1 m
wire a FLASH.49a to TURN.1 grey 1 mm2 0.1 m
wire l1 TURN.L to FL.1 green 1 mm2 0.1 m
wire l2 TURN.L to RL.1 green 1 mm2 0.1 m
mount FL.31 to FRAME
mount RL.31 to FRAME
state on {{ KEY on }}
"""


@pytest.mark.parametrize(
    ("flasher", "lamp", "said"),
    [
        ("42 W thermal", "21 W lamp", ""),
        ("42 W thermal", "3 W led", "(rated 42 W) is loaded with 6 W by FL.turn and RL.turn: it flashes slowly"),
        ("42 W electronic", "3 W led", ""),  # one figure is the most
        ("42 W electronic", "35 W lamp", "(rated at most 42 W) is loaded with 70 W"),
        ("2 W to 42 W electronic", "3 W led", ""),
        (
            "20 W to 42 W electronic",
            "3 W led",
            "(rated 20 W to 42 W) is loaded with 6 W by FL.turn and RL.turn: it may",
        ),
        ("20 W to 42 W", "3 W led", "(rated 20 W to 42 W) is loaded with 6 W"),
        ("42 W", "3 W led", ""),
        ("electronic", "3 W led", ""),
    ],
)
def test_every_flasher_that_says_its_range_is_judged_by_it(flasher: str, lamp: str, said: str) -> None:
    text = LOADED.format(flasher, lamp, lamp)
    found = findings("flasher-load", text)
    assert len(found) == bool(said)
    assert all(said in f.message for f in found)
    listed = [f for f in findings("not-judged", text) if "FLASH" in f.about]
    assert len(listed) == (flasher in ("42 W", "electronic"))


@pytest.mark.parametrize(
    ("lamp", "said"),
    [
        ("21 W lamp at 6 V", ""),  # 21 W each at their own 6.75 V, however the system is
        ("21 W lamp at 8 V", ""),  # 8 V is no system's: then the watts are those at the volts of the text
        ("30 W lamp at 6 V", "(rated 42 W) is loaded with 60 W by FL.turn and RL.turn: it flashes fast or burns out"),
        ("10 W lamp at 24 V", "(rated 42 W) is loaded with 20 W by FL.turn and RL.turn: it flashes slowly"),
    ],
)
def test_a_lamp_loads_the_flasher_with_its_watts_at_its_own_volts(lamp: str, said: str) -> None:
    found = findings("flasher-load", LOADED.format("42 W thermal", lamp, lamp))
    assert [f.message.removeprefix("FLASH ")[: len(said)] for f in found] == ([said] if said else [])
