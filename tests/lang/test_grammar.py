"""The grammar itself: no silent conflict, no lost terminal, and the words of the table and of the grammar agree."""

from __future__ import annotations

import re

import pytest
from lark import Lark

from loomwright.lang.syntax import START, grammar_text
from loomwright.lang.words import KEPT_WORDS, STATEMENTS


def test_nothing_in_the_grammar_can_be_read_in_two_ways() -> None:
    """Lark's strict mode finds conflicts between rules, and (with interegular) terminals that match the same text."""
    pytest.importorskip("interegular")
    Lark(grammar_text(), parser="lalr", lexer="basic", strict=True, start=list(START))


def test_strict_mode_would_find_them() -> None:
    pytest.importorskip("interegular")
    two = grammar_text().replace("STRAY.-9:", "NUMBER: /[0-9]+/\nSTRAY.-9:").replace("| STRAY", "| STRAY | NUMBER")
    with pytest.raises(Exception, match="Collision between Terminals"):
        Lark(two, parser="lalr", lexer="basic", strict=True, start=list(START))


def test_every_terminal_is_used() -> None:
    """Lark drops a terminal that no rule uses, and what it would have matched is then something else."""
    lark = Lark(grammar_text(), parser="lalr", lexer="basic", start=list(START))
    written = set(re.findall(r"^([A-Z_]+)(?:\.-?\d+)?:", grammar_text(), re.MULTILINE))
    assert written - {terminal.name for terminal in lark.terminals} == set()


def test_kept_words_are_those_of_the_grammar() -> None:
    words = set(re.findall(r'^[A-Z_]+: "([a-z]+)"$', grammar_text(), re.MULTILINE))
    assert words == set(KEPT_WORDS)


def test_every_statement_has_a_rule() -> None:
    rules = set(re.findall(r"^([a-z_]+):", grammar_text(), re.MULTILINE))
    assert {form.rule for form in STATEMENTS.values()} <= rules
    assert {form.block for form in STATEMENTS.values() if form.block} <= rules
    assert not set(STATEMENTS) & set(KEPT_WORDS)
