"""Sizing holds a wire once, however many findings would be new with another size of it."""

from __future__ import annotations

from checked_text import BENCH, TODAY

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.sizing.demands import Demands
from loomwright.checks.sizing.no_graver import hold
from loomwright.checks.sizing.trial import Trial
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.files.reading import read_text
from loomwright.lang.quantities.units import metric


def test_two_new_findings_about_one_wire_hold_it_once() -> None:
    harness = read_text(BENCH, "bench.loom").harness
    demands = Demands(Trial(harness, {}, TODAY, profile_named("boat-law")))
    at = Span(file="bench.loom", line=1, column=1, end_column=2)
    worse = [
        Finding(rule=rule, level=Level.WARNING, message="", span=at, about=("m",), source="")
        for rule in ("voltage-drop", "over-temperature")
    ]
    assert hold(demands, worse, {"m": metric("4")}, {})
    assert "m" not in demands.free
    assert "voltage-drop" in demands.facts["m"]
