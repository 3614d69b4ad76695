"""The grammar itself: no silent conflict, no lost terminal, and the words of the table and of the grammar agree."""

from __future__ import annotations

import re
from typing import Any

import pytest
from lark import Lark, UnexpectedToken
from lark.lexer import LexerThread

from loomwright.lang.syntax import parse_tables
from loomwright.lang.syntax.grammar import START, TABLES, grammar_text, made_of, parser, tables_text, worked_out
from loomwright.lang.vocabulary.statements import STATEMENTS
from loomwright.lang.vocabulary.words import KEPT_WORDS


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


def test_the_kept_tables_are_those_that_lark_makes_of_the_grammar() -> None:
    """Else every start works them out: ``python -m loomwright.lang.syntax.grammar`` writes them."""
    assert TABLES.read_text("utf-8") == tables_text()
    assert made_of() == parse_tables.MADE_OF


def test_tables_of_another_grammar_are_not_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parse_tables, "MADE_OF", (0, (), ""))
    monkeypatch.setattr(parse_tables, "DATA", {})
    assert isinstance(parser(None), Lark)


@pytest.mark.parametrize("line", ["wire 1 A.b to C.d 1 mm2 red", "wire 1 A.b C", "state one", "fuse F 10", "part"])
def test_kept_tables_read_a_line_as_lark_does(line: str) -> None:
    """Tree or complaint: the same tokens fit, and where none does the same ones would have."""

    def read(lark: Lark) -> object:
        thread: Any = LexerThread
        tokens = list(thread.from_text(lark.parser.lexer.basic, line).lex(None))
        rule = STATEMENTS[line.split(maxsplit=1)[0]].rule if line.split(maxsplit=1)[0] in STATEMENTS else "_other"
        try:
            return lark.parse(tokens, rule)  # type: ignore[arg-type]
        except UnexpectedToken as error:
            return str(error.token), sorted(error.accepts or error.expected)

    assert read(parser(None)) == read(worked_out(None))
