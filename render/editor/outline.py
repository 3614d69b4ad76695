"""The things that a text defines, for an editor's list of symbols."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from ...lang.diagnostics.diagnostic import Span
from ...lang.records import dataclass
from ...lang.syntax.tree import ExpectLine, PartLine, PatternLine, PlaceLine, StateLine, TitledLine, WireLine

if TYPE_CHECKING:
    from ...lang.syntax.tree import Statement, Syntax
    from .occurrences import Occurrence

SymbolSort = Literal["title", "place", "part", "pattern", "wire", "state", "expect", "inner"]


@dataclass(frozen=True, slots=True)
class Symbol:
    """A thing: from ``start`` to ``end`` of its statement, which holds ``name_span``."""

    name: str
    detail: str
    sort: SymbolSort
    start: Span
    end: Span
    name_span: Span
    children: tuple[Symbol, ...] = ()


def outline(syntax: Syntax, found: tuple[Occurrence, ...]) -> tuple[Symbol, ...]:
    """The symbols of a text, by place; what a part's block names is below the part."""
    ends = _closing_braces(syntax)
    return tuple(symbol for statement in syntax.statements for symbol in _of(statement, found, ends))


def _of(statement: Statement, found: tuple[Occurrence, ...], ends: dict[int, Span]) -> Iterator[Symbol]:
    node, line = statement.node, statement.span()
    sort: SymbolSort
    match node:
        case TitledLine(text) if statement.head == "loom":
            yield Symbol(text.value[1:-1] or "loom", "loom", "title", line, line, statement.span(text))
            return
        case PlaceLine(names):
            for token in names:
                yield Symbol(token.value, "place", "place", statement.span(token), statement.span(token),
                             statement.span(token))  # fmt: skip
            return
        case ExpectLine():
            words = " ".join(token.value for token in statement.tokens[1:])
            yield Symbol(words, "expect", "expect", line, line, line)
            return
        case PartLine(name, _):
            sort, detail = "part", statement.head
        case PatternLine(kind, name, _):
            sort, detail = "pattern", f"pattern {kind}"
        case WireLine(name, a, b, _):
            sort, detail = "wire", f"{a} to {b}"
        case StateLine(name):
            sort, detail = "state", "state"
        case _:
            return
    lines = [inner.line for inner in statement.block or ()]
    last = ends.get(max((statement.line, *lines)), line) if statement.block is not None else line
    children = [m for m in found if m.sort == "inner" and m.defines and line.line <= m.span.line <= last.line]
    owned = [m for m in children if (m.span.line, m.span.column) > (line.line, line.column)]
    yield Symbol(
        name.value,
        detail,
        sort,
        line,
        max(line, last),
        statement.span(name),
        tuple(Symbol(m.name, "", "inner", m.span, m.span, m.span) for m in owned if m.owner.endswith(name.value)),
    )


def _closing_braces(syntax: Syntax) -> dict[int, Span]:
    """For each line the next closing brace, on it or below."""
    found: dict[int, Span] = {}
    following: Span | None = None
    for number in range(len(syntax.lines), 0, -1):
        signs = [piece.sign for piece in syntax.lines[number - 1].pieces if piece.mark == "}" and piece.sign]
        if signs:
            column = signs[-1].column
            following = Span(syntax.file, number, column, column + 1)
        if following is not None:
            found[number] = following
    return found
