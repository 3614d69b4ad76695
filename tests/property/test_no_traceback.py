"""Whatever is in a file: it is read, checked, tidied and reported without a traceback and without a long wait."""

from __future__ import annotations

import tempfile
import time
from datetime import date
from pathlib import Path

from click.testing import CliRunner
from damage import damaged
from hypothesis import example, given, settings
from hypothesis import strategies as st
from loom_texts import harnesses, messy

from loomwright.checks.runner.run import Report, check
from loomwright.cli import main
from loomwright.lang.editing.formatter import decoded, encoded, tidy
from loomwright.lang.files.reading import read_text
from loomwright.render.formats import annotations, code_quality, json_report, junit, sarif
from loomwright.render.report.findings import report_text

LONGEST = 2.0
"""Seconds of the processor for one file of up to some 60 lines."""

TODAY = date(2026, 1, 1)


def answered(data: bytes) -> Report:
    """Everything that is done with a file. Any exception is a failure."""
    start = time.process_time()
    text = decoded(data)
    report = check(read_text(text, "damaged.loom"), today=TODAY)
    for write in (json_report.write, sarif.write, junit.write, annotations.write, code_quality.write):
        write([report], waived=True)
    assert report_text(report, waived=True)
    encoded(tidy(text, "damaged.loom"))
    spent = time.process_time() - start
    assert spent < LONGEST
    return report


@given(st.integers(0, 2**32))
@settings(max_examples=150)
@example(0)
def test_damaged_harnesses(seed: int) -> None:
    report = answered(damaged(seed))
    broken = [finding.message for finding in report.findings if finding.outcome == "broken-down"]
    assert broken == []


@given(st.data())
@settings(max_examples=40)
def test_harnesses_made_from_the_table_of_words(data: st.DataObject) -> None:
    text = data.draw(messy(data.draw(harnesses()), comments=True))
    report = answered(text.encode())
    assert report.mistakes == ()
    assert [f.message for f in report.findings if "fault of Loomwright" in f.message] == []


@given(st.binary(max_size=300))
@example(b"\x0b")
@settings(max_examples=60)
def test_any_bytes_at_all(data: bytes) -> None:
    answered(data)


LOG = "# A log\n\n```loomwright draw\n```\n"


@given(st.data())
@settings(max_examples=8)
def test_what_writes_a_file_writes_it_or_says_why_not(data: st.DataObject) -> None:
    text = data.draw(messy(data.draw(harnesses()), comments=True))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "odd.loom").write_text(text, "utf-8")
        (folder / "odd-log.md").write_text(LOG, "utf-8")
        for command, target in (
            (("export",), "odd.json"),
            (("page", "--log", str(folder / "odd-log.md")), "page.html"),
            (("log",), "log.html"),
            (("draw", "--paper", "A3"), "odd.pdf"),
        ):
            line = [*command, str(folder / "odd.loom"), "-o", str(folder / target)]
            done = CliRunner().invoke(main, line, catch_exceptions=False)
            assert done.exit_code in (0, 1, 2)
            assert (folder / target).is_file() == (done.exit_code == 0)
            assert done.exit_code == 0 or done.stderr, "what is not written is accounted for"
