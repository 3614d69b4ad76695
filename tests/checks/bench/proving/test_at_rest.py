"""Battery off: rows are few, hold what ngspice shows of a sound motorcycle, and show the faults that they claim."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from outside import require_tool
from random_surveys import Known, ohms_by_spice, random_survey

from loomwright.checks.bench.proving.at_rest import AtRest, Setting
from loomwright.checks.bench.proving.phases import unlike
from loomwright.checks.bench.proving.plan import Proof
from loomwright.checks.meter import Kind, Setup
from loomwright.lang.circuit.ids import End
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.bench.prove_words import expected_words

SPECS = Path(__file__).resolve().parents[4] / "specs"
DEMONSTRATIONS = ("rebuild.loom", "stock.loom")
SMALL = sorted(path.name for path in (SPECS / "small").glob("*.loom"))


@cache
def proof(name: str) -> Proof:
    return Proof(read_file(str(SPECS / name)).harness)


def setup(at_rest: AtRest, sheet: str, opened: str = "") -> Setup:
    """A row's setting for the simulator."""
    setting = next(each for each in at_rest.settings if at_rest.said(each) == sheet)
    return Setup(
        apart=frozenset(), parts_in=True, fuses_in=False, positions=setting.positions,
        opened=frozenset((*setting.out, *([opened] if opened else []))),
    )  # fmt: skip


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_the_limits_are_kept_and_every_open_is_shown_by_this_or_by_first_power(name: str) -> None:
    known = proof(name)
    rows = known.at_rest.rows
    assert len(rows) <= 60
    assert len({row.sheet for row in rows}) <= 15
    assert known.at_rest.cover.bound <= len(rows)
    assert known.untold == ()
    motorcycle = known.first_power.motorcycle
    opens = {branch.key for branch in motorcycle.faults}
    here = {fault.open for i, fault in enumerate(known.at_rest.faults) if i not in known.at_rest.cover.missed}
    assert opens <= known.first_power.shown | here
    pinched = [fault for fault in known.at_rest.faults if fault.pinched is not None]
    assert len(pinched) >= 25
    missed = [fault for fault in known.at_rest.missed if fault.pinched is not None]
    assert len(missed) <= 0.05 * len(pinched)


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_rows_hold_what_ngspice_shows_of_a_sound_and_of_a_faulty_motorcycle(name: str) -> None:
    program = require_tool("ngspice")
    at_rest = proof(name).at_rest
    known: Known = random_survey(at_rest.harness, 1)
    rows = [row for row in at_rest.rows if row.expected.way == "ohms"]
    tried = set()
    for row in random.Random(name).sample(rows, 12):
        shown = ohms_by_spice(program, known, setup(at_rest, row.sheet), row.red, row.black)
        # ngspice has a filament at its cold 1/13.7, we at 1/10 and a factor: a figure between may be off by so much.
        assert row.expected.fits(shown) or (row.expected.most and 1.0 < row.expected.most < 3.0), (row, shown)
        for words in row.about[:1]:
            fault = next(each for each in at_rest.faults if each.words == words)
            tried.add("open" if fault.open else "pinched")
            if fault.open:
                faulty = ohms_by_spice(program, known, setup(at_rest, row.sheet, fault.open), row.red, row.black)
            else:
                hurt = random_survey(at_rest.harness, 1)
                hurt.circuit = hurt.circuit.damaged((), str(fault.pinched))
                faulty = ohms_by_spice(program, hurt, setup(at_rest, row.sheet), row.red, row.black)
            assert not row.expected.fits(faulty), (row, words, faulty)
    assert tried == {"open", "pinched"}


@pytest.mark.parametrize("name", [f"small/{name}" for name in SMALL])
def test_what_nothing_tells_is_listed(name: str) -> None:
    """A condenser shows in no resistance: its mount, and nothing else, stays untold on a motorcycle with points."""
    told = {
        "small/capacitor-single.loom": ("open: wire 4",),
        "small/electric-start.loom": (),
        "small/magneto-single.loom": ("pinched to ground: MAG.59",),
        "small/permanent-magnet-twin.loom": (),
        "small/points-single.loom": ("open: mount COND.-",),
        "small/six-volt-dynamo.loom": ("open: mount COND.+",),
        "small/trail-bike.loom": ("pinched to ground: MAG.59",),
        "small/six-volt-magneto.loom": (),
    }
    assert proof(name).untold == told[name]


def test_no_probe_goes_to_a_buried_splice_a_soldered_joint_or_into_a_plug() -> None:
    for name in DEMONSTRATIONS:
        at_rest = proof(name).at_rest
        for row in at_rest.rows:
            for end in (row.red, row.black):
                assert at_rest.harness.parts[end.partition(".")[0]].kind not in ("splice", "connector"), row
    assert "R-FIELD.1" not in {end for row in proof("rebuild.loom").at_rest.rows for end in (row.red, row.black)}


def test_each_ground_is_under_half_an_ohm_from_the_battery() -> None:
    at_rest = proof("rebuild.loom").at_rest
    grounds = {
        row.red: row.expected.most for row in at_rest.rows if row.expected.least is None and row.black == "BAT.-"
    }
    for end in ("CTRL.31", "POS.31", "PLATE.31", "STARTER-RELAY.87", "RECT.B-"):
        assert grounds[end] == 0.5


DIODE = """loom "A diode"
place here
source BAT battery at here { voltage 12.6 V }
ground FRAME at here
diode D 3 A at here
switch S 5 A at here { off: ; on: 1 2 }
load L 5 W lamp at here { lamp 5 W: 1 2 }
wire 1 BAT.+ to S.1 red 1 mm2 0.2 m
wire 2 S.2 to D.A red 1 mm2 0.2 m
wire 3 D.K to L.1 red 1 mm2 0.2 m
wire 4 L.2 to FRAME black 1 mm2 0.2 m
wire 5 BAT.- to FRAME black 4 mm2 0.2 m
"""


def test_a_diode_is_measured_both_ways_at_the_nearest_ends() -> None:
    known = Proof(read_text(DIODE, "diode.loom").harness)
    (row,) = [row for row in known.at_rest.rows if row.expected.way == "diode"]
    assert (row.red, row.black) == ("S.2", "L.1")
    parallel = (
        DIODE + "resistor R 10 ohm at here\nwire 6 D.A to R.1 red 1 mm2 0.1 m\nwire 7 D.K to R.2 red 1 mm2 0.1 m\n"
    )
    other = Proof(read_text(parallel, "diode.loom").harness)
    assert "diode: D" in other.untold  # 10 ohm beside it show both ways


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_a_diode_row_is_of_a_setting_in_which_an_open_diode_shows(name: str) -> None:
    """Past the oil lamp, the ground and the diodes of the rectifier the meter would show one way without D-CHG, too."""
    at_rest = proof(name).at_rest
    row = next(row for row in at_rest.rows if any(words.startswith("D-CHG") for words in row.about))
    assert row.sheet.startswith("RECT, REG, IGN")
    for row in at_rest.rows:
        if row.expected.way == "diode":
            diode = row.about[0].partition(" ")[0]
            setting = next(each for each in at_rest.settings if at_rest.said(each) == row.sheet)
            a, b = (End(*end.partition(".")[::2]) for end in (row.red, row.black))
            assert at_rest.meter(setting).between(a, b).kind is Kind.ONE_WAY
            lacking = replace(setting, out=(*setting.out, diode))
            assert at_rest.meter(lacking).between(a, b).kind is Kind.OPEN, row


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_every_pair_of_phases_is_measured_and_reads_alike(name: str) -> None:
    """The rebuild keeps the stock motorcycle's alternator: one limit for both. A star of 3 ohm phases has 6 ohm."""
    rows = [row for row in proof(name).at_rest.rows if row.expected.alike]
    assert {(row.red, row.black) for row in rows} == {("RECT.U", "RECT.V"), ("RECT.U", "RECT.W"), ("RECT.V", "RECT.W")}
    assert {row.expected.alike for row in rows} == {"ALT"}
    assert {expected_words(row.expected) for row in rows} == {"under 9 ohm, all pairs alike within 0.2 ohm"}
    assert unlike({row.number: (row, ohms) for row, ohms in zip(rows, (0.5, 0.6, 0.7), strict=True)}) == frozenset()
    turned = {row.number: (row, ohms) for row, ohms in zip(rows, (0.5, 0.6, 0.8), strict=True)}
    assert unlike(turned) == {row.number for row in rows}


def test_a_setting_says_what_is_unplugged_and_how_the_controls_stand() -> None:
    at_rest = proof("rebuild.loom").at_rest
    assert at_rest.said(Setting((("KEY", "on"),), ("CTRL",))) == "CTRL unplugged, in gear, KEY on"
    assert at_rest.said(Setting((), ("STARTER",))) == "cable off STARTER, in gear, every other control at rest"
    assert at_rest.said(Setting()) == "all plugged in, in gear, every other control at rest"
    assert at_rest.said(Setting((("gearbox", "neutral"),))) == "all plugged in, in neutral, every other control at rest"
    assert proof("small/magneto-single.loom").at_rest.said(Setting()) == "all plugged in, every control at rest"
