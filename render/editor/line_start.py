"""The line that is being written, as far as the cursor: in which block, after which words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ...lang.syntax.block_recovery import starts_statement
from ...lang.vocabulary.statements import STATEMENTS

if TYPE_CHECKING:
    from ...lang.syntax.tree import Syntax

_TOKEN: Final = re.compile(r'"[^"]*"?|[{};:,()]|[^\s{};:,()"]+')


@dataclass(frozen=True, slots=True)
class LineStart:
    """What is before the cursor.

    ``words`` are the complete words of the statement or of the line of a block, marks among them; ``partial`` is the
    one that is being written (empty behind a space) and begins at ``column``. ``block`` holds the words of the line
    that opened the block, ``None`` outside of blocks. ``quoted``: the partial word is a text.
    """

    words: tuple[str, ...]
    partial: str
    column: int
    block: tuple[str, ...] | None
    quoted: bool = False

    @property
    def last(self) -> str:
        return self.words[-1] if self.words else ""

    def before(self, count: int) -> str:
        """The word this many before the last."""
        return self.words[-1 - count] if len(self.words) > count else ""


def line_start(syntax: Syntax, line: int, column: int) -> LineStart | None:
    """The line up to a column; ``None`` inside a comment."""
    rows = syntax.text.split("\n")
    prefix = rows[line - 1][: column - 1] if line <= len(rows) else ""
    block = _open_at(syntax, line)
    words: list[str] = []
    end = 0
    for match in _TOKEN.finditer(prefix):
        found = match[0]
        if found.startswith("#") and (match.start() == 0 or prefix[match.start() - 1].isspace()):
            return None
        end = match.end()
        if found in ("{", "}", ";"):
            block = tuple(words) if found == "{" and words else None if found == "}" else block
            words = []
        else:
            words.append(found)
    if block is not None and len(words) > 1 and words[0] in STATEMENTS and ":" not in words:
        block = None  # a statement ends a block that nobody closed
    quoted = bool(words) and words[-1].startswith('"') and (len(words[-1]) == 1 or not words[-1].endswith('"'))
    glued = end == len(prefix) and bool(words) and words[-1] not in (":", ",", "(", ")")
    if quoted or (glued and not words[-1].endswith('"')):
        partial = words.pop()
        return LineStart(tuple(words), partial, len(prefix) - len(partial) + 1, block, quoted)
    return LineStart(tuple(words), "", len(prefix) + 1, block)


def _open_at(syntax: Syntax, line: int) -> tuple[str, ...] | None:
    """The words that opened the block in which a line begins."""
    opened: tuple[str, ...] | None = None
    before: tuple[str, ...] = ()
    for each in syntax.lines[: line - 1]:
        for first, piece in enumerate(each.pieces):
            if opened is not None and not first and starts_statement(piece.tokens):
                opened = None
            words = tuple(token.value for token in piece.tokens)
            if piece.mark == "{":
                opened = words or before
            elif piece.mark == "}":
                opened = None
            before = words or before
    return opened
