"""Fingerprints: known lists of accepted findings, and hosts that follow a finding, must find it again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.findings.fingerprint import Fingerprints
from loomwright.checks.runner.run import Report
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.model.harness import Harness
from loomwright.render.formats.entries import entries

FILE = "bikes/my twin.loom"
THIN = Finding(
    rule="thin-conductor",
    level=Level.ERROR,
    message="wire 7 is thin",
    span=Span(FILE, 3, 1, 2),
    about=("7", "MAIN"),
    state="riding",
)
WRITTEN_DOWN = ["40eaeb7de12f8a9ae316c9bbcaf3a8a9", "324ee7a80ebf3ef306bdc5fab8d5d655"]
"""The fingerprints of this finding and of its twin, as the first version of the lists has them."""


def test_a_finding_keeps_the_fingerprint_that_lists_have() -> None:
    found = Fingerprints()
    assert [found.of_finding(THIN), found.of_finding(THIN)] == WRITTEN_DOWN
    assert Fingerprints().of("thin-conductor", FILE, "7", "MAIN", "riding") == WRITTEN_DOWN[0]


def test_words_lines_and_the_order_of_names_are_of_no_account() -> None:
    moved = replace(THIN, message="other words", span=Span(FILE, 90, 2, 3), about=("MAIN", "7"), level=Level.NOTE)
    assert Fingerprints().of_finding(moved) == WRITTEN_DOWN[0]
    for other in (replace(THIN, state=""), replace(THIN, about=("7",)), replace(THIN, rule="thin-return")):
        assert Fingerprints().of_finding(other) not in WRITTEN_DOWN


def test_reports_have_the_same_ones() -> None:
    report = Report(harness=Harness(file=FILE), mistakes=(), findings=(THIN,), waived=(THIN,), texts={})
    assert [entry.fingerprint for entry in entries([report], waived=True)] == WRITTEN_DOWN


def test_names_are_seen_from_the_folder_of_the_list(tmp_path: Path) -> None:
    here = replace(THIN, span=Span(str(tmp_path / FILE), 3, 1, 2))
    assert Fingerprints(tmp_path).of_finding(here) == WRITTEN_DOWN[0]
