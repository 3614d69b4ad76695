"""Both highlighters over every harness of the repository: no token is left an error, and words mean what they are."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from pygments.lexers import find_lexer_class_for_filename
from pygments.token import Comment, Error, Keyword, Literal, Name, Number, Operator, Punctuation

from loomwright.lang.highlighting import textmate
from loomwright.lang.highlighting.pygments_lexer import LoomLexer
from loomwright.lang.vocabulary.kinds import KINDS
from loomwright.lang.vocabulary.statements import STATEMENTS
from loomwright.lang.vocabulary.words import KEPT_WORDS

ROOT = Path(__file__).parents[3]
SPECS = sorted((ROOT / "specs").rglob("*.loom")) + sorted((ROOT / "lang" / "library").glob("*.loom"))
GRAMMAR = ROOT / "lang" / "highlighting" / "loom.tmLanguage.json"


def tokens(text: str) -> list[tuple[object, str]]:
    return [(kind, value) for kind, value in LoomLexer().get_tokens(text) if value.strip()]


@pytest.mark.parametrize("path", SPECS, ids=lambda path: str(path.relative_to(ROOT)))
def test_pygments_leaves_no_token_an_error(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    found = list(LoomLexer().get_tokens(text))
    assert not [value for kind, value in found if kind in Error]
    assert "".join(value for _, value in found).strip() == text.strip(), "a highlighter loses nothing"


def test_pygments_finds_the_lexer_by_the_file_name() -> None:
    assert find_lexer_class_for_filename("twin.loom") is LoomLexer


def test_a_wire_in_colours() -> None:
    assert tokens("wire 12a KEY.30 to C1.3s red/white 2.5 mm2 via C1.3 # main") == [
        (Keyword.Declaration, "wire"),
        (Name.Variable, "12a"),
        (Name.Entity, "KEY"),
        (Punctuation, "."),
        (Name.Attribute, "30"),
        (Operator.Word, "to"),
        (Name.Entity, "C1"),
        (Punctuation, "."),
        (Name.Attribute, "3s"),
        (Literal, "red/white"),
        (Number, "2.5"),
        (Keyword.Type, "mm2"),
        (Operator.Word, "via"),
        (Name.Entity, "C1"),
        (Punctuation, "."),
        (Name.Attribute, "3"),
        (Comment.Single, "# main"),
    ]


def test_an_unclosed_string_is_an_error() -> None:
    assert [value for kind, value in LoomLexer().get_tokens('loom "Fenn\nplace tray') if kind in Error] == ['"']


@pytest.mark.parametrize("word", [*KINDS, *STATEMENTS])
def test_every_statement_is_known(word: str) -> None:
    assert tokens(f"{word} X")[0] == (Keyword.Declaration, word)


@pytest.mark.parametrize("word", KEPT_WORDS)
def test_every_kept_word_is_known(word: str) -> None:
    assert (Operator.Word, word) in tokens(f"A {word} B")


def test_the_textmate_grammar_is_current() -> None:
    assert GRAMMAR.read_text(encoding="utf-8") == textmate.grammar(), "write it again: see DEVELOPERS.md"


@pytest.fixture(scope="module")
def textmate_parser() -> object:
    """An independent reader of TextMate grammars, with the regular expressions (Oniguruma) that editors use."""
    from textmate_grammar.parsers.base import LanguageParser

    return LanguageParser(json.loads(textmate.grammar()))


@pytest.mark.parametrize(
    "path", [path for path in SPECS if path.stem in ("stock", "rebuild")], ids=lambda path: path.stem
)
def test_textmate_marks_nothing_illegal_and_leaves_no_word_plain(path: Path, textmate_parser: object) -> None:
    text = path.read_text(encoding="utf-8")
    element = textmate_parser.parse_string(text)  # type: ignore[attr-defined]
    covered = set()
    for (line, column), content, scopes in element.flatten():
        assert not any(scope.startswith("invalid") for scope in scopes), (line, content)
        if len(scopes) > 1:
            covered.update((line, column + offset) for offset in range(len(content)))
    plain = [
        (line, column, char)
        for line, row in enumerate(text.split("\n"))
        for column, char in enumerate(row)
        if not char.isspace() and (line, column) not in covered
    ]
    assert not plain[:5]
