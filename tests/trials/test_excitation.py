"""A machine that needs a first current through loads: it may charge wherever some comes, and must only where enough."""

from __future__ import annotations

from datetime import date

import pytest

from loomwright.checks.study import Study
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 6, 1)
MACHINE = """
loom "A lamp that only the machine feeds"
system 12 V negative ground
source BAT battery {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
fuse MAIN 20 A blade
switch KEY 10 A key {{ off: ; on: 30 15 }}
splice G
splice RUN
{machine}
load CHARGE lamp for charging {{ {charge}: 1 2 }}
load AUX lamp {{ bulb 5 W: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 red 4 mm2 0.2 m
wire 3 KEY.15 to CHARGE.1 red 1 mm2 0.2 m
wire 4 CHARGE.2 to {feed} brown 1 mm2 0.2 m
wire 5 {plus} to AUX.1 red 1 mm2 0.2 m
wire 6 AUX.2 to G black 1 mm2 0.2 m
wire 7 G to BAT.- black 6 mm2 0.2 m
expect whenever KEY on and engine running: AUX live
expect whenever engine off: AUX dead
expect whenever engine running: AUX dead
"""
"""`B+` goes to nothing but the lamp, so that it is live where the machine gives and nowhere else."""

PLAIN = """source ALT alternator for charging { output 200 W: B+ B-; field 6 ohm: D+ B-; regulated 14.2 V }
wire 8 ALT.B- to G black 4 mm2 0.2 m"""
TRIO = """source ALT alternator for charging { phases: U V W; field 6 ohm: DF 31 }
rectifier RECT 25 A for charging { phases: U V W; output 240 W: B+ B-; trio: D+ }
regulator REG 10 A for charging { passes: D+ DF; sense: D+ D-; regulated 14.2 V }
wire 8 ALT.U to RECT.U white 2.5 mm2 0.3 m
wire 9 ALT.V to RECT.V white 2.5 mm2 0.3 m
wire 10 ALT.W to RECT.W white 2.5 mm2 0.3 m
wire 11 RECT.B- to G black 4 mm2 0.2 m
wire 12 ALT.31 to G black 4 mm2 0.2 m
wire 13 RECT.D+ to REG.D+ brown 1 mm2 0.2 m
wire 14 REG.DF to ALT.DF brown 1 mm2 0.2 m
wire 15 REG.D- to G black 1 mm2 0.2 m"""


def ended(text: str) -> list[str]:
    """How the three claims end: it gives with the key on, nothing with the engine off, nothing while it runs."""
    reading = read_text(text, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return [claimed.proof.ended for claimed in Study(reading.harness, today=TODAY).properties.claims]


def plain(charge: str) -> str:
    return MACHINE.format(machine=PLAIN, charge=charge, feed="ALT.D+", plus="ALT.B+")


def trio(charge: str) -> str:
    return MACHINE.format(machine=TRIO, charge=charge, feed="RECT.D+", plus="RECT.B+")


def dynamo(charge: str) -> str:
    """Its field is fed by its own output: what magnetism is left in the iron starts it."""
    machine = """source DYN dynamo for charging { output 150 W: D E; field 4 ohm: F E }
regulator REG 12 A for charging { passes: D F; sense: D E; regulated 14.2 V }
wire 8 DYN.E to G black 4 mm2 0.2 m
wire 9 DYN.D to REG.D yellow 4 mm2 0.2 m
wire 10 REG.F to DYN.F green 2.5 mm2 0.2 m
wire 11 REG.E to G black 1 mm2 0.2 m"""
    return MACHINE.format(machine=machine, charge=charge, feed="REG.F", plus="REG.D")


def six_volts(charge: str) -> str:
    """The battery's + on the frame: current comes from the frame through the field, and back through the lamp."""
    machine = PLAIN.replace("14.2 V", "7.1 V")
    text = MACHINE.format(machine=machine, charge=charge, feed="ALT.D+", plus="ALT.B+")
    text = text.replace("12 V negative", "6 V positive").replace("12.6 V", "6.3 V")
    text = text.replace("BAT.+", "BAT.x").replace("BAT.-", "BAT.+").replace("BAT.x", "BAT.-")
    text = text.replace("output 200 W: B+ B-; field 6 ohm: D+ B-", "output 60 W: P N; field 3 ohm: P D")
    return text.replace("ALT.D+", "ALT.D").replace("ALT.B+", "ALT.N").replace("ALT.B-", "ALT.P")


FACES = [plain, trio, six_volts]


@pytest.mark.parametrize("face", [*FACES, dynamo])
def test_a_bulb_starts_the_machine_so_it_must_give(face) -> None:
    """3 W pass a quarter of an ampere and more, and a twentieth of the field's full current does."""
    assert ended(face("bulb 3 W tell-tale")) == ["holds", "holds", "refuted"]


@pytest.mark.parametrize("face", FACES)
def test_an_led_may_start_it_or_not(face) -> None:
    """Both ways: nobody may count on its charge, and nobody on its giving nothing."""
    assert ended(face("led 20 mA tell-tale")) == ["refuted", "holds", "refuted"]


def test_a_dynamo_whose_field_hangs_on_itself_needs_no_lamp() -> None:
    assert ended(dynamo("led 20 mA tell-tale")) == ["holds", "holds", "refuted"]


def test_a_resistor_beside_the_led_starts_it() -> None:
    """The near miss: 68 ohm pass what an old bulb did."""
    beside = """resistor BESIDE 68 ohm 5 W
wire 30 CHARGE.1 to BESIDE.1 red 1 mm2 0.1 m
wire 31 CHARGE.2 to BESIDE.2 red 1 mm2 0.1 m
expect whenever KEY on"""
    assert ended(plain("led 20 mA tell-tale").replace("expect whenever KEY on", beside))[0] == "holds"


def test_a_lamp_on_d_plus_takes_the_first_current_past_the_field() -> None:
    """A 3 W bulb in series with a heavy load beside the field: what is left for the field starts nothing."""
    beside = """load DRAIN heater { heat 120 W: 1 2 }
wire 30 ALT.D+ to DRAIN.1 red 1 mm2 0.1 m
wire 31 DRAIN.2 to G black 1 mm2 0.1 m
expect whenever KEY on"""
    assert ended(plain("bulb 3 W tell-tale"))[0] == "holds"
    assert ended(plain("bulb 3 W tell-tale").replace("expect whenever KEY on", beside))[0] == "refuted"


def test_a_field_joined_through_copper_needs_no_numbers() -> None:
    """A wire in place of the lamp: no charge lamp at all."""
    wire = "wire 30 KEY.15 to ALT.D+ red 1 mm2 0.1 m\nexpect whenever KEY on"
    assert ended(plain("led 20 mA tell-tale").replace("expect whenever KEY on", wire))[0] == "holds"


def test_an_ignition_that_lives_on_an_led_started_machine_runs_on() -> None:
    """The danger keeps its side: what may start the machine counts where the stop is asked for."""
    box = """load BOX ignition for ignition { feed 20 W: 15 31 }
wire 30 ALT.D+ to BOX.15 brown 1 mm2 0.1 m
wire 31 BOX.31 to G black 1 mm2 0.1 m
expect whenever KEY on"""
    text = plain("led 20 mA tell-tale").replace("expect whenever KEY on", box)
    [kill] = Study(read_text(text, "bike.loom").harness, today=TODAY).properties.kills
    assert (kill.proof.ended, kill.proof.by) == ("refuted", "machine")
