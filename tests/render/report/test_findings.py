"""The text report: its first lines, the evidence below, the marked spot, and when it is coloured."""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.findings.finding import Figure, Finding, Level
from loomwright.checks.runner.run import Report
from loomwright.lang.diagnostics.diagnostic import Diagnostic, Note, Span
from loomwright.lang.model.harness import Harness
from loomwright.render.report.findings import report_text, source_lines, visible, wants_colour

TEXT = 'loom "Fennmoor 480 twin"\nwire 1 BAT.+ to MAIN.1\tred 30A\r\nfuse MAIN 20 A\n'
# The GNU coding standards, "Formatting Error Messages": sourcefile:lineno:column: message
GNU = re.compile(r"^(?P<file>[^:]+):(?P<line>\d+):(?P<column>\d+): (?P<level>error|warning|note): .+ \[[a-z0-9-]+\]$")

DRAIN = Finding(
    rule="key-off-drain",
    level=Level.WARNING,
    message="BAT is half empty after 12 days with the key out",
    span=Span("bike.loom", 7, 1, 4),
    about=("BAT", "CTRL"),
    combination=(("KEY", "off"), ("engine", "off")),
    path=("BAT.+", "wire 1", "CTRL"),
    figures=(Figure("draws", 0.0241, "A"), Figure("lasts", 12.0, "d")),
    source="30 days, ours",
    remedy="feed CTRL behind KEY",
    notes=(Note("CTRL is here", Span("bike.loom", 9, 1, 5)),),
)
BARE = Finding(rule="unused-part", level=Level.NOTE, message="R1 is not wired", span=Span("bike.loom", 2, 1, 2))
MISTAKE = Diagnostic(
    kind="missing-space",
    span=Span("bike.loom", 2, 28, 31),
    message="no space between 30 and A",
    expected="a number, a space and a unit",
    nearest="30 A",
    remedy="write 30 A",
)


def report(**changes: object) -> Report:
    fields = {
        "harness": Harness(file="bike.loom"),
        "mistakes": (),
        "findings": (),
        "waived": (),
        "texts": {"bike.loom": TEXT},
    }
    return Report(**{**fields, **changes})  # type: ignore[arg-type]


def test_a_finding_and_its_evidence() -> None:
    assert report_text(report(findings=(BARE, DRAIN))).splitlines() == [
        "bike.loom:7:1: warning: BAT is half empty after 12 days with the key out [key-off-drain]",
        "    with: KEY off, engine off",
        "    path: BAT.+ - wire 1 - CTRL",
        "    draws: 0.0241 A",
        "    lasts: 12 d",
        "    source: 30 days, ours",
        "    fix: feed CTRL behind KEY",
        "    bike.loom:9:1: CTRL is here",
        "bike.loom:2:1: note: R1 is not wired [unused-part]",
        "bike.loom: 1 warning, 1 note",
    ]


def test_a_mistake_shows_its_line_with_the_spot_marked() -> None:
    text = report_text(report(mistakes=(MISTAKE,), unchecked="the harness was not checked"))
    assert text.splitlines() == [
        "bike.loom:2:28: error: no space between 30 and A [missing-space]",
        "    wire 1 BAT.+ to MAIN.1\tred 30A",
        "                          \t    ^^^",
        "    expected: a number, a space and a unit",
        "    nearest known name: 30 A",
        "    fix: write 30 A",
        "bike.loom: 1 error; the harness was not checked",
    ]


@pytest.mark.parametrize(
    ("changes", "last"),
    [
        ({}, "bike.loom: nothing found"),
        ({"rules": 66}, "bike.loom: nothing found (66 rules over 0 wires)"),
        ({"waived": (DRAIN,)}, "bike.loom: nothing found, 1 waived"),
        ({"findings": (DRAIN, DRAIN, BARE), "waived": (BARE,)}, "bike.loom: 2 warnings, 1 note, 1 waived"),
    ],
)
def test_the_last_line_counts(changes: dict[str, object], last: str) -> None:
    assert report_text(report(**changes)).splitlines()[-1] == last


def test_waived_findings_are_listed_where_asked_for() -> None:
    waived = Finding(rule="loose-end", level=Level.ERROR, message="m", span=Span("b", 1, 1, 2), waived="spare lead")
    assert "spare lead" not in report_text(report(waived=(waived,)))
    assert "    waived: spare lead" in report_text(report(waived=(waived,)), waived=True).splitlines()


@given(st.text(), st.text(min_size=1), st.integers(1, 9), st.integers(1, 40), st.integers(0, 9))
def test_any_text_gives_lines_that_editors_and_terminals_can_take(
    source: str, message: str, line: int, column: int, length: int
) -> None:
    mistake = Diagnostic(
        kind="odd", span=Span("a.loom", line, column, column + length), message=message, nearest=message
    )
    text = report_text(report(mistakes=(mistake,), texts={"a.loom": source}))
    assert GNU.match(text.split("\n", 1)[0])
    assert "\x1b" not in text
    assert all(character in "\n\t" or character.isprintable() or character.isspace() for character in text)


def test_a_wide_letter_takes_two_columns_of_a_terminal() -> None:
    mistake = Diagnostic(kind="odd", span=Span("a.loom", 1, 7, 9), message="m")
    text = report_text(report(mistakes=(mistake,), texts={"a.loom": "load \u96fb\u8d77\u52d5"}))
    assert text.splitlines()[1:3] == ["    load \u96fb\u8d77\u52d5", "    " + " " * 7 + "^^^^"]


def test_colours_add_nothing_but_colours() -> None:
    everything = report(findings=(BARE, DRAIN), mistakes=(MISTAKE,))
    coloured = report_text(everything, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == report_text(everything)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("environment", "on_a_terminal", "in_a_pipe"),
    [  # https://no-color.org and https://force-color.org: set and not empty counts
        ({}, True, False),
        ({"NO_COLOR": "1"}, False, False),
        ({"NO_COLOR": ""}, True, False),
        ({"FORCE_COLOR": "1"}, True, True),
        ({"FORCE_COLOR": ""}, True, False),
        ({"NO_COLOR": "1", "FORCE_COLOR": "1"}, False, False),
        ({"TERM": "dumb"}, False, False),
        ({"TERM": "dumb", "FORCE_COLOR": "1"}, True, True),
    ],
)
def test_when_to_colour(environment: dict[str, str], on_a_terminal: bool, in_a_pipe: bool) -> None:
    assert wants_colour(Terminal(), environment) is on_a_terminal
    assert wants_colour(io.StringIO(), environment) is in_a_pipe


def test_what_a_terminal_would_obey_is_not_written() -> None:
    assert visible("a\x1b[2Jb\u202ec\td") == "a\ufffd[2Jb\ufffdc\td"


def test_lines_are_counted_as_the_language_counts_them() -> None:
    assert source_lines("\ufeffa\r\nb\x0bc\u2028d\n") == ["a", "b\x0bc\u2028d", ""]
