"""Factors, sizes and numbers, against Pint and published tables."""

from __future__ import annotations

import math

import pint
import pytest

from loomwright.lang.files.reading import read_text
from loomwright.lang.quantities import foreign_units
from loomwright.lang.quantities.foreign_units import IN_PINT, in_our_units
from loomwright.lang.quantities.units import (
    ALSO_READ,
    UNITS,
    UNITS_OF,
    awg_area,
    awg_diameter,
    stranded,
    unglue,
    unit_name,
)

PINT_NAMES = {
    "%": "percent",
    "mm2": "millimetre ** 2",
    "s": "second",
    "Ah": "ampere_hour",
    "F": "farad",
    "m": "metre",
    "mH": "millihenry",
}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return foreign_units.registry()


@pytest.mark.parametrize("name", [name for name in UNITS if name != "AWG"])
def test_every_factor_is_pints(name: str, registry: pint.UnitRegistry) -> None:
    unit = UNITS[name]
    if name == "degC":
        assert unit.factor == 1
        assert registry.Quantity(25, "degC").to("kelvin").magnitude == pytest.approx(298.15)
        return
    one = registry.Quantity(1, PINT_NAMES.get(name, name))
    assert one.to(IN_PINT[unit.dimension]).magnitude == pytest.approx(unit.factor, rel=1e-12)


@pytest.mark.parametrize(("written", "name"), ALSO_READ.items())
def test_other_ways_to_write_a_unit(written: str, name: str, registry: pint.UnitRegistry) -> None:
    assert unit_name(written) == name
    if written not in ("°C", "mm²"):  # Pint reads the first as a difference of temperatures, the second with ** only
        same = registry.Quantity(1, written).to(PINT_NAMES.get(name, name)).magnitude
        assert same == pytest.approx(1)


@pytest.mark.parametrize(
    ("number", "unit", "dimensions", "said"),
    [
        ("0.5", "ft", ("area", "length"), "0.152 m"),  # 1 ft = 0.3048 m exactly (international yard and pound, 1959)
        ("1", "hp", ("power", "current"), "746 W"),  # 1 hp = 550 ft lbf/s = 745.7 W
        ("2", "Mohm", ("resistance",), "2000 kohm"),
        ("0.004", "inch2", ("area",), "2.58 mm2"),  # 1 inch = 25.4 mm exactly
        ("3", "furlongs", ("voltage",), None),
        ("3", "volts", ("length",), None),
        ("3", "xyzzy", ("length",), None),
        ("3", "__import__", ("length",), None),
    ],
)
def test_units_that_people_bring(number: str, unit: str, dimensions: tuple[str, ...], said: str | None) -> None:
    assert in_our_units(number, unit, dimensions) == said


def test_dimensions_are_complete() -> None:
    assert set(UNITS_OF) == set(IN_PINT)
    assert sum(map(len, UNITS_OF.values())) == len(UNITS)


@pytest.mark.parametrize(
    ("gauge", "ohms_per_1000_feet"),
    # Resistance of solid copper at 20 degC, ohm per 1000 ft: HyperPhysics, "American Wire Gauge", from Floyd, "Electric
    # Circuit Fundamentals", 2nd ed.
    [
        (4, 0.2485),
        (8, 0.6282),
        (10, 0.9989),
        (12, 1.588),
        (14, 2.525),
        (16, 4.016),
        (18, 6.385),
        (20, 10.15),
        (24, 25.67),
    ],
)
def test_awg_areas_give_published_resistances(gauge: int, ohms_per_1000_feet: float) -> None:
    copper = 0.017241  # ohm mm2 / m at 20 degC: IEC 60028, 100 % IACS
    assert copper * 304.8 / awg_area(gauge) == pytest.approx(ohms_per_1000_feet, rel=5e-4)


def test_awg_diameters_are_those_that_define_it() -> None:
    """ASTM B258: No. 36 is 0.0050 in, No. 4/0 is 0.4600 in, and 39 sizes lie between."""
    assert awg_diameter(36) == pytest.approx(0.0050 * 25.4)
    assert awg_diameter(-3) == pytest.approx(0.4600 * 25.4)
    steps = [awg_diameter(gauge) / awg_diameter(gauge + 1) for gauge in range(-3, 36)]
    assert len(steps) == 39
    assert steps == pytest.approx([92 ** (1 / 39)] * 39)
    assert pytest.approx(1.1229322) == 92 ** (1 / 39)


def test_twelve_gauge_of_a_textbook() -> None:
    """OpenStax University Physics 2, m58731: 12 gauge has a diameter of 2.053 mm and 3.31 mm2; 0 gauge 8.252 mm."""
    assert awg_diameter(12) == pytest.approx(2.053, abs=5e-4)
    assert awg_area(12) == pytest.approx(3.31, abs=5e-3)
    assert awg_diameter(0) == pytest.approx(8.252, abs=2e-3)


@pytest.mark.parametrize(
    ("written", "trade"),
    # Old British strandings and the cross-sections that they are sold as (common practice, no source).
    [(("14", "0.30"), 1.0), (("28", "0.30"), 2.0), (("44", "0.30"), 3.0), (("65", "0.30"), 4.5)],
)
def test_strands_have_the_area_that_they_are_sold_as(written: tuple[str, str], trade: float) -> None:
    assert stranded(*written).area == pytest.approx(trade, rel=0.04)
    assert stranded(*written).area == pytest.approx(int(written[0]) * math.pi * 0.15**2)


def test_glued() -> None:
    assert unglue("30A") == ("30", "A")
    assert unglue("2.5mm²") == ("2.5", "mm2")
    assert unglue("50%") == ("50", "%")
    assert unglue("85°C") == ("85", "degC")
    assert unglue("30") is None
    assert unglue("12a") is None


@pytest.mark.parametrize(
    ("written", "metres"), [("0.65 m", 0.65), ("65 cm", 0.65), ("650 mm", 0.65), ("10 inch", 0.254), ("0.10 m", 0.1)]
)
def test_lengths(written: str, metres: float) -> None:
    reading = read_text(f"place a, b\nroute a b {written}\n")
    assert reading.harness.routes[0].length == metres


@pytest.mark.parametrize(
    ("written", "ohms"), [("15 mohm", 0.015), ("15 mΩ", 0.015), ("2 ohm", 2.0), ("2 Ω", 2.0), ("1.5 kohm", 1500.0)]
)
def test_the_nearest_float_of_what_is_written(written: str, ohms: float) -> None:
    """``15 mohm`` is 0.015 and not 0.015000000000000001, so that what is shown is what was written."""
    reading = read_text(f"resistor R {written}\n")
    assert reading.harness.parts["R"].ohms == ohms  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("written", "text", "area"),
    [
        ("2.5 mm2", "2.5 mm2", 2.5),
        ("2.5 mm²", "2.5 mm2", 2.5),
        ("18 AWG", "18 AWG", 0.8230),
        ("28 x 0.30 mm", "28 x 0.30 mm", 1.979),
    ],
)
def test_sizes(written: str, text: str, area: float) -> None:
    source = "source BAT battery\nfuse F\nwire 1 BAT.+ to F.1 "
    size = read_text(source + written).harness.wires["1"].size
    assert size is not None
    assert size.text == text
    assert size.area == pytest.approx(area, rel=1e-3)
