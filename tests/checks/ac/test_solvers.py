"""Windings solved on their own: by arithmetic on paper, and the two ways of solving against each other."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from ac_spice import KINDS, case, random_network, resistances

from loomwright.checks.ac.coils import Coil, Impedance, coils, from_watts, impedance, star_phase
from loomwright.checks.ac.phasors import phasors
from loomwright.checks.ac.rectified import TABLES, direct_amps, line_of, made
from loomwright.checks.ac.time_steps import STEPS, time_steps
from loomwright.checks.ac.windings import coils_of, lacks, stator_impedance
from loomwright.checks.ac.wound import Limiter, Periodic, Wound, rms
from loomwright.checks.dc import device_models as laws
from loomwright.checks.tables.sourced import rows
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.parts import Measured


def loaded(winding: Impedance, ohms: float, speed: float = 1.0, limit: float | None = None) -> Wound:
    """A winding with one resistor on it."""
    return Wound(
        resistances(2, [(1, 0, ohms)]),
        np.array([], dtype=np.intp),
        np.array([], dtype=np.intp),
        (),
        coils([Coil(1, 0, winding)], (), speed),
        (Limiter(1, 0, limit),) if limit else (),
    )


def at_rest(wound: Wound) -> np.ndarray:
    return np.zeros(len(wound.siemens))


# --- windings --------------------------------------------------------------------------------------------------------
def test_a_winding_from_open_volts_and_short_amps() -> None:
    winding = impedance(20.0, 4.0, 3.0)
    assert (winding.ohms, winding.reactance) == (3.0, 4.0)  # a triangle of 3, 4 and 20 V / 4 A
    assert winding.short_amps == 4.0


def test_a_resistance_that_is_not_written_is_a_fifth() -> None:
    assert impedance(20.0, 4.0).ohms == 1.0


@pytest.mark.parametrize(
    ("measured", "lacking"),
    [
        (Measured(), "open-circuit voltage and short-circuit current"),
        (Measured(volts=40.0), "short-circuit current"),
        (Measured(amps=9.0), "open-circuit voltage"),
    ],
)
def test_a_stator_is_not_known_without_both_of_its_figures(measured: Measured, lacking: str) -> None:
    assert stator_impedance(measured) is None
    assert lacks(measured) == lacking


@pytest.mark.parametrize(
    ("whole", "beyond"),
    [
        ("1.0 ohm ", 0.4),  # what is measured of the whole, less the part up to the tap
        ("0.5 ohm ", 0.6 * 4.0 / 22.0),  # no less than that part: by the turns, as the volts are
        ("", 0.6 * 4.0 / 22.0),
    ],
)
def test_the_ohms_of_a_winding_beyond_its_tap(whole: str, beyond: float) -> None:
    text = 'loom "x"\nsource M alternator { winding light 45 W 0.6 ohm open 22 V short 6 A: 59 31;'
    reading = read_text(f"{text} winding charge 30 W {whole}open 26 V of light: 61 59 31 }}\n")
    assert not reading.mistakes
    source = reading.harness.parts["M"]
    found, wanted = coils_of(build_circuit(reading.harness), source)
    assert wanted == ()
    assert [(coil.top.terminal, coil.bottom.terminal) for coil in found] == [("59", "31"), ("61", "59")]
    assert found[1].is_.volts == pytest.approx(4.0)
    assert found[1].is_.ohms == pytest.approx(beyond)


def test_more_ohms_than_its_impedance_are_as_good_as_all() -> None:
    winding = impedance(20.0, 4.0, 7.0)
    assert winding.ohms == 5.0
    assert winding.reactance == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("watts", [5.0, 45.0])
def test_most_power_of_a_winding_of_which_watts_are_known(watts: float) -> None:
    """Most power goes into a load of the winding's impedance; its own resistance, a fifth, takes a sixth of it."""
    winding = from_watts(watts, 12.0)
    periodic = phasors(loaded(winding, winding.size), np.zeros(2))
    assert periodic is not None
    volts = float(rms(periodic.volts)[1])
    assert volts**2 / winding.size == pytest.approx(watts / 1.2, rel=1e-6)
    for share in (0.7, 1.4):
        other = phasors(loaded(winding, share * winding.size), np.zeros(2))
        assert other is not None
        assert float(rms(other.volts)[1]) ** 2 / (share * winding.size) < watts / 1.2


def test_a_phase_of_a_star_has_the_volts_over_root_3() -> None:
    phase = star_phase(impedance(50.0, 18.0, 0.2))
    assert phase.volts == pytest.approx(50.0 / math.sqrt(3.0))
    assert phase.short_amps == pytest.approx(18.0)
    assert phase.ohms == pytest.approx(0.1)  # between two leads a meter reads two phases


def test_delta_is_a_star_of_a_third() -> None:
    """Three coils in a ring give their leads what a star of a third of their impedance gives (Kennelly 1899)."""
    ring = Impedance(50.0, 0.3, 4.5)
    star = Impedance(50.0 / math.sqrt(3.0), 0.1, 1.5)
    load, diode = laws.lamp(55.0, 13.5), laws.diode(0.7, 0.05)
    found = []
    for ends in (
        [Coil(i + 1, (i + 1) % 3 + 1, ring, 2.0 * math.pi * i / 3) for i in range(3)],
        # a lead's phase lags 30 degrees behind the side that begins at it
        [Coil(i + 1, 5, star, 2.0 * math.pi * i / 3 - math.pi / 6) for i in range(3)],
    ):
        things = [(i, 4, diode) for i in (1, 2, 3)] + [(0, i, diode) for i in (1, 2, 3)] + [(4, 0, load)]
        n = 6 if ends[0].bottom == 5 else 5
        resistors = [(5, 0, 1e9)] if n == 6 else [(1, 0, 1e9)]
        wound = Wound(
            resistances(n, resistors),
            np.array([a for a, _, _ in things]),
            np.array([b for _, b, _ in things]),
            tuple(c for _, _, c in things),
            coils(ends),
        )
        found.append(float(rms(time_steps(wound).volts)[4]))
    assert found[0] == pytest.approx(found[1], rel=2e-3)


# --- phasors ---------------------------------------------------------------------------------------------------------
def test_a_resistor_on_a_winding_by_hand() -> None:
    """20 V behind 3 ohm and 4 ohm of reactance into 1 ohm: 20 / |4 + 4j| A."""
    periodic = phasors(loaded(impedance(20.0, 4.0, 3.0), 1.0), np.zeros(2))
    assert periodic is not None
    assert float(rms(periodic.coil_amps)[0]) == pytest.approx(20.0 / math.hypot(4.0, 4.0), rel=1e-6)


def test_twice_the_speed_by_hand() -> None:
    periodic = phasors(loaded(impedance(20.0, 4.0, 3.0), 1.0, 2.0), np.zeros(2))
    assert periodic is not None
    assert float(rms(periodic.coil_amps)[0]) == pytest.approx(40.0 / math.hypot(4.0, 8.0), rel=1e-6)


@pytest.mark.parametrize("solve", [phasors, time_steps])
def test_a_limiter_holds_its_volts_and_no_more(solve: object) -> None:
    winding = impedance(22.0, 6.0, 0.6)
    for speed, expected in ((0.4, None), (1.0, 13.5), (1.8, 13.5)):
        free = phasors(loaded(winding, 4.0, speed), np.zeros(2))
        assert free is not None
        wound = loaded(winding, 4.0, speed, 13.5)
        held = phasors(wound, np.zeros(2)) if solve is phasors else time_steps(wound)
        assert held is not None
        assert float(rms(held.volts)[1]) == pytest.approx(expected or float(rms(free.volts)[1]), rel=3e-3)


def test_a_law_that_bends_within_the_wave_is_no_matter_for_phasors() -> None:
    assert phasors(case("led", 1.0, 1.0), np.zeros(3)) is None
    assert phasors(case("half wave", 1.0, 1.0), np.array([0.0, 0.0, 6.3, 6.3])) is None


def test_a_battery_behind_a_diode_that_stays_shut_changes_nothing() -> None:
    wound = case("half wave beside lamps", 0.3, 1.0)
    still = np.array([0.0, 0.0, 12.4, 12.4])  # the battery lights the lamp behind it, as solved without the winding
    quick, slow = phasors(wound, still), time_steps(wound)
    assert quick is not None
    assert float(rms(quick.volts)[1]) == pytest.approx(float(rms(slow.volts)[1]), rel=5e-3)


@pytest.mark.parametrize("seed", range(12))
def test_phasors_and_steps_agree_on_lamps_and_resistors(seed: int) -> None:
    wound = random_network(seed)
    plain = list(wound.lamps)
    wound = Wound(
        wound.siemens, wound.tops[plain], wound.bottoms[plain], tuple(wound.curves[i] for i in plain), wound.coils
    )
    quick, slow = phasors(wound, at_rest(wound)), time_steps(wound)
    assert quick is not None
    assert rms(quick.coil_amps) == pytest.approx(rms(slow.coil_amps), rel=5e-3)
    assert rms(quick.volts) == pytest.approx(rms(slow.volts), rel=5e-3, abs=5e-3)


# --- steps -----------------------------------------------------------------------------------------------------------
def powers(wound: Wound, periodic: Periodic, steps: int = STEPS) -> tuple[float, float]:
    """W that the sines give, and that resistances, laws and coils take, over one period in ``steps``."""
    angles = 2.0 * math.pi * np.arange(1, steps + 1) / steps
    pushed = (np.exp(1j * angles)[:, None] * wound.coils.volts).imag
    given = float((pushed * periodic.coil_amps).mean(axis=0).sum())
    across = periodic.volts[:, wound.tops] - periodic.volts[:, wound.bottoms]
    taken = float((across * periodic.law_amps).mean(axis=0).sum())
    taken += float((wound.coils.ohms * periodic.coil_amps**2).mean(axis=0).sum())
    taken += float(np.einsum("ti,ij,tj->t", periodic.volts, wound.siemens, periodic.volts).mean())
    return given, taken


@pytest.mark.parametrize("kind", KINDS)
def test_power_balances(kind: str) -> None:
    """What the sines give is what resistances, laws and coils take."""
    wound = case(kind, 1.0, 1.0)
    periodic = time_steps(wound)
    given, taken = powers(wound, periodic)
    assert taken == pytest.approx(given, rel=5e-3), kind


@pytest.mark.parametrize("kind", KINDS)
def test_what_bends_is_found_by_the_exact_solver_where_trying_does_not_find_it(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    wound = case(kind, 1.0, 1.0)
    tried = time_steps(wound)
    monkeypatch.setattr("loomwright.checks.ac.time_steps.MOST_TRIES", 0)
    exact = time_steps(wound)
    assert exact.volts == pytest.approx(tried.volts, rel=1e-6, abs=1e-6)
    assert exact.law_amps == pytest.approx(tried.law_amps, rel=1e-6, abs=1e-6)


def test_power_balances_finely() -> None:
    """With ten times as many steps what the method itself takes away is below a thousandth."""
    wound = case("lamps", 1.0, 1.0)
    periodic = time_steps(wound, steps=2400)
    given, taken = powers(wound, periodic, steps=2400)
    assert taken == pytest.approx(given, rel=1e-3)


def test_newton_and_round_by_round_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    wound = case("lamps", 1.8, 0.4)
    held = replace(wound, limiters=(Limiter(2, 0, 13.5),))
    quick = phasors(held, at_rest(held))
    monkeypatch.setattr("loomwright.checks.ac.phasors.MOST_ROUNDS", 0)
    assert phasors(held, at_rest(held)) is not None  # a few rounds of Newton's method are enough
    monkeypatch.undo()
    monkeypatch.setattr("loomwright.checks.ac.phasors.NEWTON_ROUNDS", 0)
    slow = phasors(held, at_rest(held))
    assert quick is not None
    assert slow is not None
    assert rms(quick.volts) == pytest.approx(rms(slow.volts), rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("kind", ["half wave", "bridge", "three-phase", "tap"])
def test_charge_rises_with_speed(kind: str) -> None:
    amps = []
    for speed in (0.3, 0.6, 1.0, 1.4, 1.8):
        wound = case(kind, speed, 1.0)
        battery = next(i for i in wound.straight if wound.curves[i].slope > 1.0)
        amps.append(float(time_steps(wound).law_amps[:, battery].mean()))
    assert amps == sorted(amps)


def test_a_shorted_coil_of_hardly_any_resistance_comes_to_rest() -> None:
    wound = loaded(impedance(20.0, 4.0, 0.001), 1e-4)
    assert float(rms(time_steps(wound).coil_amps)[0]) == pytest.approx(4.0, rel=5e-3)


# --- tables ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("name", "share", "resistance"),
    [
        ("half", 0.4, 0.2),
        ("single", 0.3, 0.55),
        ("three", 0.7, 0.12),
        ("three-open", 0.2, 0.2),
        ("single-shorted-5", 0.3, 0.16),
        ("three-shorted-10", 0.25, 0.09),
    ],
)
def test_numbers_of_the_tables_made_anew(name: str, share: float, resistance: float) -> None:
    kind, lost = TABLES[name]
    row = next(row for row in rows("rectifiers", name) if math.isclose(float(row["share"]), share))
    assert made(kind, share, resistance, lost) == pytest.approx(row[str(resistance)], abs=2e-4)


def test_a_bridge_with_one_diode_open_gives_half_waves() -> None:
    assert made("single-open", 0.3, 0.2) == pytest.approx(made("half", 0.3, 0.2), rel=1e-3)


def test_a_bridge_on_a_short_gives_the_mean_of_a_rectified_sine() -> None:
    for resistance in ("0.02", "0.2", "1.0"):
        assert rows("rectifiers", "single")[0][resistance] == pytest.approx(2.0 * math.sqrt(2.0) / math.pi, rel=1e-3)
        assert rows("rectifiers", "three")[0][resistance] == pytest.approx(3.0 * math.sqrt(2.0) / math.pi, rel=1e-3)


@pytest.mark.parametrize("speed", [0.4, 1.0, 1.8])
@pytest.mark.parametrize("volts", [6.5, 13.4])
def test_the_table_is_what_the_whole_circuit_gives(speed: float, volts: float) -> None:
    """Real diodes and a star between tabulated numbers, against time steps of all of it: 2.5 % or 0.05 A."""
    stator, diode = impedance(50.0, 18.0, 0.2), laws.diode(0.7, 0.05)
    phase = star_phase(stator)
    things = [(i, 4, diode) for i in (1, 2, 3)] + [(0, i, diode) for i in (1, 2, 3)]
    things.append((4, 0, laws.Curve(slope=1e3, offset=-1e3 * volts)))
    wound = Wound(
        resistances(6, [(5, 0, 1e9)]),
        np.array([a for a, _, _ in things]),
        np.array([b for _, b, _ in things]),
        tuple(c for _, _, c in things),
        coils([Coil(i + 1, 5, phase, 2.0 * math.pi * i / 3) for i in range(3)], (), speed),
    )
    whole = float(time_steps(wound).law_amps[:, -1].mean())
    assert direct_amps("three", line_of(phase), volts, speed) == pytest.approx(whole, rel=0.025, abs=0.05)


def test_above_its_open_peak_a_winding_gives_nothing() -> None:
    assert direct_amps("single", impedance(9.0, 6.0), 13.0) == 0.0
