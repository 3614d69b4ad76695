"""Text becomes a syntax tree with positions, and nothing else: no word is understood here but the first of a line.

The line is the unit. Each is lexed, cut into pieces at ``;``, ``{`` and ``}``, and each piece
is parsed alone by the rule that its first word names. So a mistake costs its own line: in a whole-file parse one lost
brace loses what follows.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import MOST_MISTAKES, TOO_MANY, Diagnostics
from .block_recovery import Grouper
from .lexing import ANY_ODD, LONGEST_LINE, SURROGATE, Cutter
from .nodes import tools
from .pieces import Pieces
from .tree import Line, Syntax

if TYPE_CHECKING:
    from .tokens import Token


@dataclass(slots=True, eq=False, repr=False)
class Memory:
    """What the last reading of a text made of its lines, so that after an edit only new lines cost anything.

    For one text and one reader at a time. Lines with a mistake are never remembered: a mistake tells its line's number.
    """

    lines: dict[str, Line] = field(default_factory=dict)
    nodes: dict[tuple[int, str], tuple[Sequence[Token], Any]] = field(default_factory=dict)
    """By the identity of a piece's tokens (kept beside, so that it stays theirs) and the grammar's rule."""

    def parsing(self, parse_tokens: Callable[[Sequence[Token], str], Any]) -> Callable[[Sequence[Token], str], Any]:
        """``parse_tokens``, asked only about what is new; forgets what is not asked for again."""
        before, self.nodes = self.nodes, {}

        def parse_new(tokens: Sequence[Token], rule: str) -> Any:
            key = (id(tokens), rule)
            found = before.get(key) or (tokens, parse_tokens(tokens, rule))
            self.nodes[key] = found
            return found[1]

        return parse_new


def parse(text: str, file: str, mistakes: Diagnostics, memory: Memory | None = None) -> Syntax:
    """The syntax tree of a text; what could not be read goes to ``mistakes`` and is in the tree without a node.

    The text is taken in Unicode's NFC form, so that a name typed on another keyboard is the same name. Bytes that were
    no UTF-8 come in as lone surrogates (``errors="surrogateescape"``) and are shown as U+FFFD. With a ``memory`` equal
    lines may share their tokens.
    """
    text = text.removeprefix("\ufeff")
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
    rows = text.split("\n")
    if "\r" in text:
        rows = [row.removesuffix("\r") for row in rows]
        odd = any(ANY_ODD.search(row) for row in rows)
    else:
        odd = ANY_ODD.search(text) is not None
    lex, parse_tokens = tools()
    cutter = Cutter(file, mistakes, lex)
    known: dict[str, Line] = {}
    if memory is not None:
        known, memory.lines = memory.lines, {}
        parse_tokens = memory.parsing(parse_tokens)
    grouper = Grouper(file, mistakes, Pieces(file, mistakes, parse_tokens))
    lines = []
    full = False
    for number, row in enumerate(rows, 1):
        before = len(mistakes)
        if not full and before > MOST_MISTAKES:
            full = True
            mistakes.add(
                TOO_MANY,
                Span(file, number, 1, 2),
                f"more than {MOST_MISTAKES} mistakes before here: from this line on the file was not read",
                expected="a harness",
                remedy="fix those above first, or check whether this is the right file",
            )
        if full:
            lines.append(Line((cutter.lost(row),)))
            continue
        if row in known:
            line = known[row]
        elif len(row) > LONGEST_LINE:
            cutter.too_long(row, number)
            line = Line((cutter.lost(row),))
        elif odd and not cutter.is_clean(row, number):
            line = Line((cutter.lost(row),))
        else:
            line = Line(*cutter.cut(row, number))
        if memory is not None and before == len(mistakes):
            memory.lines[row] = line
        first = True
        for piece in line.pieces:
            grouper.take(piece, number, first)
            first = False
        lines.append(line)
    shown = SURROGATE.sub("\ufffd", text) if odd else text
    return Syntax(file, shown, grouper.result(), tuple(lines))
