"""Writing other sizes of wires and other ratings of fuses into harness files, and leaving every other byte as it was.

A wire without a written size gets one where the layout of the language has it; a fuse without a rating likewise. What
comes out is read again before anything is written: nothing but the sizes and ratings asked for may differ.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ..diagnostics.messages import Diagnostics
from ..quantities.size import Size
from ..quantities.units import UNITS, is_number, unit_name
from ..records import dataclass
from ..syntax.parser import parse
from ..syntax.tree import Marked, PartLine, Statement, WireLine
from ..vocabulary.wires import WIRE_TRAITS
from .formatter import decoded, encoded
from .replace import ChangedError, replace_file

if TYPE_CHECKING:
    from ..syntax.tokens import Token

_BEFORE_SIZE: Final = WIRE_TRAITS[: WIRE_TRAITS.index("size")]
"""What the layout has between a wire's ends and its size."""


class ResizeError(Exception):
    """A file that is better left alone; ``str()`` says which and why."""


@dataclass(frozen=True, slots=True)
class Edit:
    """A stretch of a line, in code points from 0, and what is there instead."""

    line: int
    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True)
class Resized:
    """A file's bytes before and after."""

    file: str
    before: bytes
    after: bytes


def resized_files(files: Iterable[str], sizes: Mapping[str, Size], ratings: Mapping[str, float]) -> tuple[Resized, ...]:
    """The files that change, with new sizes of wires and new ratings in A of fuses in them.

    Raises ``ResizeError`` where a name is in none of the files, or where a text is better left alone; ``OSError`` where
    a file cannot be read.
    """
    left = {*sizes, *ratings}
    changed = []
    for file in files:
        before = Path(file).read_bytes()
        text = decoded(before)
        edits: list[Edit] = []
        for statement in parse(text, file, Diagnostics()).statements:
            name = _name(statement)
            edit = edit_of(statement, sizes, ratings) if name in left else None
            if edit is not None:
                edits.append(edit)
                left.discard(name)
        if not edits:
            continue
        after = applied(text, edits, file)
        _prove(text, after, edits, file)
        changed.append(Resized(file, before, encoded(after)))
    if left:
        raise ResizeError(f"{', '.join(sorted(left))}: no line of these files describes them")
    return tuple(changed)


def edit_of(statement: Statement, sizes: Mapping[str, Size], ratings: Mapping[str, float]) -> Edit | None:
    """What gives the wire or fuse of a statement its new size or rating; ``None`` where it describes none of them."""
    name = _name(statement)
    if isinstance(statement.node, WireLine) and name in sizes:
        return _wire_edit(statement, statement.node, sizes[name])
    if isinstance(statement.node, PartLine) and name in ratings:
        return _fuse_edit(statement, statement.node, ratings[name])
    return None


def write_all(changed: Sequence[Resized]) -> None:
    """Puts new texts in the place of the old ones: all of them, or none.

    Raises ``OSError``; the files are then what they were, as far as the disk allows.
    """
    for each in changed:
        if Path(each.file).read_bytes() != each.before:
            raise ChangedError(Path(each.file))
    written: list[Resized] = []
    try:
        for each in changed:
            replace_file(Path(each.file), each.after, was=each.before)
            written.append(each)
    except OSError:
        for done in reversed(written):
            replace_file(Path(done.file), done.before, was=done.after)
        raise


# --- where ------------------------------------------------------------------------------------------------------------
def _name(statement: Statement) -> str:
    wanted = (statement.head == "wire" and isinstance(statement.node, WireLine)) or (
        statement.head == "fuse" and isinstance(statement.node, PartLine)
    )
    return str(statement.tokens[1].value) if wanted else ""


def _wire_edit(statement: Statement, node: WireLine, size: Size) -> Edit:
    found = _quantity(node.traits, "area")
    if found is not None:
        return _over(statement, *found, size.text)
    last = node.b
    for trait in node.traits:
        if isinstance(trait, Marked):
            if trait.word not in _BEFORE_SIZE:
                break
            last = trait.names[-1]
        elif trait.type == "STRING" or is_number(trait.value) or trait.value in WIRE_TRAITS or trait.value == "class":
            break
        else:
            last = trait
    return _behind(statement, last, size.text)


def _fuse_edit(statement: Statement, node: PartLine, amps: float) -> Edit:
    text = f"{amps:g} A"
    found = _quantity(node.traits, "current")
    return _over(statement, *found, text) if found is not None else _behind(statement, node.name, text)


def _quantity(traits: Sequence[Token | Marked], dimension: str) -> tuple[Token, Token] | None:
    """The first and last token of the quantity of this dimension that stands by itself, behind no word for it."""
    behind_word = False
    for place, trait in enumerate(traits):
        if isinstance(trait, Marked):
            behind_word = False
            continue
        following = [t for t in traits[place + 1 : place + 4] if not isinstance(t, Marked)]
        if is_number(trait.value) and not behind_word:
            if dimension == "area" and len(following) == 3 and following[0].value == "x":
                return trait, following[2]
            unit = unit_name(following[0].value) if following else None
            if unit is not None and UNITS[unit].dimension == dimension:
                return trait, following[0]
        behind_word = trait.value == "blows"
    return None


def _over(statement: Statement, first: Token, last: Token, text: str) -> Edit:
    return Edit(statement.line, first.column - 1, last.end_column - 1, text)


def _behind(statement: Statement, token: Token, text: str) -> Edit:
    end = token.end_column - 1
    return Edit(statement.line, end, end, f" {text}")


# --- doing it ---------------------------------------------------------------------------------------------------------
def applied(text: str, edits: Iterable[Edit], file: str) -> str:
    """``text`` with its edits. Columns are those of the text in Unicode's NFC form, which may differ from what is
    written; they are then found again.
    """
    lines = text.split("\n")
    for edit in sorted(edits, key=lambda each: (-each.line, -each.start)):
        line = lines[edit.line - 1]
        mark = "\ufeff" if edit.line == 1 and line.startswith("\ufeff") else ""
        body = line.removeprefix(mark)
        start, end = (_as_written(body, column) for column in (edit.start, edit.end))
        if start is None or end is None:
            raise ResizeError(f"{file}:{edit.line}: left as it is: its letters are written in an unusual form")
        lines[edit.line - 1] = mark + body[:start] + edit.text + body[end:]
    return "\n".join(lines)


def _as_written(line: str, column: int) -> int | None:
    """Where in a line the code point stands that is at ``column`` of its NFC form."""
    if line.isascii():
        return column
    normal = unicodedata.normalize("NFC", line)
    if normal == line:
        return column
    for place in range(len(line) + 1):
        if (
            unicodedata.normalize("NFC", line[:place]) == normal[:column]
            and unicodedata.normalize("NFC", line[place:]) == normal[column:]
        ):
            return place
    return None


def _prove(before: str, after: str, edits: Iterable[Edit], file: str) -> None:
    """Sees to it that only the words of the edits differ. Raises ``ResizeError``."""
    meant: dict[int, list[list[str]]] = {}
    for edit in edits:
        meant.setdefault(edit.line, []).append(edit.text.split())
    old, new = parse(before, file, Diagnostics()).statements, parse(after, file, Diagnostics()).statements
    for one, other in zip(_words(old), _words(new), strict=False):
        if one != other and not any(_differ_only(one[1], other[1], words) for words in meant.get(other[0], ())):
            raise ResizeError(f"{file}:{other[0]}: left as it is: more than a size would change; please report it")
    if len(old) != len(new):
        raise ResizeError(f"{file}: left as it is: more than a size would change; please report this file")


def _words(statements: Iterable[Statement]) -> Iterator[tuple[int, tuple[str, ...]]]:
    for statement in statements:
        yield statement.line, tuple(token.value for token in statement.tokens)


def _differ_only(before: Sequence[str], after: Sequence[str], new: Sequence[str]) -> bool:
    """Whether ``after`` is ``before`` with one run of words, a size or a rating or nothing, put as ``new``."""
    for start in range(len(after) - len(new) + 1):
        if list(after[start : start + len(new)]) != list(new) or list(before[:start]) != list(after[:start]):
            continue
        rest = list(after[start + len(new) :])
        gone = len(before) - start - len(rest)
        if gone in (0, 2, 4) and list(before[len(before) - len(rest) :]) == rest:
            return True
    return False


def own_files(texts: Iterable[str]) -> tuple[str, ...]:
    """Of the files of a reading, those on the user's disk: not the patterns that come with the tool."""
    from ..files.reading import library_names

    library = {f"library/{name}.loom" for name in library_names()}
    return tuple(file for file in texts if file not in library and os.path.exists(file))  # noqa: PTH110
