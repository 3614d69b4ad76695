"""The adiabatic equation, and the melting laws of Preece and Onderdonk, against what is published."""

from __future__ import annotations

import math

import pytest
from published import onderdonk_amps, preece_amps

from loomwright.checks.tables.conductors import awg_area, awg_diameter
from loomwright.checks.tables.short_time import (
    adiabatic_k,
    k_factor,
    short_time,
    withstand_i2t,
)
from loomwright.checks.tables.sourced import rows

# IEC 60364-4-43 table 43A and 60364-5-54 tables A.54.2 and A.54.4, copper: initial, final degC, k.
PUBLISHED_K = [
    (70, 160, 115), (70, 140, 103), (90, 160, 100), (90, 140, 86), (90, 250, 143), (60, 200, 141), (85, 220, 134),
    (180, 350, 132), (30, 160, 143), (30, 250, 176), (30, 200, 159), (30, 220, 166), (30, 500, 228), (30, 150, 138),
]  # fmt: skip


@pytest.mark.parametrize(("initial", "final", "k"), PUBLISHED_K)
def test_published_k_comes_out_of_the_constants(initial: float, final: float, k: float) -> None:
    """Q 3.45e-3 J/(K mm3), 234.5 and 17.241e-6 ohm mm (IEC 60364-5-54 annex A)."""
    assert adiabatic_k(initial, final) == pytest.approx(k, abs=0.6)


def test_the_table_holds_what_is_published() -> None:
    table = [(row["initial"], row["final"], row["k"]) for row in rows("short_time", "k_copper")]
    assert table == PUBLISHED_K


def test_prefactor_226() -> None:
    """IEC 60949: K = 226 A s^0.5 / mm2 for copper; k is K times the root of a logarithm."""
    assert adiabatic_k(0.0, math.e * 234.5 - 234.5) == pytest.approx(226, abs=0.5)


def test_insulation_limit_of_icea() -> None:
    """ICEA P-32-382: (I/A)^2 t = 0.0297 log10((T2 + 234)/(T1 + 234)), circular mils. 90 to 250 degC: within 1 %."""
    mils = 1 / (math.pi / 4 * 0.0254**2)
    k = mils * math.sqrt(0.0297 * math.log10((250 + 234) / (90 + 234)))
    assert k == pytest.approx(142.0, abs=0.1)
    assert adiabatic_k(90, 250) == pytest.approx(k, rel=0.01)


def test_worked_sizes() -> None:
    """S = I sqrt(t) / k: 500 A for 0.1 s at 115 needs 1.375 mm2, 1000 A for 0.4 s at 143 needs 4.42; 2.5 mm2 stands
    82,656 A2s at 115."""
    k = adiabatic_k(70, 160)
    assert 500 * math.sqrt(0.1) / k == pytest.approx(1.375, rel=2e-3)
    assert 1000 * math.sqrt(0.4) / adiabatic_k(90, 250) == pytest.approx(4.42, rel=2e-3)
    assert (k * 2.5) ** 2 == pytest.approx(82656, rel=4e-3)


def test_classes_lie_between_the_published_neighbours() -> None:
    """Class A, 85 to 160 degC, between PVC 70 (115) and PVC 90 (100); C, 125 to 250, below XLPE 90 (143)."""
    assert 100 < k_factor("A") < 115
    assert k_factor("B") < 100
    assert 108 < k_factor("C") < 143
    assert withstand_i2t(1.0, "A") == pytest.approx(k_factor("A") ** 2)


def test_final_temperatures() -> None:
    """PVC 160, cross-linked 250 degC (IEC 60364-5-54); ISO 6722-1's overload test, 50 K above classes F to H."""
    assert {letter: short_time(letter).final for letter in "ABCDEFGH"} == {
        "A": 160, "B": 160, "C": 250, "D": 250, "E": 250, "F": 250, "G": 275, "H": 300,
    }  # fmt: skip
    for letter in "FGH":
        assert short_time(letter).final == short_time(letter).initial + 50


# Preece, copper: A and diameter in inches (nessengr.com, fuse wire table).
PREECE = {
    1: 0.0021, 5: 0.0062, 10: 0.0098, 15: 0.0129, 20: 0.0156, 25: 0.0181, 30: 0.0205, 40: 0.0248, 50: 0.0288,
    60: 0.0325, 80: 0.0394, 100: 0.0457, 120: 0.0516, 160: 0.0625, 200: 0.0725, 250: 0.0841, 300: 0.0950,
}  # fmt: skip


@pytest.mark.parametrize("amps", PREECE)
def test_preece_fuse_wire_table(amps: float) -> None:
    """Diameters are printed to 0.0001 in: the current lies between those of the two neighbours."""
    inches = PREECE[amps]
    assert preece_amps((inches - 0.6e-4) * 25.4) <= amps <= preece_amps((inches + 0.6e-4) * 25.4)


def test_preece_in_millimetres() -> None:
    """I = 80 d^1.5, d in mm; a physics forum works 0.0524 in as 123 A."""
    assert preece_amps(1.0) == pytest.approx(80.0, abs=0.05)
    assert preece_amps(0.0524 * 25.4) == pytest.approx(123, abs=0.5)
    assert preece_amps(awg_diameter(18)) == pytest.approx(82.9, abs=0.1)


def test_onderdonk_with_the_right_sign() -> None:
    """No. 16 (2,581 circular mils), 5 s, 25 degC: 168.9 A. A forum's copy has 234 - Ta and so 178 A, which is wrong."""
    area = 2581 * math.pi / 4 * 0.0254**2
    assert onderdonk_amps(area, 5.0, 25.0) == pytest.approx(168.9, abs=0.1)
    wrong = 2581 * math.sqrt(math.log10((1083 - 25) / (234 - 25) + 1) / (33 * 5))
    assert wrong == pytest.approx(178, abs=1)
    assert onderdonk_amps(awg_area(16), 5.0, 25.0) == pytest.approx(168.9, rel=1e-3)


@pytest.mark.parametrize(("ambient", "amps"), [(20, 290.4), (25, 288.7), (40, 283.7)])
def test_onderdonk_is_the_adiabatic_equation_up_to_melting(ambient: float, amps: float) -> None:
    """Two laws of different origin, one in circular mils and one in J/K: within 1 % at 1 mm2 and 1 s."""
    assert onderdonk_amps(1.0, 1.0, ambient) == pytest.approx(amps, abs=0.1)
    assert adiabatic_k(ambient, 1083.0) == pytest.approx(amps, rel=0.01)


def test_insulation_goes_long_before_copper() -> None:
    for letter in "ABCDEFGH":
        assert k_factor(letter) < 0.5 * onderdonk_amps(1.0, 1.0)
