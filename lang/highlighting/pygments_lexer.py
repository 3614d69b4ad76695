"""The Pygments lexer for ``.loom`` files, found by Pygments through the entry point ``pygments.lexers``."""

from __future__ import annotations

from typing import Any, ClassVar

from pygments.lexer import RegexLexer, bygroups
from pygments.token import (
    Comment,
    Keyword,
    Literal,
    Name,
    Number,
    Operator,
    Punctuation,
    String,
    Whitespace,
)

from .shapes import SHAPES, Shape

_TOKENS: dict[str, Any] = {
    "comment": Comment.Single,
    "string": String.Double,
    "statement": Keyword.Declaration,
    "defined": Name.Variable,
    "kept": Operator.Word,
    "word": Name.Builtin,
    "number": Number,
    "unit": Keyword.Type,
    "colour": Literal,
    "part": Name.Entity,
    "terminal": Name.Attribute,
    "name": Name,
    "punctuation": Punctuation,
    "space": Whitespace,
}


def _rule(shape: Shape) -> tuple[str, Any]:
    tokens = [_TOKENS[role] for role in shape.roles]
    return (shape.pattern, tokens[0] if len(tokens) == 1 else bygroups(*tokens))


class LoomLexer(RegexLexer):  # type: ignore[misc]  # Pygments has no types
    """Loomwright's harness language."""

    name = "Loomwright"
    aliases: ClassVar[list[str]] = ["loom"]
    filenames: ClassVar[list[str]] = ["*.loom"]
    tokens: ClassVar[dict[str, list[Any]]] = {"root": [*map(_rule, SHAPES), (r"\r?\n", Whitespace)]}
