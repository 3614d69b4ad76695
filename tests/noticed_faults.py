"""Every single fault of the demonstrations: 95 % of those that can be noticed must be, and each proposed line must do.

``python tests/noticed_faults.py [FILE ...]`` prints the score of each, and what takes the time.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

from loomwright.checks.proof.mutation import Mutation, Score, Survivor, chosen, judged_all, score
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_expectation, read_file
from loomwright.lang.model.harness import Reading

SPECS = Path(__file__).resolve().parents[1] / "specs"
TODAY = date(2026, 1, 1)
GOAL = 0.95


def scored(reading: Reading, sample: int | None = None, seed: int = 0, jobs: int = 1) -> Score:
    mutation = Mutation(reading, today=TODAY)
    return score(judged_all(mutation, chosen(mutation.harness, sample, seed), jobs))


def wrong_line(reading: Reading, survivor: Survivor) -> str:
    """Why a proposed line is none, by a whole check of the harness with it and without; empty where it is right."""
    expectation = read_expectation(survivor.line, reading.harness)
    for harness, holds in ((reading.harness, True), (survivor.fault.apply(), False)):
        with_line = replace(harness, expectations=(*harness.expectations, expectation))
        report = check(replace(reading, harness=with_line), today=TODAY)
        unmet = [each for each in report.findings if each.rule == "unmet-expectation" and each.span.line == 1]
        if report.unchecked or holds == bool(unmet):
            return f"{survivor.fault.key}: `{survivor.line}` {'does not hold' if holds else 'holds'}"
    return ""


def main(files: list[str]) -> int:
    bad = 0
    for file in files or [str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom")]:
        reading = read_file(file)
        start = time.process_time()
        found = scored(reading)
        seconds = time.process_time() - start
        wrong = [said for survivor in found.missed if (said := wrong_line(reading, survivor))]
        print(f"{file}: {found.share:.1%} of {len(found.noticed) + len(found.missed)}, {found.faults} faults, ", end="")
        print(f"{len(found.beyond)} beyond, {seconds / max(found.faults, 1) * 1000:.0f} s of processor time a thousand")
        print(*wrong, sep="\n", end="\n" if wrong else "")
        bad += bool(wrong) or found.share < GOAL
    return int(bool(bad))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
