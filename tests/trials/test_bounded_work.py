"""What works on other loads is worked out in a number of steps that is bounded, and what is not worked out is said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.logic import islands
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_file

FOLDER = Path(__file__).parent
TODAY = date(2026, 6, 1)


def test_islands_that_take_too_many_steps_are_undecided_and_the_rider_hears_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty steps tell that the relay is held through two lamps; with five nobody knows, and no stop is proved."""
    file = str(FOLDER / "relay-held-through-lamps.loom")
    assert "undecided-path" not in {f.rule for f in check(read_file(file), today=TODAY).findings}
    monkeypatch.setattr(islands, "MOST_STEPS", 5)
    found = check(read_file(file), today=TODAY).findings
    told = [f.message for f in found if f.rule == "undecided-path"]
    assert any("take more than 5 steps to work out" in message for message in told), told
    assert not any(f.rule == "no-kill-path" and f.level > 1 for f in found)


def test_a_diode_beside_a_filament_takes_no_more_than_the_bound() -> None:
    """Net by net a stiff joint is balanced slowly: it stops at the bound, and no volts come out."""
    from loomwright.checks.dc.device_models import diode, lamp

    row = [(diode(0.7, 0.05), n, n + 1) for n in range(60)]
    edges = [(lamp(3.0, 13.5), islands.PLUS, 0), *row, (lamp(3.0, 13.5), 60, islands.MINUS)]
    nets, steps = islands.balanced(edges, 14.4, rising=False)
    assert nets is None
    assert islands.MOST_STEPS < steps <= islands.MOST_STEPS + 61
