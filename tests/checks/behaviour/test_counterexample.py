"""In which words a finding says with which controls it is so."""

from __future__ import annotations

from checked_text import findings

from loomwright.lang.diagnostics.messages import plainly_listed

BIKE = """loom "Where the circumstances go"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch KEY 15 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
switch KILL 6 A at tray for ignition { run: 1 2; stop: }
switch LIGHT 6 A at tray { off: ; on: 1 2 }
load COIL ignition at tray for ignition { primary 3.4 ohm duty 30 %: 15 1 }
switch POINTS 5 A senses crank at tray for ignition { open: ; closed: 1 2 }
mount POINTS.2 to FRAME
load LAMP lamp at tray for instruments { warn 7.3 W: 1 2 }
wire m1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire m2 MAIN.2 to KEY.30 red/white 2.5 mm2 0.30 m
wire m3 BAT.- to FRAME black 6 mm2 0.20 m
wire 1 KEY.15 to KILL.1 orange 1 mm2 0.2 m
wire 2 KILL.2 to COIL.15 yellow 1 mm2 0.2 m
wire 7 COIL.1 to POINTS.1 blue/black 2.5 mm2 0.2 m
wire 8 KEY.15 to LIGHT.1 orange 1 mm2 0.2 m
wire 8b LIGHT.2 to LAMP.1 orange 1 mm2 0.2 m
wire 9 LAMP.2 to COIL.15 yellow 1 mm2 0.2 m
"""


def test_circumstances_stand_beside_what_they_are_about() -> None:
    (told,) = findings("floating-ground", BIKE, bench=False)
    assert told.message == (
        "LAMP.warn is fed and has no ground return (KEY on and KILL run): its current returns through other loads"
    )


def test_several_controls_are_listed_with_one_and() -> None:
    assert plainly_listed(["KEY on"]) == "KEY on"
    assert plainly_listed(["KEY on", "KILL stop"]) == "KEY on and KILL stop"
    assert plainly_listed(["KEY on", "KILL stop", "LIGHT on"]) == "KEY on, KILL stop and LIGHT on"
    assert plainly_listed([]) == ""
