"""What works on other loads is worked out in a bounded number of steps, and what is not worked out is stated."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from planted_faults import planted, sound_harnesses

from loomwright.checks.dc.device_models import Curve
from loomwright.checks.logic import balances, islands
from loomwright.checks.logic.state_space import StateSpace
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Reading

FOLDER = Path(__file__).parent
TODAY = date(2026, 6, 1)


def test_islands_that_take_too_many_steps_are_undecided_and_the_rider_hears_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty steps tell that the relay is held through two lamps; with five nobody knows, and no stop is proved."""
    file = str(FOLDER / "relay-held-through-lamps.loom")
    assert "undecided-path" not in {f.rule for f in check(read_file(file), today=TODAY).findings}
    monkeypatch.setattr(balances, "MOST_STEPS", 5)
    monkeypatch.setattr(islands, "MOST_STEPS", 5)
    found = check(read_file(file), today=TODAY).findings
    told = [f.message for f in found if f.rule == "undecided-path"]
    assert any("takes more than 5 steps to work out" in message for message in told), told
    assert not any(f.rule == "no-kill-path" and f.level > 1 for f in found)


@pytest.mark.parametrize("seed", [10, 19, 46, 51])
def test_a_damaged_demonstration_is_judged_but_for_what_is_said_once(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a lost battery ground, an input of the wrong kind or a diode turned round nearly everything hangs together:
    what works through loads is then left undecided, and no rule breaks on it. The work is counted, not timed.
    """
    bits = steps = 0

    def counted_work(self: StateSpace) -> None:
        nonlocal bits
        bits += self.size
        work_out(self)

    def counted_balance(
        edges: Sequence[tuple[Curve, int, int]], most: float, *, rising: bool
    ) -> tuple[dict[int, float] | None, int]:
        nonlocal steps
        found = balanced(edges, most, rising=rising)
        steps += found[1]
        return found

    work_out, balanced = StateSpace._work_out, balances.balanced
    monkeypatch.setattr(StateSpace, "_work_out", counted_work)
    monkeypatch.setattr(balances, "balanced", counted_balance)
    demonstrations = list(sound_harnesses())[:2]
    fault = planted(demonstrations[seed % 2], seed)
    assert fault is not None
    report = check(Reading(harness=fault.faulty, mistakes=(), texts={}), today=TODAY)
    assert report.unchecked == ""
    assert len([f for f in report.findings if f.rule == "not-judged" and f.case == "rules"]) <= 1
    assert bits <= 1 << 25
    assert steps <= 60_000


def test_what_works_through_loads_is_undecided_where_too_much_hangs_on_it() -> None:
    """Whether the ignition box is powered is not known: no starter is stated to be live with the ignition off, and the
    rider hears which parts were not judged, why, and what to do.
    """
    fault = planted(next(iter(sound_harnesses())), 33)
    assert fault is not None
    found = check(Reading(harness=fault.faulty, mistakes=(), texts={}), today=TODAY).findings
    [told] = [f for f in found if f.rule == "not-judged" and f.case == "rules"]
    assert told.message == (
        "STARTER was only partly checked: IGN depends on too many things through other loads to go through them all"
    )
    assert [note.text for note in told.notes] == ["by live-with-key-out: STARTER"]
    assert "correct the other findings first" in told.remedy
    assert not any(f.rule == "live-with-key-out" for f in found)


def test_a_diode_beside_a_filament_takes_no_more_than_the_bound() -> None:
    """Net by net a stiff joint is balanced slowly: it stops at the bound, and no volts come out."""
    from loomwright.checks.dc.device_models import diode, lamp

    row = [(diode(0.7, 0.05), n, n + 1) for n in range(60)]
    edges = [(lamp(3.0, 13.5), balances.PLUS, 0), *row, (lamp(3.0, 13.5), 60, balances.MINUS)]
    nets, steps = balances.balanced(edges, 14.4, rising=False)
    assert nets is None
    assert balances.MOST_STEPS < steps <= balances.MOST_STEPS + 61
