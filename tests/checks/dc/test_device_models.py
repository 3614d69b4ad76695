"""The laws: through the rated point, always rising, one after another the same as many at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.dc import device_models as laws
from loomwright.checks.dc.device_models import Curve, DeviceBank

POSITIVE = st.floats(0.01, 150.0)
CURVES: dict[str, Curve] = {
    "resistor": laws.resistor(4.0),
    "lamp": laws.lamp(21.0, 13.5),
    "motor": laws.saturating(110.0, 12.0, 0.7),
    "electronics": laws.saturating(0.3, 12.0, 0.5, one_way=True),
    "led": laws.led(0.25, 12.0, 0.40, 0.65),
    "diode": laws.diode(0.7, 0.05),
    "output": laws.one_way(100.0),
    "battery": laws.battery(12.6, 0.015, 0.7, 14.2),
    "machine": laws.machine(14.2, 20.0, 1e-4),
}
VOLTS = st.floats(-30.0, 30.0)


@pytest.mark.parametrize("name", CURVES)
@given(a=VOLTS, b=VOLTS)
def test_every_law_rises(name: str, a: float, b: float) -> None:
    low, high = sorted((a, b))
    curve = CURVES[name]
    assert curve.amps(high) >= curve.amps(low) - 1e-9
    if high - low > 1e-3:
        assert curve.amps(high) > curve.amps(low)


@pytest.mark.parametrize("name", CURVES)
@given(volts=VOLTS)
def test_no_law_jumps(name: str, volts: float) -> None:
    """Steepest of all here is the machine, 10,000 S."""
    assert CURVES[name].amps(volts + 1e-7) - CURVES[name].amps(volts) < 1e-7 * 2e4


@given(watts=POSITIVE)
def test_lamp_takes_its_watts_at_its_volts_and_goes_with_the_root(watts: float) -> None:
    """Current to the 0.55 (Standard Handbook for Electrical Engineers); 13.7 times as much conductance when cold."""
    lamp = laws.lamp(watts, 13.5)
    assert lamp.amps(13.5) == pytest.approx(watts / 13.5)
    assert lamp.amps(6.75) / lamp.amps(13.5) == pytest.approx(0.5**0.55)
    assert lamp.amps(-6.75) == -lamp.amps(6.75)
    assert lamp.amps(1e-4) / 1e-4 == pytest.approx(13.7 * watts / 13.5**2)


@given(amps=POSITIVE)
def test_motor_is_a_resistor_up_to_its_knee_and_then_hardly_rises(amps: float) -> None:
    motor = laws.saturating(amps, 12.0, 0.7)
    assert motor.amps(8.4) == pytest.approx(amps)
    assert motor.amps(4.2) == pytest.approx(amps / 2)
    assert motor.amps(12.0) == pytest.approx(amps * (1 + 0.01 * 3.6 / 12.0))
    assert motor.amps(-12.0) == pytest.approx(-motor.amps(12.0))


@given(amps=st.floats(0.01, 5.0))
def test_led_is_dark_below_its_threshold_and_blocks_backwards(amps: float) -> None:
    led = laws.led(amps, 12.0, 0.40, 0.65)
    assert led.amps(4.8) < 0.02 * amps  # its dead share
    assert led.amps(7.8) == pytest.approx(amps)
    assert led.amps(14.0) == pytest.approx(amps, rel=0.01)
    assert abs(led.amps(-14.0)) < 1e-5


def test_diode_has_its_threshold() -> None:
    diode = laws.diode(0.7, 0.05)
    assert diode.amps(0.75) == pytest.approx(1.0, rel=1e-3)
    assert abs(diode.amps(0.69)) < 1e-6
    assert abs(diode.amps(-14.0)) < 1e-5


def test_battery_gives_behind_its_resistance_and_takes_a_twentieth_of_its_capacity() -> None:
    """14 Ah: 0.7 A at 14.2 V; 100 A out of 15 mohm leave 11.1 V."""
    battery = laws.battery(12.6, 0.015, 0.05 * 14, 14.2)
    assert battery.amps(12.6) == pytest.approx(0.0, abs=1e-9)
    assert battery.amps(11.1) == pytest.approx(-100.0)
    assert battery.amps(14.2) == pytest.approx(0.7)


def test_machine_holds_its_volts_up_to_its_limit_and_swallows_nothing() -> None:
    machine = laws.machine(14.2, 20.0, 1e-4)
    assert machine.amps(14.2) == pytest.approx(0.0, abs=1e-9)
    assert machine.amps(14.199) == pytest.approx(-10.0, rel=0.01)
    assert -machine.amps(12.0) == pytest.approx(20.0, rel=0.01)
    assert -machine.amps(0.0) == pytest.approx(20.0, rel=0.02)
    assert machine.amps(16.0) < 1e-6


@given(st.lists(VOLTS, min_size=len(CURVES), max_size=len(CURVES)))
def test_many_laws_at_once_are_the_single_ones(volts: list[float]) -> None:
    bank = DeviceBank(list(CURVES.values()))
    at = np.array(volts)
    amps, slopes = bank.both(at)
    for i, curve in enumerate(CURVES.values()):
        assert amps[i] == pytest.approx(curve.amps(volts[i]), rel=1e-9, abs=1e-9)
    rows, row_slopes = bank.many(np.array([volts, volts]))
    assert rows[1] == pytest.approx(amps)
    assert row_slopes[0] == pytest.approx(slopes)


@given(VOLTS, st.floats(10.0, 16.0))
def test_a_machine_held_at_other_volts_is_the_same_law_further_along(volts: float, held: float) -> None:
    curves = list(CURVES.values())
    along = np.zeros(len(curves))
    along[list(CURVES).index("machine")] = held - 14.2
    bank = DeviceBank(curves).moved(along)
    at = np.full(len(curves), volts)
    assert bank.amps(at) == pytest.approx(DeviceBank(curves).amps(at - along))
    assert bank.many(np.array([at]))[0][0] == pytest.approx(bank.amps(at))


@given(st.lists(VOLTS, min_size=len(CURVES), max_size=len(CURVES)), st.data())
def test_some_laws_of_many_are_these_laws(volts: list[float], data: st.DataObject) -> None:
    places = np.array(data.draw(st.lists(st.integers(0, len(CURVES) - 1), unique=True)), dtype=np.intp)
    at = np.array(volts)
    bank = DeviceBank(list(CURVES.values())).moved(0.1 * at)
    amps, slopes = bank.both(at)
    some, some_slopes = bank.chosen(places).both(at[places])
    assert (some == amps[places]).all()
    assert (some_slopes == slopes[places]).all()


@given(
    st.lists(VOLTS, min_size=len(CURVES) - 1, max_size=len(CURVES) - 1),
    st.lists(VOLTS, min_size=len(CURVES) - 1, max_size=len(CURVES) - 1),
    st.floats(0.0, 1.0),
)
def test_between_its_knees_the_power_along_a_way_rises_evenly(volts: list[float], by: list[float], at: float) -> None:
    bank = DeviceBank([curve for name, curve in CURVES.items() if name != "lamp"])
    start, step = np.array(volts), np.array(by)
    amps, slopes = bank.both(start)
    shares, more = bank.knees_along(start, step)
    assert (np.diff(shares) >= 0.0).all()
    beyond = np.clip(at - shares, 0.0, None)
    power = float(amps @ step) + at * float(slopes @ step**2) + float(more @ beyond)
    there = bank.amps(start + at * step)
    assert power == pytest.approx(float(there @ step), rel=1e-9, abs=1e-9 * float(np.abs(there) @ np.abs(step)) + 1e-6)


@given(st.lists(VOLTS, min_size=len(CURVES), max_size=len(CURVES)), st.floats(0.0, 1.0), st.sampled_from([1e-9, 1e-4]))
def test_a_law_is_straight_as_far_as_it_says(volts: list[float], share: float, off: float) -> None:
    bank, at = DeviceBank(list(CURVES.values())), np.array(volts)
    amps, slopes = bank.both(at)
    for bound in bank.straight(at, off):
        by = share * np.clip(bound, -30.0, 30.0)
        assert np.abs(bank.amps(at + by) - amps - slopes * by).max() <= off + 1e-9
    falls, rises = bank.straight(at, off)
    assert (falls <= 0.0).all()
    assert (rises >= 0.0).all()
