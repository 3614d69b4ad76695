"""The grammar itself: no silent conflict, no lost terminal, and the words of the table and of the grammar agree."""

from __future__ import annotations

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from lark import Lark, UnexpectedToken

from loomwright.lang.syntax import parse_tables
from loomwright.lang.syntax.grammar import (
    START,
    TABLES,
    grammar_tables,
    grammar_text,
    made_of,
    tables_text,
    worked_out,
)
from loomwright.lang.syntax.lalr import MisfitError, lexer, parser
from loomwright.lang.syntax.nodes import Nodes
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
    right = parse_tables.MADE
    monkeypatch.setattr(parse_tables, "MADE_OF", (0, ()))
    monkeypatch.setattr(parse_tables, "MADE", None)
    assert grammar_tables() == right


LARK = worked_out(Nodes())
LEX, PARSE = lexer(grammar_tables()), parser(grammar_tables(), Nodes())
WORDS = ("A.b", "1", "0.75", "mm2", "x", "white/red", ",", ":", "(", ")", '"a b"', '"a', "#", "§", ";", "\u00a0")
LINES = st.lists(st.sampled_from((*WORDS, *KEPT_WORDS, *STATEMENTS)), max_size=12)


@example(["part"], "part")
@example([], "line")
@example(["(", "not", "x", ")"], "expect")
@given(LINES, st.sampled_from(START))
def test_a_line_is_read_as_lark_reads_it(words: list[str], rule: str) -> None:
    """The same tokens; the same node or complaint: the same one does not fit, and the same ones would have."""
    line = " ".join(words)
    tokens = LEX(line)
    others = list(LARK.lex(line))
    assert [(t.type, t.value, t.start_pos, t.end_pos, t.column, t.end_column) for t in tokens] == [
        (t.type, t.value, t.start_pos, t.end_pos, t.column, t.end_column) for t in others
    ]
    found: object
    try:
        found = PARSE(tokens, rule)
    except MisfitError as error:
        place = None if error.token is None else next(i for i, each in enumerate(tokens) if each is error.token)
        found = place, error.fitting
    assert found == _by_lark(line, rule)


def _by_lark(line: str, rule: str) -> object:
    try:
        return LARK.parse(line, rule)
    except UnexpectedToken as error:
        starts = [token.start_pos for token in LARK.lex(line)]
        place = None if error.token.type == "$END" else starts.index(error.token.start_pos)
        return place, error.interactive_parser.accepts()
