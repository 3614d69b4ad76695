"""The page for users says what the tool does: its tables are current, its examples are read."""

from __future__ import annotations

import re

import pytest

from loomwright.lang.files.reading import read_text
from loomwright.lang.resolve.routes import SLACK, TAILS
from loomwright.lang.syntax.lexing import LONGEST_LINE
from loomwright.lang.syntax.pieces import DEEPEST_BRACKETS
from loomwright.lang.vocabulary import reference
from loomwright.lang.vocabulary.kinds import KINDS, ROLES, SYSTEMS, WHATS
from loomwright.lang.vocabulary.statements import STATEMENTS
from loomwright.lang.vocabulary.words import KEPT_WORDS, SENSED

PAGE = reference.PAGE.read_text("utf-8")
EXAMPLES = re.findall(r"^```loom\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
WRONG = re.findall(r"^```loom-wrong\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


def test_tables_are_current() -> None:
    assert reference.current(PAGE) == PAGE, "run `python -m loomwright.lang.vocabulary.reference`"


def test_every_table_is_shown() -> None:
    assert set(re.findall(r"<!-- made: ([a-z ]+) -->", PAGE)) == set(reference.TABLES)
    assert PAGE.count("<!-- made:") == PAGE.count("<!-- end -->")


def test_all_examples_are_one_harness_without_a_mistake() -> None:
    reading = read_text("\n".join(EXAMPLES))
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    assert len(reading.harness.parts) > 25


def test_examples_show_every_statement_and_most_kinds() -> None:
    heads = {line.split()[0] for example in EXAMPLES for line in example.split("\n") if line and line[0].isalpha()}
    kinds = set(KINDS)
    assert set(STATEMENTS) - kinds <= heads
    assert len(kinds & heads) >= 10


@pytest.mark.parametrize("text", WRONG)
def test_what_is_shown_as_wrong_is(text: str) -> None:
    reading = read_text(f"place tray, headstock\n{text}")
    assert len(reading.mistakes) == 1
    assert reading.mistakes[0].expected


@pytest.mark.parametrize("word", sorted({*WHATS, *ROLES, *SYSTEMS, *SENSED, *KEPT_WORDS}))
def test_every_word_that_decides_is_on_the_page(word: str) -> None:
    assert f"`{word}`" in PAGE


def test_figures_on_the_page_are_those_of_the_code() -> None:
    assert f"plus {SLACK * 100:g} % and {TAILS:g} m for its two ends" in PAGE
    assert f"{DEEPEST_BRACKETS} deep at most" in PAGE
    assert f"at most {LONGEST_LINE:,} characters" in PAGE
