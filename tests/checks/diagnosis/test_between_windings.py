"""What a meter shows between two points of a motorcycle whose windings drive lamps beside a battery: the mean, or the
rms, of what is between them, and no difference of two rms. Settled transients of ngspice judge.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ac_spice
import numpy as np
import pytest
from detectives import detective
from outside import require_tool

from loomwright.checks.ac.harmonics import harmonics, stack_of, stacked
from loomwright.checks.ac.wound_flow import WoundFlow
from loomwright.checks.dc.kron_reduction import stamp
from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import ObservationError, observations
from loomwright.checks.diagnosis.shown import AC, DC, ends
from loomwright.checks.fmea.failure_modes import Damage
from loomwright.checks.fmea.plain import struck
from loomwright.lang.circuit.ids import End
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"
MAGNETO = "small/six-volt-magneto"
DIM = {"flat-out": "HEAD.main dim, REAR.tail dim", "riding": "HEAD.dip dim, REAR.tail dim"}


def asked(state: str, *seen: str) -> Diagnosis:
    one = detective(MAGNETO, state)
    return one.inquire([each for text in seen for each in observations(text, one.places)])


def suspected(diagnosis: Diagnosis) -> set[str]:
    return {str(each) for each in diagnosis.suspects}


def flow_with(state: str, key: str, ohms: float) -> WoundFlow:
    """The magneto with some ohms too many in a branch; 0 ohm: sound."""
    one = detective(MAGNETO, state)
    point = one.point
    if ohms:
        branch = point.circuit.by_key[key]
        point = struck(one.ways.sweep.operation, point, Damage(resisting=((branch, ohms),)))
    assert isinstance(point.flow, WoundFlow)
    return point.flow


PAIRS = (("C-MAG.3s", "ENGINE"), ("ENGINE", "BAT.-"), ("MAG.61", "HEAD.31"), ("HEAD.31", "BAT.-"), ("D1.A", "D1.K"))


def end(text: str) -> End:
    part, _, terminal = text.partition(".")
    return End(part, terminal)


@pytest.mark.parametrize(
    ("state", "key", "ohms"),
    [("flat-out", "", 0.0), ("flat-out", "wire 3", 2.0), ("riding", "wire 3", 5.0), ("riding", "wire 18", 2.0)],
)
def test_the_simulator_measures_the_same_between_two_points(state: str, key: str, ohms: float) -> None:
    flow = flow_with(state, key, ohms)
    wound, lamps = flow.periodic.wound, flow.periodic.wound.slow.lamp_volts.size
    siemens = wound.siemens.copy()
    stamp(
        siemens,
        [(w.top, w.bottom, float(g)) for w, g in zip(wound.limiters, flow.periodic.siemens[lamps:], strict=True)],
    )
    index, recovery = flow.network.index, flow.network.reduction.recovery
    pairs = [(index[end(red)], index[end(black)]) for red, black in PAIRS]
    sums = [recovery[red] - recovery[black] for red, black in pairs]
    theirs = ac_spice.run(require_tool("ngspice"), replace(wound, siemens=siemens, limiters=()), sums)
    stack = stack_of(flow)
    for (red, black), (rms, mean) in zip(pairs, theirs.met, strict=True):
        assert float(ends(stack, red, black, AC)[1]) == pytest.approx(rms, rel=0.02, abs=0.02)
        assert float(ends(stack, red, black, DC)[0]) == pytest.approx(mean, rel=0.03, abs=0.02)


def test_a_bad_strap_adds_to_the_charging_lead_against_the_engine() -> None:
    """Not the difference of what both have against the battery: 14.3 V at 2 ohm, 16.7 at 5, where 7.9 is sound."""
    shown = []
    for ohms in (0.0, 2.0, 5.0):
        flow = flow_with("flat-out", "wire 3", ohms)
        stack = stack_of(flow)
        index = flow.network.index
        shown.append(float(ends(stack, index[end("C-MAG.3s")], index[end("ENGINE")], AC)[0]))
    assert shown == pytest.approx([7.89, 14.3, 16.7], abs=0.1)


@pytest.mark.parametrize("reading", ["14.3 V from C-MAG.3s to ENGINE", "14.3 V AC from C-MAG.3s to ENGINE"])
def test_the_true_reading_keeps_the_strap(reading: str) -> None:
    found = asked("flat-out", DIM["flat-out"], reading)
    assert not found.partial
    assert "wire 3 high resistance" in suspected(found)


@pytest.mark.parametrize("state", ["flat-out", "riding"])
def test_a_lead_of_the_battery_dims_no_lamp_on_the_winding(state: str) -> None:
    found = suspected(asked(state, DIM[state]))
    assert "wire 3 high resistance" in found
    assert not any("wire 18" in each or "wire 17 high" in each for each in found)


def test_nothing_is_predicted_below_zero_on_alternating_volts() -> None:
    for state, seen in DIM.items():
        told = asked(state, seen).next
        assert told is not None
        assert not told.alternating or all((row.least or 0.0) >= 0.0 for row in told.expected)


def test_the_engine_is_read_against_the_battery_on_alternating_volts() -> None:
    """The mean hardly moves, 0.14 V; what swings is 1 V and more, and tells the strap for certain."""
    said = inquiry_text(asked("riding", DIM["riding"]), detective(MAGNETO, "riding").point.circuit.harness, "riding")
    assert (
        "  meter  AC volts, range 20 V\n  red    ENGINE (ground at engine)\n  black  BAT.- (source at saddle)\n" in said
    )
    assert 'ask again:\n  --seen "X V AC at ENGINE"\n' in said
    left = asked("riding", DIM["riding"], "3 V AC at ENGINE")
    assert suspected(left) == {"wire 3 high resistance"}


def test_a_true_mean_below_zero_is_no_slip() -> None:
    """ngspice has -0.14 V there with 5 ohm in the strap."""
    left = asked("riding", DIM["riding"], "-0.14 V DC at ENGINE")
    assert not left.partial
    assert suspected(left) == {"wire 3 high resistance"}


def test_a_mean_that_no_fault_makes_convicts_nothing() -> None:
    found = asked("riding", DIM["riding"], "1.5 V DC at ENGINE")
    assert found.partial


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("-3 V DC at ENGINE", "is below zero, and no single fault explains that there"),
        ("-1 V AC at ENGINE", "is below zero, and AC volts never are: write DC, or leave the sign out"),
        ("30 V AC at ENGINE", "is more than there is in riding, "),
        ("14 V DC at BAT.+", "is more than there is in riding, "),
    ],
)
def test_what_cannot_be_is_refused(reading: str, said: str) -> None:
    with pytest.raises(ObservationError, match=said):
        asked("riding", DIM["riding"], reading)


def test_alternating_volts_are_refused_where_nothing_turns() -> None:
    with pytest.raises(ObservationError) as refused:
        asked("stopped", "1 V AC at PARK.58")
    assert str(refused.value) == (
        "1 V AC at PARK.58: in stopped nothing is worked out that alternates; set the meter to DC volts and read again"
    )


def test_harmonics_keep_what_swings() -> None:
    """By hand: a sine of 2 V peak on 3 V, and a square wave of 1 V, of which the first sixteen are 98 % of the rms."""
    turn = 2.0 * np.pi * np.arange(240) / 240
    waves = np.array([3.0 + 2.0 * np.sin(turn), np.where(turn < np.pi, 1.0, -1.0), np.zeros(240)]).T
    stack = stacked(waves.mean(axis=0), harmonics(waves), 32)
    assert float(ends(stack, 0, 2, DC)[0]) == pytest.approx(3.0)
    assert [float(each) for each in ends(stack, 0, 2, AC)] == pytest.approx([2.0**0.5, 11.0**0.5])
    assert float(ends(stack, 1, 2, AC)[0]) == pytest.approx(0.987, abs=1e-3)
    few = np.array([np.sin(2.0 * np.pi * np.arange(12) / 12), np.cos(np.pi * np.arange(12))]).T
    stack = stacked(few.mean(axis=0), np.asarray(harmonics(few)), 32)
    assert float(ends(stack, 0, 1, AC)[0]) == pytest.approx(1.5**0.5)
