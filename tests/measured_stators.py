"""Motorcycles with a stator that was measured, three phases and one."""

from __future__ import annotations

THREE_PHASES = """
loom "A stator that was measured"
system 12 V negative ground
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source STATOR alternator { phases 0.2 ohm open 50 V short 18 A: U V W; speeds 30 % 150 % }
rectifier REC 35 A shunt { phases: U V W; output 250 W: B+ B-; regulated 14.4 V }
load HEAD lamp { dip 55 W: 1 2 }
load HOT heater { grips 60 W: 1 2 }
fuse MAIN 30 A blade
ground FRAME
wire 1 STATOR.U to REC.U yellow 2.5 mm2 0.5 m
wire 2 STATOR.V to REC.V yellow 2.5 mm2 0.5 m
wire 3 STATOR.W to REC.W yellow 2.5 mm2 0.5 m
wire 4 REC.B+ to MAIN.1 red 4 mm2 0.1 m
wire 5 MAIN.2 to BAT.+ red 4 mm2 0.1 m
wire 6 REC.B- to FRAME black 4 mm2 0.3 m
wire 7 BAT.- to FRAME black 4 mm2 0.3 m
wire 8 BAT.+ to HEAD.1 red 2.5 mm2 0.1 m
wire 9 HEAD.2 to FRAME black 2.5 mm2 0.3 m
wire 10 BAT.+ to HOT.1 red 2.5 mm2 0.1 m
wire 11 HOT.2 to FRAME black 2.5 mm2 0.3 m
state idling { engine idling }
state riding { engine running }
"""

SINGLE_PHASE = (
    THREE_PHASES.replace("phases 0.2 ohm open 50 V short 18 A: U V W", "phases 0.2 ohm open 30 V short 20 A: U V")
    .replace("phases: U V W", "phases: U V")
    .replace("wire 3 STATOR.W to REC.W yellow 2.5 mm2 0.5 m\n", "")
)
