"""A stand that a box watches by an input is watched; one that only lights a lamp, or is not heeded, is not."""

from __future__ import annotations

import pytest
from checked_text import all_findings

BIKE = """loom "A box that watches the stand"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply {{ off: ; on: 30 15 }}
ground FRAME at tray
switch KILL 6 A at tray for ignition {{ run: 1 2; stop: }}
switch STAND 1 A senses stand at tray for sensing {{ {stand} }}
switch NEUTRAL 1 A senses gearbox at tray for sensing {{ in-gear: ; neutral: 1 2 }}
{box}
load COIL ignition at tray for ignition {{ primary 3.4 ohm duty 40 %: 15 1 }}
splice SP at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to KILL.1 orange 2 mm2 0.20 m
wire 5 KILL.2 to SP orange/black 2 mm2 0.20 m
wire 6 SP to BOX.15 orange/black 1 mm2 0.20 m
wire 7 BOX.31 to FRAME black 1 mm2 0.20 m
wire 8 SP to COIL.15 orange/black 2 mm2 0.20 m
wire 9 COIL.1 to BOX.C blue 2 mm2 0.20 m
wire 10 BOX.ST to STAND.1 green 1 mm2 0.20 m
wire 11 STAND.2 to {far} green/black 1 mm2 0.20 m
wire 12 BOX.N to NEUTRAL.1 white 1 mm2 0.20 m
wire 13 NEUTRAL.2 to FRAME black 1 mm2 0.20 m
state riding {{ KEY on, KILL run, STAND up, engine running }}
"""
BOX = """unit BOX at tray for ignition {{
    supply 200 mA: 15 31
    input up {kind}: ST
    input neutral grounded: N
    output coil 6 A grounded clamped: C {when}
    {more}
}}"""


def bike(
    when: str, *, kind: str = "grounded", stand: str = "down: ; up: 1 2", far: str = "FRAME", more: str = ""
) -> str:
    return BIKE.format(stand=stand, far=far, box=BOX.format(kind=kind, when=when, more=more))


def told(of: str, rule: str = "stand-not-watched") -> list[str]:
    return [f.message for f in all_findings(of) if f.rule == rule]


@pytest.mark.parametrize(
    "of",
    [
        bike("when up"),
        bike("when up or neutral"),  # with the stand down it may run out of gear
        bike("when not up", stand="down: 1 2; up: "),  # a switch that closes with the stand down
        bike("when up", kind="fed", far="SP"),
        # Remembered: it dies when the stand comes down, and asks for the stand to be up to run again.
        bike("when ready", more="latch ready: set when up, cleared when not up"),
    ],
)
def test_a_box_that_fires_nothing_with_the_stand_down_watches_it(of: str) -> None:
    assert told(of) == []


@pytest.mark.parametrize(
    "of",
    [
        bike(""),  # the input is there, and nothing asks for it
        bike("when up or not up"),
        bike("when not up"),  # the wrong way round: it fires with the stand down only
        bike("when up", stand="down: 1 2; up: 1 2"),  # a contact that does not depend on the stand
        # Once set it stays: the stand that comes down later stops nothing.
        bike("when ready", more="latch ready: set when up, cleared when not up and neutral"),
    ],
)
def test_a_box_that_does_not_heed_it_is_told(of: str) -> None:
    (found,) = told(of)
    assert "stays live (" in found
    assert "stand down" in found
