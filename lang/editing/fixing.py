"""From the changes of a proposal to edits of the text.

A change names parts, wires and terminals as the text does (``proposals``). It becomes edits of the user's
own lines and nothing else: what names a line of a pattern, or a word that is not there as it was
expected, is refused (``FixError``).
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from ..diagnostics.messages import Diagnostics
from ..files.reading import load_used, read_text
from ..quantities.units import UNITS, is_number, unit_name
from ..syntax.parser import parse
from ..syntax.tree import CappedLine, MountLine, PartLine, Statement, Syntax, WireLine
from ..vocabulary.colours import colour_of
from .proposals import AddLine, AddWords, DropLine, MoveEnd, Resize, SetQuantity, SetWord, SwapEnds, SwapWords, TurnWire
from .resize import Edit, ResizeError, applied, edit_of

if TYPE_CHECKING:
    from ..model.harness import Reading
    from ..syntax.tokens import Token
    from ..syntax.tree import Inner
    from .proposals import Change


class FixError(Exception):
    """A change that the text has no place for; ``str()`` says which and why."""


# --- from changes to edits -------------------------------------------------------------------------------------------
def edits(syntaxes: Sequence[Syntax], changes: Iterable[Change]) -> dict[str, tuple[Edit, ...]]:
    """The edits of each file, which must be the user's own; the harness's file comes first.

    Raises ``FixError`` where a change finds no place or more than one.
    """
    found: dict[str, list[Edit]] = {}
    for change in changes:
        placed = [(file, edit) for file, edit in _edits(syntaxes, change) if edit is not None]
        if not placed:
            raise FixError(f"{change}: no line of the harness's own files has this")
        for file, edit in placed:
            if edit not in found.setdefault(file, []):
                found[file].append(edit)
    return {file: tuple(_together(each, file)) for file, each in found.items()}


def _together(found: Sequence[Edit], file: str) -> Iterator[Edit]:
    """Edits in the order of the text. Lines added at one place become one edit; what overlaps is refused."""
    last: Edit | None = None
    for edit in sorted(found, key=lambda each: (each.line, each.start, each.end)):
        if last is not None and edit.line == last.line and edit.start <= last.end:
            if edit.start == edit.end == last.start == last.end:
                last = Edit(edit.line, edit.start, edit.end, last.text + edit.text)
                continue
            raise FixError(f"{file}:{edit.line}: two changes of one word")
        if last is not None:
            yield last
        last = edit
    if last is not None:
        yield last


def _edits(syntaxes: Sequence[Syntax], change: Change) -> Iterator[tuple[str, Edit | None]]:
    if isinstance(change, AddLine):
        yield syntaxes[0].file, _added(syntaxes[0], change.text)
        return
    for syntax in syntaxes:
        for statement in syntax.statements:
            for edit in _in_statement(statement, change):
                yield syntax.file, edit


def _in_statement(statement: Statement, change: Change) -> Iterator[Edit | None]:
    match change:
        case Resize():
            yield edit_of(statement, dict(change.sizes), dict(change.ratings))
        case SwapEnds():
            to = {change.one: change.other, change.other: change.one}
            for token in _ends(statement):
                if token.value in to:
                    yield _over(statement, token, token, to[token.value])
        case MoveEnd():
            mounted = isinstance(statement.node, MountLine) and not change.wire
            if mounted or (isinstance(statement.node, WireLine) and statement.node.name.value == change.wire):
                for token in _ends(statement):
                    if token.value == change.old:
                        yield _over(statement, token, token, change.new)
        case SwapWords():
            yield from _swapped(statement, change)
        case SetWord() if _name(statement) == change.name:
            places = [t for t in statement.tokens[2:] if change.old in (t.value, _colour(t.value))]
            if len(places) == 1:
                yield _over(statement, places[0], places[0], change.new)
        case AddWords() if _name(statement) == change.name:
            last = statement.tokens[-1]
            end = last.end_column - 1
            yield Edit(statement.line, end, end, f" {change.words}")
        case SetQuantity() if _name(statement) == change.name:
            yield _quantity(statement, change)
        case TurnWire() if isinstance(statement.node, WireLine) and _name(statement) == change.name:
            a, b = _ends(statement)
            yield _over(statement, a, a, b.value)
            yield _over(statement, b, b, a.value)
        case DropLine():
            if (statement.file, statement.line) == (change.file, change.line) and statement.block is None:
                yield _over(statement, statement.tokens[0], statement.tokens[-1], "")
        case _:
            return


def _ends(statement: Statement) -> Iterator[Token]:
    match statement.node:
        case WireLine():
            yield statement.node.a
            yield statement.node.b
        case MountLine() | CappedLine():
            yield statement.node.end
        case _:
            return


def _name(statement: Statement) -> str:
    return str(statement.node.name.value) if isinstance(statement.node, PartLine | WireLine) else ""


def _colour(word: str) -> str:
    """A colour as the language first writes it: old diagrams have other words for some, and codes."""
    return "/".join(colour_of(each) or each for each in word.split("/"))


def _swapped(statement: Statement, change: SwapWords) -> Iterator[Edit]:
    if _name(statement) != change.part:
        return
    for inner in statement.block or ():
        if inner.tokens and inner.tokens[0].value == change.first:
            ones, others = ([t for t in inner.tokens if t.value == word] for word in (change.one, change.other))
            if len(ones) == len(others) == 1:
                yield _over(inner, ones[0], ones[0], change.other)
                yield _over(inner, others[0], others[0], change.one)


def _quantity(statement: Statement, change: SetQuantity) -> Edit | None:
    for before, (number, unit) in zip(statement.tokens[1:], pairwise(statement.tokens[2:]), strict=False):
        # What is behind `x` is the diameter of strands, no separate quantity.
        known = unit_name(unit.value) if is_number(number.value) and before.value != "x" else None
        if known is not None and UNITS[known].dimension == change.dimension:
            return _over(statement, number, unit, change.text)
    return None


def _over(line: Statement | Inner, first: Token, last: Token, text: str) -> Edit:
    start, end = first.column - 1, last.end_column - 1
    if not text and start > 0:
        start -= 1  # the space before it goes with a word
    return Edit(line.line, start, end, text)


def _added(syntax: Syntax, text: str) -> Edit:
    head = text.split(maxsplit=1)[0]
    rows = syntax.text.split("\n")
    alike = [s.line for s in syntax.statements if s.head == head and s.block is None]
    last = alike[-1] if alike else max((n for n, row in enumerate(rows, 1) if row.strip()), default=1)
    row = unicodedata.normalize("NFC", rows[last - 1].removeprefix("\ufeff"))
    ending = "\r\n" if row.endswith("\r") else "\n"
    column = len(row.removesuffix("\r"))
    return Edit(last, column, column, f"{ending}{text}")


# --- doing it --------------------------------------------------------------------------------------------------------
def fixed_texts(syntaxes: Sequence[Syntax], changes: Iterable[Change]) -> Mapping[str, str]:
    """The new text of each file that changes. Raises ``FixError``; nothing but the words of the changes differs."""
    texts = {}
    for file, each in edits(syntaxes, changes).items():
        before = next(s for s in syntaxes if s.file == file)
        try:
            texts[file] = applied(before.text, each, file)
        except ResizeError as error:
            raise FixError(str(error)) from error
        _prove(before, texts[file], each)
    return texts


def _prove(before: Syntax, after: str, changed: Iterable[Edit]) -> None:
    """Sees to it that the statements and lines of blocks on all other lines have the words that they had."""
    changed = tuple(changed)
    touched = {edit.line for edit in changed}
    added = [(edit.line, edit.text.count("\n")) for edit in changed]
    new = {line + sum(n for at, n in added if at < line): line for line in range(1, before.text.count("\n") + 2)}
    old_words = {line: words for line, words in _words(before) if line not in touched}
    new_words = {
        new[line]: words
        for line, words in _words(parse(after, before.file, Diagnostics()))
        if line in new and new[line] not in touched
    }
    if old_words != new_words:
        raise FixError(f"{before.file}: left as it is: more than the fix would change; please report it")


def _words(syntax: Syntax) -> Iterator[tuple[int, tuple[str, ...]]]:
    lines: dict[int, list[str]] = {}
    for statement in syntax.statements:
        lines.setdefault(statement.line, []).extend(str(token.value) for token in statement.tokens)
        for inner in statement.block or ():
            lines.setdefault(inner.line, []).extend(str(token.value) for token in inner.tokens)
    yield from ((line, tuple(words)) for line, words in lines.items())


def fixed_reading(reading: Reading, texts: Mapping[str, str]) -> Reading:
    """What is read with the new texts in the place of the old ones; nothing is written."""
    root = next(iter(reading.texts))
    known = {os.path.realpath(file): text for file, text in texts.items()}
    known |= {os.path.realpath(f): t for f, t in reading.texts.items() if os.path.realpath(f) not in known}

    def load(path: Path) -> str:
        real = os.path.realpath(path)
        return known[real] if real in known else load_used(path)

    return read_text(texts.get(root, reading.texts[root]), root, load=load)
