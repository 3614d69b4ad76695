"""Reading an edited text again: what is remembered of the last reading changes nothing but the time."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marked_text import LAMP as WHOLE

from loomwright.lang.diagnostics.messages import Diagnostics
from loomwright.lang.files.reading import read_text
from loomwright.lang.syntax import parser as syntax
from loomwright.lang.syntax.parser import Memory, parse

ROWS = WHOLE.split("\n")
NEW = st.sampled_from(
    [
        "",
        "}",
        "{",
        "wire 1 A.1 to B.1",
        "wire 1 A.1 zu B.1",
        "    on: 1 2",
        "    KEY on",
        "fuse F 5 A }",
        '"',
        "place é",
    ]
)
EDIT = st.tuples(st.sampled_from(["put", "take", "change"]), st.integers(0, len(ROWS) - 1), NEW)


def edited(rows: list[str], edits: list[tuple[str, int, str]]) -> list[str]:
    rows = [*rows]
    for how, place, row in edits:
        place %= max(1, len(rows))
        rows[place : place + (how != "put")] = [] if how == "take" else [row]
    return rows


def plain(value: Any) -> Any:
    """A syntax tree with each token as its word and columns."""
    if hasattr(value, "type") and hasattr(value, "column"):
        return (value.type, str(value), value.column, value.end_column)
    if isinstance(value, tuple):
        return (type(value).__name__, *map(plain, value))
    return value


@given(st.lists(st.lists(EDIT, min_size=1, max_size=3), min_size=1, max_size=4))
def test_remembered_or_not_is_the_same(steps: list[list[tuple[str, int, str]]]) -> None:
    memory, rows = Memory(), ROWS
    for edits in steps:
        rows = edited(rows, edits)
        text = "\n".join(rows)
        with_memory, without = Diagnostics(), Diagnostics()
        found = parse(text, "bike.loom", with_memory, memory)
        fresh = parse(text, "bike.loom", without)
        assert plain(found.statements) == plain(fresh.statements)
        assert plain(found.lines) == plain(fresh.lines)
        assert with_memory.sorted(["bike.loom"]) == without.sorted(["bike.loom"])


def test_only_new_lines_are_parsed(monkeypatch: pytest.MonkeyPatch) -> None:
    lex, parse_tokens = syntax.tools()
    lexed: list[str] = []
    parsed: list[str] = []

    def listening_lex(row: str) -> Any:
        lexed.append(row)
        return lex(row)

    def listening_parse(tokens: Any, rule: str) -> Any:
        parsed.append(rule)
        return parse_tokens(tokens, rule)

    monkeypatch.setattr(syntax, "tools", lambda: (listening_lex, listening_parse))
    memory = Memory()
    parse(WHOLE, "bike.loom", Diagnostics(), memory)
    assert len(parsed) > 20
    lexed.clear()
    parsed.clear()
    parse(WHOLE.replace("wire 2 MAIN.2", "wire 2  MAIN.1"), "bike.loom", Diagnostics(), memory)
    assert len(lexed) == 1
    assert parsed == ["wire"]


def test_texts_that_are_not_on_the_disk() -> None:
    def load(path: Any) -> str:
        if path.name != "parts.loom":
            raise FileNotFoundError(path)
        return "fuse MAIN 5 A\n"

    reading = read_text('loom "x"\nuse "parts.loom"\n', "bike.loom", load=load)
    assert not reading.mistakes
    assert set(reading.harness.parts) == {"MAIN"}
    (mistake,) = read_text('use "gone.loom"\n', "bike.loom", load=load).mistakes
    assert mistake.kind == "unreadable-use"
    assert "there is no such file" in mistake.message


def test_each_word_that_decides_has_a_meaning() -> None:
    from loomwright.lang.vocabulary.kinds import KINDS
    from loomwright.lang.vocabulary.meanings import MEANINGS
    from loomwright.lang.vocabulary.wires import WIRE_WORDS
    from loomwright.lang.vocabulary.words import Words

    def words(of: Words) -> set[str]:
        return {*of.flags, *of.keyed, *of.choices}

    found = words(WIRE_WORDS)
    for kind in KINDS.values():
        found |= words(kind.words)
        lines = [*kind.lines.values(), *([kind.free] if kind.free else [])]
        for line in lines:
            found |= words(line.words)
    assert found - set(MEANINGS) == set()
    assert all(meaning.strip() for meaning in MEANINGS.values())
