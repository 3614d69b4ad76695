"""Lamps, relays, batteries and crimps against published figures."""

from __future__ import annotations

import pytest
from published import lamp_categories, rerated

from loomwright.checks.dc.device_models import lamp as lamp_law
from loomwright.checks.tables import batteries, crimps, relays
from loomwright.checks.tables import device_constants as laws
from loomwright.checks.tables.conductors import awg_area


@pytest.mark.parametrize(
    ("watts", "volts", "category", "filament"),
    [(21, 13.5, "P21/5W", 0), (5, 13.5, "P21/5W", 1), (60, 13.2, "H4", 0), (55, 13.2, "H4", 1)],
)
def test_a_lamp_at_its_test_voltage_is_within_un_r37(watts: float, volts: float, category: str, filament: int) -> None:
    """Watts at 12 V, rerated to test volts by the handbook's exponent, against the regulation's greatest watts."""
    lamp = lamp_categories()[category]
    assert lamp.volts == volts
    assert lamp.watts[filament] == watts
    grown = watts * rerated("power", volts / 12)
    assert watts < grown <= lamp.most[filament]


def test_power_is_volts_times_current_within_the_rounding_of_the_exponents() -> None:
    """0.55 + 1 against 1.6: both are rounded in the handbook; 1 % apart at most from 12 to 14.4 V."""
    for volts in (10.8, 12.6, 13.2, 13.5, 13.8, 14.4):
        share = volts / 12
        assert rerated("current", share) * share == pytest.approx(rerated("power", share), rel=0.01)


def test_light_at_85_percent() -> None:
    """13 CCR 1249 wants 85 % of design voltage at the socket: 57 % of the light."""
    assert rerated("light", 0.85) == pytest.approx(0.575, abs=1e-3)


@pytest.mark.parametrize("category", list(lamp_categories()))
def test_a_filament_takes_what_un_r37_allows_at_its_test_voltage(category: str) -> None:
    """The current of a solved lamp at the test voltage, times that: never below its watts, nor above the regulation's
    greatest by more than a tenth: 5 W is rated as the second filament of a stop and tail lamp, which takes most. A 55
    or 60 W bulb counted at 13.5 V would take 52 and 57 W at 13.2 V, and 68 and 75 W are allowed.
    """
    lamp = lamp_categories()[category]
    for watts, most in zip(lamp.watts, lamp.most, strict=True):
        law = lamp_law(watts, laws.lamp_rated_volts(watts, 12.0))
        taken = law.amps(lamp.volts) * lamp.volts
        assert watts * 0.999 <= taken <= (1.11 if category in ("H7", "R5W", "W5W", "C5W") else 1.0) * most
        on_six = lamp_law(watts, laws.lamp_rated_volts(watts, 6.0))
        assert on_six.amps(lamp.volts / 2.0) == pytest.approx(2.0 * law.amps(lamp.volts))


def test_a_lamp_for_an_odd_voltage_has_its_watts_there() -> None:
    assert laws.lamp_rated_volts(21.0, 13.5) == 13.5
    assert laws.lamp_rated_volts(21.0, 8.0) == 8.0
    assert laws.lamp_rated_volts(21.5, 12.0) == 12.0  # in no category: nominal


def test_test_volts_of_lamps() -> None:
    """UN R37: signal lamps are measured at 13.5 V on 12 V; 6.75 and 28 V on the others."""
    assert [laws.lamp_test_volts(v) for v in (6.0, 12.0, 24.0)] == [6.75, 13.5, 28.0]
    assert {lamp.volts for lamp in lamp_categories().values()} == {13.2, 13.5}


def test_cold_tungsten() -> None:
    """University Physics volume 2: 0.350 ohm at 20 degC, 4.8 ohm at 2850 degC."""
    assert laws.laws().lamp_hot_over_cold == pytest.approx(4.8 / 0.350, abs=0.02)


def test_every_lamp_is_within_its_category() -> None:
    for lamp in lamp_categories().values():
        assert len(lamp.watts) == len(lamp.most) == len(lamp.lumens)
        for watts, most in zip(lamp.watts, lamp.most, strict=True):
            assert watts < most <= 1.35 * watts


def test_a_usual_relay() -> None:
    """85 ohm on 12 V: 0.141 A, 1.69 W, in the 1.6 to 1.8 W of makers' sheets; 94 mA when it pulls in at 8 V."""
    ohms = relays.usual_coil_ohms(12.0)
    assert 12 / ohms == pytest.approx(0.141, abs=5e-4)
    assert 1.6 <= 144 / ohms <= 1.8
    assert relays.relay_figure("pull_in_volts").value / ohms == pytest.approx(0.094, abs=5e-4)


@pytest.mark.parametrize(
    ("charge", "gravity"), [(1.0, 1.265), (0.75, 1.225), (0.5, 1.190), (0.25, 1.155), (0.0, 1.120)]
)
def test_rest_volts_fit_the_acid(charge: float, gravity: float) -> None:
    """A cell gives its specific gravity and 0.84 to 0.845 V (DOE-HDBK-1084-95): six of them, within 0.12 V."""
    assert batteries.rest_volts(charge) == pytest.approx(6 * (gravity + 0.8425), abs=0.12)


@pytest.mark.parametrize(
    ("amp_hours", "milliamps", "days"),
    [(12, 1, 250), (12, 3, 83), (12, 10, 25), (12, 50, 5), (14, 1, 292), (14, 3, 97), (7, 1, 146), (20, 10, 42)],
)
def test_days_to_half_charge(amp_hours: float, milliamps: float, days: float) -> None:
    """C x 500 / (24 x I in mA)."""
    assert batteries.days_to_half(amp_hours, milliamps / 1000) == pytest.approx(days, abs=0.5)
    assert batteries.days_to_half(amp_hours, 0.0) == float("inf")


def test_usual_resistance_of_a_motorcycle_battery() -> None:
    """8 to 20 mohm for 12 to 20 Ah (from memory); University Physics asks about one of 12 Ah class at far worse."""
    for amp_hours in (12.0, 14.0, 20.0):
        assert 8e-3 <= batteries.usual_resistance(amp_hours) <= 20e-3


# Pull in lbf by gauge, as component makers print it (one pound-force is 4.448 N).
UL_486A = {26: 3, 24: 5, 22: 8, 20: 13, 18: 20, 16: 30, 14: 50, 12: 70, 10: 80, 8: 90, 6: 100, 4: 140}
MIL_T_7928 = {26: 7, 24: 10, 22: 15, 20: 19, 18: 38, 16: 50, 14: 70, 12: 110, 10: 150, 8: 225, 6: 300, 4: 400}


@pytest.mark.parametrize("gauge", UL_486A)
def test_pull_of_a_crimp_in_pounds(gauge: int) -> None:
    commercial, military = crimps.pull(awg_area(gauge)), crimps.pull(awg_area(gauge), "military")
    assert commercial is not None
    assert military is not None
    assert commercial.gauge == military.gauge == gauge
    assert commercial.newtons == pytest.approx(UL_486A[gauge] * 4.44822, rel=0.005)
    assert military.newtons == pytest.approx(MIL_T_7928[gauge] * 4.44822, rel=0.005)


def test_the_cap_of_the_yellow_lamp_with_two_filaments_is_offset() -> None:
    assert lamp_categories()["PY21/5W"].cap == "BA15d-3 (100°/130°)"
