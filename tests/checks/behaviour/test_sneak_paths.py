"""What comes through other loads is judged at its worst: what could bleed it away is open, wherever it rests."""

from __future__ import annotations

from datetime import date

from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 1, 1)

# D+ feeds the charge lamp backwards into the ignition once the key is off. By hand, 14.2 V: the 3 W lamp (61 ohm at
# 13.5 V) before a box of 20 ohm (6 V / 0.3 A) leaves some 3.8 V, more than 25 % of 12 V. With the oil lamp (2 W) beside
# the box it is less than 3 V; but its switch opens as soon as the engine runs.
RUN_ON = """
loom "Charge lamp without its diode"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source GEN alternator at tray for charging { output 180 W: B+ B-; field 6 ohm: D+ B-; regulated 14.2 V; idle 80 W }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { off: ; on: 1 2 }
unit BOX at tray for ignition { supply 0.3 A: 15 31 }
load WARN lamp at tray { charge 3 W tell-tale: 15 D+; oil 2 W tell-tale: 15 OIL }
switch OIL 2 A senses oil-pressure at tray { low: 1 2; good: }
mount OIL.2 to FRAME
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.1 red 2 mm2 0.1 m
wire 3 GEN.B+ to MAIN.2 red 2 mm2 0.2 m
wire 4 GEN.B- to FRAME black 2 mm2 0.1 m
wire 5 KEY.2 to BOX.15 orange 2 mm2 0.1 m
wire 6 BOX.31 to FRAME black 2 mm2 0.1 m
wire 7 KEY.2 to WARN.15 orange 2 mm2 0.1 m
wire 8 WARN.D+ to GEN.D+ brown 2 mm2 0.2 m
wire 9 WARN.OIL to OIL.1 grey 2 mm2 0.2 m
wire 10 BAT.- to FRAME black 6 mm2 0.2 m
"""
WITH_DIODE = (
    RUN_ON.replace("wire 7 KEY.2 to WARN.15", "wire 7 KEY.2 to WARN.A")
    .replace("tell-tale: 15 D+; oil 2 W tell-tale: 15 OIL", "tell-tale: K D+; oil 2 W tell-tale: A OIL")
    .replace("wire 8", "diode D1 1 A at tray\nwire 11 WARN.A to D1.A orange 2 mm2 0.1 m\nwire 8")
    .replace("wire 8", "wire 12 D1.K to WARN.K brown 2 mm2 0.1 m\nwire 8")
)


def rules(text: str) -> set[str]:
    reading = read_text(text, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return {finding.rule for finding in check(reading, today=TODAY).findings}


def test_a_load_that_bleeds_only_at_rest_does_not_excuse_a_run_on() -> None:
    assert "run-on" in rules(RUN_ON)


def test_a_diode_before_the_charge_lamp_ends_it() -> None:
    assert rules(WITH_DIODE) & {"run-on", "no-kill-path", "undecided-path"} == set()
