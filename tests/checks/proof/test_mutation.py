"""Which single faults a harness's own check notices, and the line that would notice the others."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from noticed_faults import GOAL, TODAY, scored, wrong_line

from loomwright.checks.proof.faults import KINDS, faults
from loomwright.checks.proof.mutation import Mutation, Noticed, chosen, judged_all, score
from loomwright.lang.files.reading import read_expectation, read_file, read_text
from loomwright.lang.model.harness import Reading
from loomwright.render.report.mutation import mutation_text

SPECS = Path(__file__).resolve().parents[3] / "specs"
HORN = """\
loom "Horn"
place tray, bars
route tray bars 0.8 m
source BAT battery at tray { voltage 12.6 V; capacity 12 Ah; resistance 20 mohm }
ground FRAME at tray, bars
fuse MAIN 10 A blade at tray
switch KEY 15 A key at bars { off: ; on: 30 15 }
switch BUTTON 10 A momentary at bars { rest: ; press: 1 2 }
load HORN horn at bars for signals { tone 3 A: + - }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.10 m
wire 2 MAIN.2 to KEY.30 red/white 1.5 mm2
wire 3 KEY.15 to BUTTON.1 orange 1.5 mm2 0.3 m
wire 4 BUTTON.2 to HORN.+ blue 1.5 mm2 0.3 m
wire 5 HORN.- to FRAME black 1.5 mm2 0.3 m
wire 6 BAT.- to FRAME black 4 mm2 0.3 m
state parked { KEY off }
state honking { KEY on, BUTTON press }
expect in honking: HORN.tone live
"""


def test_a_contact_that_nobody_watches_is_told_with_the_line_that_would() -> None:
    """The horn is expected to sound; nothing says that it must be still while nobody presses the button."""
    found = scored(read_text(HORN, "horn.loom"))
    bridged = {each.fault.says: each for each in found.missed}
    survivor = bridged["BUTTON joins 1 and 2 in every position"]
    assert survivor.differs is not None
    assert survivor.differs.says == "HORN.tone is live with KEY on, BUTTON rest"
    assert survivor.line == "expect whenever KEY on and BUTTON rest: HORN.tone dead"
    text = HORN + survivor.line + "\n"
    better = scored(read_text(text, "horn.loom"))
    assert survivor.fault.says not in {each.fault.says for each in better.missed}
    assert better.share > found.share


def test_what_is_printed() -> None:
    found = scored(read_text(HORN, "horn.loom"))
    told = mutation_text(found, "horn.loom")
    can = len(found.noticed) + len(found.missed)
    assert told.startswith(f"horn.loom: the check notices {len(found.noticed)} of {can} single faults that it could")
    assert "      expect whenever KEY on and BUTTON rest: HORN.tone dead\n" in told
    assert "still within every limit that was judged" not in told
    assert "still within every limit that was judged" in mutation_text(found, "horn.loom", every=True)


def test_every_kind_of_fault_is_put_into_the_demonstration_each_once() -> None:
    harness = read_file(SPECS / "stock.loom").harness
    found = faults(harness)
    assert set(Counter(fault.kind for fault in found)) == set(KINDS)
    assert len({fault.key for fault in found}) == len(found)
    assert all(fault.apply() != harness for fault in found)
    assert [fault.key for fault in faults(harness)] == [fault.key for fault in found]


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_the_demonstrations_notice_most_faults(name: str) -> None:
    """A sample; `tests/nightly.py` puts every fault in."""
    found = scored(read_file(SPECS / f"{name}.loom"), sample=14, seed=5)
    assert found.share >= GOAL, [each.fault.says for each in found.missed]


def test_every_proposed_line_holds_without_its_fault_and_fails_with_it() -> None:
    """Judged by a whole check, of which the search for the line runs one rule only."""
    reading = read_file(SPECS / "small" / "points-single.loom")
    mutation = Mutation(reading, today=TODAY)
    wanted = ("switch bridged", "nets joined")
    found = score([mutation.judged(fault) for fault in faults(reading.harness) if fault.kind in wanted])
    assert len(found.missed) > 3
    assert [said for survivor in found.missed if (said := wrong_line(reading, survivor))] == []


def test_a_wrong_line_would_be_found_out() -> None:
    reading = read_text(HORN, "horn.loom")
    survivor = next(each for each in scored(reading).missed if "BUTTON" in each.fault.says)
    for line, why in (
        ("expect in parked: HORN.tone live", "does not hold"),
        ("expect in parked: HORN.tone dead", "holds"),
    ):
        assert wrong_line(reading, replace(survivor, line=line)).endswith(why)


def test_a_sample_is_the_same_for_the_same_seed_whatever_the_jobs() -> None:
    reading = read_file(SPECS / "small" / "magneto-single.loom")
    mutation = Mutation(reading, today=TODAY)
    drawn = chosen(mutation.harness, 5, seed=4)
    assert [each.key for each in drawn] == [each.key for each in chosen(mutation.harness, 5, seed=4)]
    assert [each.key for each in drawn] != [each.key for each in chosen(mutation.harness, 5, seed=5)]
    done: list[tuple[int, int]] = []
    alone = judged_all(mutation, drawn)
    shared = judged_all(mutation, drawn, 2, lambda *at: done.append(at))
    assert done == [(at, 5) for at in range(1, 6)]
    assert [_bare(each) for each in alone] == [_bare(each) for each in shared]


def _bare(outcome: object) -> tuple[object, ...]:
    if isinstance(outcome, Noticed):
        return outcome.fault.key, outcome.rule, outcome.message
    return outcome.fault.key, outcome.differs, outcome.line  # type: ignore[attr-defined]


def test_what_a_waiver_keeps_quiet_is_not_noticed() -> None:
    lost = "wire 4 from BUTTON.2 to HORN.+ is missing"
    assert lost in {each.fault.says for each in scored(read_text(HORN, "horn.loom")).noticed}
    plain = HORN.replace("expect in honking: HORN.tone live\n", "")
    rules = ("never-live", "loose-end", "unused-part", "floating-ground", "lost-ground")
    waived = plain + "".join(f'waive {rule} for HORN, BUTTON, 5, 3 because "on the bench"\n' for rule in rules)
    assert lost not in {each.fault.says for each in scored(read_text(waived, "horn.loom")).noticed}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("expect in parkd: HORN.tone live", "no state is named `parkd`"),
        ("state x { KEY on }", "is no `expect` line"),
        ("expect in parked: HORN.tone live\nexpect in parked: HORN.tone dead", "is no `expect` line"),
        ("expect in parked HORN.tone live", "is not allowed here"),
    ],
)
def test_a_line_that_is_none_says_so(line: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        read_expectation(line, read_text(HORN, "horn.loom").harness)


def test_nothing_to_put_a_fault_into() -> None:
    empty = Reading(harness=read_text('loom "Empty"\n').harness, mistakes=(), texts={})
    found = scored(empty)
    assert (found.faults, found.share) == (0, 1.0)
    assert mutation_text(found, "x.loom") == "x.loom: there is nothing to put a fault into\n"
