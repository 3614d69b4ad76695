"""The rule for ampacity: row, column, ambient, and what is stated where a table ends."""

from __future__ import annotations

import math

import pytest

from loomwright.checks.tables.ampacity import ampacity, ampacity_table
from loomwright.checks.tables.conductors import awg_area
from loomwright.checks.tables.profiles import profile_named


def test_row_column_and_ambient_by_hand() -> None:
    """1.5 mm2 holds 16 AWG (1.309 mm2) but not 14; class B, 100 degC, takes the 90 degC column: 25 A; 50 degC in it."""
    found = ampacity(1.5, "B", 50.0)
    assert (found.size, found.column, found.tabulated, found.beyond) == ("16 AWG", 90.0, 25.0, False)
    assert found.factor == pytest.approx(math.sqrt(40 / 60))
    assert found.amps == pytest.approx(20.412, abs=1e-3)
    assert "16 AWG" in found.why
    assert str(found.source) == "33 CFR 183.425, table 5 (read)"


@pytest.mark.parametrize(
    ("area", "size"),
    [(1.0, "18 AWG"), (1.5, "16 AWG"), (2.0, "16 AWG"), (2.5, "14 AWG"), (4.0, "12 AWG"), (6.0, "10 AWG"),
     (10.0, "8 AWG"), (16.0, "6 AWG"), (25.0, "4 AWG"), (35.0, "2 AWG"), (120.0, "0000 AWG")],
)  # fmt: skip
def test_metric_sizes_take_the_gauge_below(area: float, size: str) -> None:
    assert ampacity(area, "A", 40.0).size == size


@pytest.mark.parametrize("gauge", [18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -3])
def test_a_gauge_takes_its_own_row_also_when_rounded(gauge: int) -> None:
    row = "0000 AWG" if gauge == -3 else f"{gauge} AWG"
    assert ampacity(awg_area(gauge), "A", 40.0).size == row
    assert ampacity(float(f"{awg_area(gauge):.3g}"), "A", 40.0).size == row


@pytest.mark.parametrize(
    ("letter", "column"),
    [("A", 80), ("B", 90), ("C", 125), ("D", 125), ("E", 125), ("F", 200), ("G", 200), ("H", 200)],
)
def test_the_column_is_never_above_the_class(letter: str, column: float) -> None:
    assert ampacity(1.0, letter, 40.0).column == column


def test_a_table_is_a_ceiling_below_its_ambient() -> None:
    assert ampacity(1.0, "A", 0.0).amps == 15.0
    assert ampacity(0.75, "A", 0.0) .amps == ampacity(0.75, "A", 30.0).amps  # fmt: skip


def test_no_rise_left() -> None:
    for area in (0.5, 1.0):
        found = ampacity(area, "A", 85.0)
        assert found.amps == 0.0
        assert "no rise is left" in found.why


def test_thin_wires_say_that_the_table_ends() -> None:
    """0.5 mm2: IEC 60204-1's 7.5 A at 70 and 40 degC, carried to the 80 degC that class A has in table 5."""
    found = ampacity(0.5, "A", 40.0)
    assert found.beyond
    assert found.amps == pytest.approx(7.5 * math.sqrt(40 / 30))
    assert "begins at 18 AWG" in found.why
    assert "IEC 60204-1" in found.why
    assert found.source is not None
    assert found.source.how == "from memory, medium confidence"


def test_where_nothing_is_published_nothing_is_said() -> None:
    found = ampacity(1.0, "A", 40.0, "aircraft")  # no column is so cool
    assert found.amps is None
    assert found.certain is None
    assert found.beyond
    assert "begins at 105 degC insulation" in found.why


def test_below_the_thinnest_row_a_wire_is_judged_in_proportion_to_its_area() -> None:
    """0.2 mm2 carries 4.3 A at 70 and 40 degC; a quarter of it, a quarter: stricter than any law of cooling."""
    whole, quarter = ampacity(0.2, "A", 40.0), ampacity(0.05, "A", 40.0)
    assert whole.amps == pytest.approx(4.3 * math.sqrt(40 / 30))
    assert quarter.amps == pytest.approx(whole.amps / 4)
    assert "thinner than the table's end at 0.2 mm2: in proportion to its area (0.25)" in quarter.why
    assert "thinner" not in whole.why
    aircraft = ampacity(0.12035, "C", 70.0, "aircraft")
    assert aircraft.amps == pytest.approx(2.5 / 2)  # AC 43.13-1B's thinnest row is 0.2407 mm2
    assert "in proportion" in aircraft.why


def test_an_error_rests_on_a_row_that_was_read() -> None:
    """33 CFR 183.425 from 18 AWG up; below, MIL-W-5088B's 22, 20 and 18 AWG at 105 and 50 degC, by watts a metre."""
    assert ampacity(1.0, "A", 40.0).certain == ampacity(1.0, "A", 40.0).amps
    thin = ampacity(0.75, "A", 40.0)
    assert thin.amps == pytest.approx(9.0 * math.sqrt(40 / 30))
    assert thin.certain == pytest.approx(15.4 * math.sqrt(40 / 55) * math.sqrt(0.75 / awg_area(18)))
    fine = ampacity(0.22, "B", 40.0)  # the read row is the harder one: the other is not alone then
    assert 5.0 * math.sqrt(50 / 55) < fine.amps == fine.certain
    boat = ampacity(1.0, "B", 40.0, "small-craft")  # a table from memory, beside the law that was read
    assert boat.amps == pytest.approx(18 * math.sqrt(45 / 55))
    assert boat.certain == ampacity(1.0, "B", 40.0).amps


@pytest.mark.parametrize("profile", ["boat-law", "small-craft", "aircraft"])
@pytest.mark.parametrize("wire_class", ["A", "C", "F"])
def test_a_thinner_wire_never_may_carry_more(profile: str, wire_class: str) -> None:
    areas = [0.01 * 1.07**step for step in range(120)]
    found = [ampacity(area, wire_class, 45.0, profile) for area in areas]
    for which in ("amps", "certain"):
        sizes = [getattr(each, which) for each in found]
        assert None not in sizes or set(sizes) == {None}
        assert sizes == sorted(sizes, key=lambda size: size or 0.0)


def test_bundles_count_only_where_the_profile_says_so() -> None:
    branch_type = profile_named("boat-law")
    bundled = branch_type._replace(bundle=True)
    assert ampacity(1.0, "A", 40.0, branch_type, 7) == ampacity(1.0, "A", 40.0)
    whole = ampacity(1.0, "A", 30.0, bundled, 2).amps
    assert whole == 15.0
    assert ampacity(1.0, "A", 30.0, bundled, 7).amps == 7.5
    assert "bundle factor 0.5" in ampacity(1.0, "A", 30.0, bundled, 7).why


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: ampacity(0.0, "A", 40.0), "above 0 mm2"),
        (lambda: ampacity(math.nan, "A", 40.0), "above 0 mm2"),
        (lambda: ampacity(1.0, "Z", 40.0), "none of A, B"),
        (lambda: ampacity(1.0, "A", 40.0, "sea"), "none of boat-law"),
        (lambda: ampacity_table("sea"), "none of boat-law"),
    ],
)
def test_wrong_questions_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]
