"""What a meter would show: figures worked out by hand, and resistances against scipy's own solution of the network."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.meter import Kind, Meter, Setup
from loomwright.checks.meter.resistances import resistances_between
from loomwright.checks.tables.meter import meter_figures
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BIKE = """loom "Bench"
source BAT battery at tray
source ALT alternator at tray { phases: U V W; field 6 ohm: DF 31 }
rectifier RECT 25 A at tray { phases: U V W; output 220 W: B+ B- }
ground FRAME at tray
ground ENGINE at tray
place tray
fuse MAIN 15 A at tray
switch KEY 10 A key at tray { off: ; on: 30 15; park: 30 58 }
load HEAD lamp at tray { dip 55 W lamp: 56b 31; main 60 W lamp: 56a 31 }
load COIL ignition at tray { primary 4.2 ohm: 15 1 }
diode D 3 A at tray
sensor PICK at tray { signal 210 ohm: 1 2 }
relay K 30 A at tray { coil 85 ohm: 86 85; released: 30 87a; pulled: 30 87 }
unit BOX at tray { supply 100 mA: 15 31; input a grounded: A; output o 5 A: O when a }
flasher FLASH 42 W thermal at tray { flash: 49 49a }
capacitor COND 0.2 uF at tray
connector C1 2 ways at tray
mount ALT.31 to ENGINE
mount ENGINE to FRAME
mount COND.- to FRAME through paint
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 1 m
wire 2 MAIN.2 to KEY.30 via C1.1 red 2.5 mm2 1 m
wire 3 KEY.15 to HEAD.56b yellow 1.5 mm2 1 m
wire 4 HEAD.31 to FRAME via C1.2 black 1.5 mm2 1 m
wire 5 KEY.58 to D.A violet 1 mm2 1 m
wire 6 D.K to BOX.15 violet 1 mm2 1 m
wire 7 ALT.U to RECT.U green 1.5 mm2 1 m
wire 8 RECT.B+ to K.30 brown 1.5 mm2 1 m
"""


def meter(**setup: object) -> Meter:
    reading = read_text(BIKE)
    assert not reading.mistakes, reading.mistakes
    return Meter(build_circuit(reading.harness), Setup(**setup))  # type: ignore[arg-type]


IN = {"apart": frozenset(), "parts_in": True}


def test_all_apart_and_parts_out_a_beep_is_copper() -> None:
    apart = meter()
    assert apart.between("BAT.+", "MAIN.2").kind is Kind.COPPER  # the fuse stays in
    assert apart.between("MAIN.2", "C1.1s").kind is Kind.COPPER
    assert apart.between("C1.1s", "C1.1p").kind is Kind.OPEN
    assert apart.between("HEAD.56b", "HEAD.31").kind is Kind.OPEN
    assert apart.between("D.A", "D.K").kind is Kind.OPEN
    assert apart.between("ENGINE", "FRAME").kind is Kind.COPPER
    assert apart.between("ALT.31", "FRAME").kind is Kind.OPEN


def test_a_switch_that_a_position_names_is_in() -> None:
    assert meter(positions=(("KEY", "on"),)).between("KEY.30", "HEAD.56b").kind is Kind.COPPER
    assert meter(positions=(("KEY", "park"),)).between("KEY.30", "HEAD.56b").kind is Kind.OPEN
    assert meter(positions=(("KEY", "on"),)).between("HEAD.56b", "HEAD.31").kind is Kind.OPEN


def test_parts_that_are_in_show_their_resistance() -> None:
    there = meter(**IN)
    # 12 V squared over 55 W is 2.62 ohm hot, a tenth of that cold.
    dip = there.between("HEAD.56b", "HEAD.31")
    assert (dip.low, dip.high) == (pytest.approx(0.1 * 12.0**2 / 55), pytest.approx(0.1 * 12.0**2 / 55))
    assert there.between("COIL.15", "COIL.1").low == pytest.approx(4.2)
    assert there.between("PICK.1", "PICK.2").high == pytest.approx(210.0)
    assert there.between("ALT.DF", "FRAME").low == pytest.approx(6.0)  # through the mounts of alternator and engine
    both = there.between("HEAD.56b", "HEAD.56a")
    assert both.low == pytest.approx(0.1 * 12.0**2 * (1 / 55 + 1 / 60))
    assert there.between("K.30", "K.87a").kind is Kind.COPPER
    assert there.between("K.30", "K.87").kind is Kind.OPEN
    assert there.between("C1.1s", "C1.1p").kind is Kind.COPPER
    assert there.between("COND.+", "COND.-").kind is Kind.OPEN


def test_diodes_show_one_way() -> None:
    there = meter(**IN)
    assert there.between("D.A", "D.K").kind is Kind.ONE_WAY
    assert (there.between("D.A", "D.K").forward, there.between("D.A", "D.K").backward) == (True, False)
    assert there.between("RECT.B-", "RECT.B+").forward is True
    assert there.between("RECT.U", "RECT.B+").forward is True
    assert there.between("RECT.B+", "RECT.U").forward is False


def test_phases_are_low_and_boxes_unknown_but_never_low() -> None:
    there = meter(**IN)
    assert there.between("ALT.U", "ALT.W").high <= 2 * meter_figures().winding_most
    for other in ("31", "A", "O"):
        shown = there.between("BOX.15", f"BOX.{other}")
        assert shown.kind is Kind.UNKNOWN
        assert shown.low == pytest.approx(meter_figures().box_least)
    assert there.between("FLASH.49", "FLASH.49a").kind is Kind.UNKNOWN
    assert there.between("COND.-", "FRAME").kind is Kind.UNKNOWN  # a mount through paint


def test_an_led_never_beeps_and_is_not_open_for_sure() -> None:
    """No drawing tells which current passes its series resistor and its own electronics at the voltage of a meter."""
    text = BIKE + "load TELL led at tray { charge 0.3 W tell-tale: 1 2 }\nwire 9 TELL.1 to KEY.15 white 1 mm2 1 m\n"
    shown = Meter(build_circuit(read_text(text, "bike.loom").harness), Setup(**IN)).between("TELL.1", "TELL.2")
    assert shown.kind is Kind.UNKNOWN
    assert (shown.low, shown.high) == (pytest.approx(meter_figures().box_least), math.inf)


MAGNETO = """loom "Magnetos"
use magnetos
load POINTS at here as magneto-points
load LEAD ignition at here for ignition { stop-lead: K 31 }
load CDI electronics at here { box 1 W: A 31 }
ground ENGINE at here
place here
switch STOP 2 A at here { run: ; stop: 1 2 }
mount POINTS.31 to ENGINE
mount LEAD.31 to ENGINE
mount CDI.31 to ENGINE
wire 1 POINTS.P to STOP.1 black 1 mm2 0.2 m
wire 2 STOP.2 to ENGINE black 1 mm2 0.2 m
"""


@pytest.mark.parametrize(("lead", "least"), [("POINTS.P", 0.01), ("LEAD.K", 0.01), ("CDI.A", 10.0)])
def test_behind_a_stop_lead_may_be_a_primary_and_a_box_is_grounded_by_its_mount(lead: str, least: float) -> None:
    """A magneto's primary has less than 1 ohm and its points are closed half of the time: nobody calls that open."""
    there = Meter(build_circuit(read_text(MAGNETO, "bike.loom").harness), Setup(**IN))
    shown = there.between(lead, "ENGINE")
    assert shown.kind is Kind.UNKNOWN
    assert shown.low <= least * (1.0 + 1e-9)


def test_what_is_opened_or_clipped() -> None:
    assert meter(**IN, opened=frozenset({"4"})).between("HEAD.31", "FRAME").kind is Kind.OPEN
    assert meter(**IN, fuses_in=False).between("MAIN.1", "MAIN.2").kind is Kind.OPEN
    assert meter(clipped=(("BAT.-", "FRAME"),)).between("BAT.-", "ENGINE").kind is Kind.COPPER


def test_a_beep_by_its_limit() -> None:
    there, known = meter(**IN), meter_figures()
    beeps = there.beeps(30.0)
    net = there.net

    def share(a: str, b: str) -> float:
        i, j = net(a), net(b)
        assert i is not None
        assert j is not None
        return float(beeps[i, j])

    assert share("COIL.15", "COIL.1") == pytest.approx(1 - known.wrong)  # 4.2 ohm: under a third of 30
    assert share("PICK.1", "PICK.2") == pytest.approx(known.wrong)  # 210 ohm: over three times 30
    assert share("K.86", "K.85") == pytest.approx(known.border_beeps)  # 85 ohm lies between
    assert share("D.A", "D.K") == pytest.approx(known.wrong)  # a diode is silent both ways
    assert share("BOX.15", "BOX.31") == pytest.approx(known.unknown_beeps)
    # A lamp is dead with 10 %, so that a beep through it is less sure than one through copper.
    assert share("HEAD.56b", "HEAD.31") == pytest.approx(0.9 * (1 - known.wrong) + 0.1 * known.wrong)
    assert share("MAIN.1", "MAIN.2") == pytest.approx(0.95 * (1 - known.wrong) + 0.05 * known.wrong)
    assert np.array_equal(beeps, beeps.T)


def test_a_resistance_is_most_probable_where_it_is_expected() -> None:
    there = meter(**IN)
    i, j = there.net("PICK.1"), there.net("PICK.2")
    likelihoods = [float(there.reads(ohms)[i, j]) for ohms in (20.0, 150.0, 210.0, 300.0, 2000.0)]  # type: ignore[index]
    assert likelihoods.index(max(likelihoods)) == 2
    assert likelihoods[0] < 0.1 * likelihoods[2]


@given(
    st.integers(2, 8).flatmap(
        lambda n: st.tuples(
            st.just(n),
            st.lists(
                st.tuples(
                    st.integers(0, n - 1), st.integers(0, n - 1), st.sampled_from([0.0, 0.3, 2.0, 47.0, math.inf])
                ),
                max_size=14,
            ),
        )
    )
)
def test_resistances_are_those_of_solved_currents(network: tuple[int, list[tuple[int, int, float]]]) -> None:
    """One ampere from node to node, by least squares over the Laplacian: the volts are the ohms. 0 ohm is 1 uohm."""
    count, edges = network
    found = resistances_between(count, edges)
    laplacian = np.zeros((count, count))
    for a, b, ohms in edges:
        if a != b and not math.isinf(ohms):
            siemens = 1.0 / (ohms or 1e-6)
            laplacian[a, a] += siemens
            laplacian[b, b] += siemens
            laplacian[a, b] -= siemens
            laplacian[b, a] -= siemens
    for a in range(count):
        for b in range(count):
            current = np.zeros(count)
            current[a] += 1.0
            current[b] -= 1.0
            volts = np.linalg.lstsq(laplacian, current, rcond=1e-13)[0]
            reached = np.allclose(laplacian @ volts, current, atol=1e-4)
            if not reached:
                assert math.isinf(found[a, b])
            else:
                assert found[a, b] == pytest.approx(volts[a] - volts[b], rel=1e-4, abs=1e-4)
