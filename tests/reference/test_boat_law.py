"""33 CFR 183.455 and 183.425 as the rules apply them: distances in inches, shares of table 5."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hand_made import battery, frame, fuse, harness, lamp, wire

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import RuleStudy, examine, rule_named
from loomwright.lang.model.harness import Harness

INCH = 0.0254


def found(given: Harness, name: str) -> tuple[Finding, ...]:
    rule = rule_named(name)
    assert rule is not None
    return examine(RuleStudy(given, today=date(2026, 1, 1)), [rule])


def lit(to_fuse: float, amps: float, area: float) -> Harness:
    """A lamp behind a fuse, ``to_fuse`` m from the battery, on insulation of 100 degC at the table's own 30 degC."""
    made = harness(
        [battery(), fuse("F", amps), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "F.1", to_fuse),
            wire("2", "F.2", "L.1", 1.0, area),
            wire("3", "L.2", "FRAME"),
            wire("4", "BAT.-", "FRAME"),
        ],
    )
    wires = {
        name: replace(w, segments=tuple(replace(p, ambient=30.0, wire_class="B") for p in w.segments))
        for name, w in made.wires.items()
    }
    return replace(made, wires=wires)


@pytest.mark.parametrize(("inches", "wires"), [(6.9, []), (7.0, []), (7.2, ["1"]), (39.0, ["1"])])
def test_a_feed_may_be_bare_for_seven_inches(inches: float, wires: list[str]) -> None:
    """183.455(b)(1): within seven inches of the source, along the conductor. 0.178 m is how the law writes it in SI."""
    assert [f.about[0] for f in found(lit(inches * INCH, 5.0, 2.5), "unfused-feed")] == wires


@pytest.mark.parametrize(
    ("gauge_area", "ampacity"),
    [(0.8230, 20.0), (1.3087, 25.0), (2.0809, 30.0), (3.3088, 40.0), (5.2612, 55.0), (8.3657, 70.0)],
)
def test_a_fuse_of_table_5_passes_and_one_above_150_percent_is_an_error(gauge_area: float, ampacity: float) -> None:
    """183.425 table 5, insulation of 90 degC, in A for 18 to 8 AWG; 183.455(c)(1): not above 150 percent of it."""
    assert found(lit(0.1, ampacity, gauge_area), "oversized-fuse") == ()
    (legal,) = found(lit(0.1, ampacity * 1.5, gauge_area), "oversized-fuse")
    assert legal.level is Level.WARNING
    (illegal,) = found(lit(0.1, ampacity * 1.5 + 0.1, gauge_area), "oversized-fuse")
    assert illegal.level is Level.ERROR
    figures = {figure.label: figure.value for figure in illegal.figures}
    assert figures["ampacity"] == pytest.approx(ampacity)
    assert "33 CFR 183.425" in illegal.source
