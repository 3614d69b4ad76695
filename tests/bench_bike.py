"""The least motorcycle that has a loom with everything a bench asks for: what the tests of several commands make."""

from __future__ import annotations

BENCH_BIKE = """loom "Bike"
place tray, bars
route tray bars 0.5 m
source BAT battery at tray { voltage 12.6 V }
ground FRAME at tray
fuse F 10 A blade at tray
switch S 5 A at bars { off: ; on: 1 2 }
connector C 2 ways 10 A at tray { face: 1 2 }
load L 21 W lamp at bars { lamp 21 W: 1 2 }
wire 1 BAT.+ to F.1 red 4 mm2 0.2 m
wire 2 F.2 to S.1 via C.1 red 1 mm2 0.5 m
wire 3 S.2 to L.1 yellow 1 mm2 0.2 m
wire 4 L.2 to FRAME via C.2 black 1 mm2 0.5 m
wire 5 BAT.- to FRAME black 4 mm2 0.2 m
ends BAT, FRAME stud M6
ends F, L, S tab 6.3 mm
ends C pin 1.5 mm
"""
