"""Renaming a part, a wire, a place, a state or a pattern wherever it is mentioned; refused where that changes more.

What is a good name is not said again here: the texts are read with the new name in place, and a mistake that was not
there before is the reason to refuse.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.diagnostic import Span
from ...lang.records import dataclass
from ...lang.syntax.tree import Inner, PartLine, Statement, WireLine
from .navigation import alike
from .occurrences import NAMED, Occurrence
from .workspace import in_library

if TYPE_CHECKING:
    from ...lang.model.harness import Reading
    from ...lang.syntax.tree import Syntax
    from .workspace import Understood

_WORD: Final = re.compile(r"[\w-]+")


class RefusedError(Exception):
    """Why a thing is not renamed; ``str()`` is one sentence for the user."""


@dataclass(frozen=True, slots=True)
class Change:
    """A stretch of a line and what is there afterwards; an empty stretch is an insertion."""

    span: Span
    text: str


def check_nameable(mention: Occurrence | None) -> Occurrence:
    """What can be renamed. Raises ``RefusedError``."""
    if mention is None:
        raise RefusedError("there is no name here")
    if mention.sort not in NAMED:
        what = {"terminal": "terminals", "inner": "elements, positions, inputs and outputs", "rule": "rules"}
        raise RefusedError(f"{what.get(mention.sort, 'this')} cannot be renamed here: edit the line that names it")
    return mention


def renamed(
    knowns: Iterable[Understood],
    mention: Occurrence,
    name: str,
    reread: Callable[[str, Mapping[str, str]], Reading],
    old_names: frozenset[str] = frozenset(),
) -> tuple[Change, ...]:
    """What changes when a thing is renamed in the harnesses that mention it, by place. Raises ``RefusedError``.

    ``reread`` reads a harness, by its root, with other texts in place of some files. ``old_names`` are those of the
    harness that this one converts: a part that it knows by the old name says so with ``was``.
    """
    check_nameable(mention)
    if _WORD.fullmatch(name) is None:
        raise RefusedError(f"`{name}` is no name: a name is letters, digits, `-` and `_`")
    if name == mention.name:
        return ()
    changes: set[Change] = set()
    knowns = tuple(knowns)
    for known in knowns:
        _check_readable(known)
        same = alike(known.harness, mention)
        found = [m for m in known.all_mentions if m.key in same]
        if foreign := [m.span.file for m in found if m.defines and in_library(m.span.file)]:
            raise RefusedError(f"`{mention.name}` comes with the tool, in {foreign[0]}, and is not yours to rename")
        changes |= {Change(m.span, name) for m in found}
        if mention.sort in ("part", "wire") and mention.name in old_names:
            changes |= set(_said_before(known, mention.name))
    ordered = tuple(sorted(changes, key=lambda change: (change.span, change.text)))
    for known in knowns:
        texts = {file: applied(syntax, ordered) for file, syntax in known.syntaxes.items()}
        _check_same(known, reread(known.root, texts), mention.name)
    return ordered


def _check_readable(known: Understood) -> None:
    """A line that cannot be read may mention the name."""
    for syntax in known.syntaxes.values():
        for statement in syntax.statements:
            lines: list[Statement | Inner] = [statement, *(statement.block or ())]
            if lost := next((line for line in lines if line.node is None), None):
                raise RefusedError(f"line {lost.line} of {_short(lost.file)} cannot be read, and may mention it")


def _check_same(known: Understood, after: Reading, old: str) -> None:
    was = Counter(mistake.kind for mistake in known.reading.mistakes)
    for mistake in after.mistakes:
        if not was[mistake.kind]:
            raise RefusedError(mistake.message)
        was[mistake.kind] -= 1
    harness = after.harness
    if old in harness.parts or old in harness.wires:
        raise RefusedError(f"`{old}` is defined in more than one place")


def _said_before(known: Understood, name: str) -> Iterable[Change]:
    """``was NAME`` on the line that defines a thing, where it says no other name of old."""
    for syntax in known.syntaxes.values():
        for statement in syntax.statements:
            node = statement.node
            if isinstance(node, PartLine | WireLine) and node.name.value == name:
                thing = known.harness.parts.get(name) or known.harness.wires.get(name)
                if thing is not None and thing.was is None:
                    yield Change(_end_of(statement), f" was {name}")


def _end_of(statement: Statement) -> Span:
    """Behind the traits of a line, before its label."""
    tokens = statement.tokens
    last = tokens[-2] if tokens[-1].type == "STRING" else tokens[-1]
    end = last.end_column
    return replace(statement.span(), column=end, end_column=end)


def applied(syntax: Syntax, changes: Iterable[Change]) -> str:
    """A file's text with the changes in it."""
    rows = syntax.text.split("\n")
    for change in sorted(changes, key=lambda each: each.span, reverse=True):
        span = change.span
        if span.file == syntax.file:
            row = rows[span.line - 1]
            rows[span.line - 1] = row[: span.column - 1] + change.text + row[span.end_column - 1 :]
    return "\n".join(rows)


def _short(file: str) -> str:
    return file.rpartition("/")[2]
