"""Pieces become statements with their blocks, also where a brace is lost or one too many."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics, listed
from ..vocabulary.statements import RESERVED, STATEMENTS
from .pieces import Pieces
from .tree import Inner, Node, Piece, Statement, _span

if TYPE_CHECKING:
    from .tokens import Token


@dataclass(slots=True, eq=False, repr=False)
class _Growing:
    """A statement whose block may still grow.

    ``brace`` and ``closed`` are where that block began and ended, ``unsure`` whether its end may be on a line whose
    words are not sure, ``hurt`` whether something that may be its own is behind it.
    """

    file: str
    line: int
    head: str
    tokens: tuple[Token, ...]
    node: Node | None
    brace: Span | None = None
    block: list[Inner] | None = None
    closed: Span | None = None
    unsure: bool = False
    hurt: bool = False

    @property
    def rule(self) -> str:
        """The grammar's rule for the lines of its block; empty where it has none."""
        kind = self.tokens[1].value if self.head == "pattern" and len(self.tokens) > 1 else self.head
        form = STATEMENTS.get(kind)
        return form.block if form else "line" if self.head == "pattern" else ""

    def freeze(self) -> Statement:
        if self.block is None:
            return Statement(self.file, self.line, self.head, self.tokens, self.node)
        whole = self.closed is not None and not self.hurt and all(inner.node is not None for inner in self.block)
        return Statement(self.file, self.line, self.head, self.tokens, self.node, tuple(self.block), whole)


@dataclass(slots=True, eq=False, repr=False)
class Grouper:
    """Puts pieces together into statements with their blocks, and recovers where a brace is lost or one too many.

    ``orphans`` are lines outside a block that begin no statement: lines of a block whose ``{`` is lost, if a ``}``
    follows before the next statement. ``closed_on`` is the line whose ``}`` no ``;`` has parted from what follows.
    """

    file: str
    mistakes: Diagnostics
    pieces: Pieces
    statements: list[Statement | _Growing] = field(default_factory=list)
    open: _Growing | None = None
    orphans: list[tuple[int, Piece]] = field(default_factory=list)
    closed_on: int = 0

    def take(self, piece: Piece, number: int, first: bool) -> None:
        tokens, mark, _, readable = piece
        if self.open is None and tokens and not mark and readable and not self.orphans and number != self.closed_on:
            head = tokens[0].value  # most lines are whole statements: no need to ask about braces
            if head in STATEMENTS:
                self.statements.append(Statement(self.file, number, head, tokens, self._node(piece, number)))
                return
        if self.open is not None and first and starts_statement(piece.tokens):
            self._unclosed(self.open)
            self.open = None
        if self.open is not None:
            self._inside(self.open, piece, number)
        else:
            self._outside(piece, number)
        if piece.mark == ";":
            self.closed_on = 0

    def result(self) -> tuple[Statement, ...]:
        """All statements, after the last line."""
        if self.open is not None:
            self._unclosed(self.open)
        self._flush()
        return tuple([s if isinstance(s, Statement) else s.freeze() for s in self.statements])

    # --- inside a block
    def _unclosed(self, left: _Growing) -> None:
        if left.brace is not None and not left.unsure:
            self._tell("unclosed-brace", left.brace, "this block is not closed", expected="`}` after its last line")

    def _inside(self, into: _Growing, piece: Piece, number: int) -> None:
        if piece.mark == "{":
            self._tell(
                "nested-block",
                self._mark(piece, number),
                "a block holds no block",
                expected="a line for each fact, then `}`",
            )
            piece = piece._replace(readable=False)
        if piece.tokens or not piece.readable:
            self._inner(into, piece, number)
        if piece.mark == "}":
            into.closed = self._mark(piece, number)
            self.open = None
            self.closed_on = number

    def _inner(self, into: _Growing, piece: Piece, number: int) -> None:
        node = None
        if piece.readable and into.rule and into.head:
            node = self.pieces.node(piece.tokens, into.rule, number, in_block=self.open is not None)
        into.unsure = into.unsure or not piece.readable
        if into.block is not None:
            into.block.append(Inner(self.file, number, piece.tokens, node))

    # --- outside of blocks
    def _before(self) -> _Growing | None:
        """The last statement, to be changed if need be."""
        last = self.statements[-1] if self.statements else None
        if isinstance(last, Statement):
            last = self.statements[-1] = _Growing(*last[:5])
        return last

    def _node(self, piece: Piece, number: int) -> Node | None:
        """What a statement outside of blocks says."""
        node: Node | None = None
        if piece.readable:
            node = self.pieces.node(piece.tokens, STATEMENTS[piece.tokens[0].value].rule, number, in_block=False)
        return node

    def _outside(self, piece: Piece, number: int) -> None:
        tokens = piece.tokens
        before = self._before()
        head = tokens[0].value if tokens else ""
        if not tokens and piece.mark not in ("{", "}"):
            return
        if tokens and self.closed_on == number:
            self._tell(
                "after-brace",
                _span(self.file, number, tokens, None, tokens[-1]),
                "`}` ends a statement, so that nothing can follow it",
                expected="the end of the line, or `;` and another statement",
            )
            if before is not None:
                before.hurt = True
            if head not in STATEMENTS and piece.mark != "{":  # behind that are a block's lines, whatever the word is
                return
        if piece.mark == "}":
            self._stray_brace(piece, number, before)
        elif not tokens:
            self._brace_alone(piece, number, before)
        elif head in STATEMENTS:
            self._flush()
            self._begin(_Growing(self.file, number, head, tokens, self._node(piece, number)), piece, number)
        elif piece.mark == "{":
            self._flush()
            self._unknown(tokens, number)
            self._begin(_Growing(self.file, number, "", tokens, None), piece, number)
        else:
            self.orphans.append((number, piece))

    def _begin(self, new: _Growing, piece: Piece, number: int) -> None:
        self.statements.append(new)
        if piece.mark != "{":
            return
        new.brace, new.block, self.open = self._mark(piece, number), [], new
        if new.head and not new.rule:
            self._tell(
                "no-block", new.brace, f"a `{new.head}` line has no block", expected=STATEMENTS[new.head].written
            )

    def _brace_alone(self, piece: Piece, number: int, before: _Growing | None) -> None:
        if before is not None and before.block is None and before.rule and not self.orphans:
            self._tell(
                "brace-on-own-line",
                self._mark(piece, number),
                "`{` is on a separate line",
                expected="`{` at the end of the line that it belongs to",
            )
            before.brace, before.block, self.open = self._mark(piece, number), [], before
            return
        self._tell(
            "stray-brace", self._mark(piece, number), "`{` opens a block of nothing", expected="a statement before it"
        )

    def _stray_brace(self, piece: Piece, number: int, before: _Growing | None) -> None:
        """A ``}`` while no block is open: a ``{`` was lost, or a ``}`` came too early, or this one is too much."""
        head = piece.tokens[0].value if piece.tokens else ""
        if head in STATEMENTS:
            self._flush()
            self.statements.append(_Growing(self.file, number, head, piece.tokens, self._node(piece, number)))
            self._tell("stray-brace", self._mark(piece, number), "this `}` closes nothing", remedy="delete it")
            return
        if head and not self.orphans and self.mistakes.on_line(self.file, number):
            self.statements.append(_Growing(self.file, number, "", piece.tokens, None))
            return
        lost = [*self.orphans, *([(number, piece)] if piece.tokens else [])]
        if lost and _stands_out(lost, before):
            at, first = lost.pop(0)
            self._unknown(first.tokens, at)
            before = _Growing(self.file, at, "", first.tokens, None)
            self.statements.append(before)
        self.orphans = []
        if before is not None and (before.rule or not before.head) and (lost or self._blamed(before)):
            self._belated(before, lost, piece, number)
        else:
            self._tell("stray-brace", self._mark(piece, number), "this `}` closes nothing", remedy="delete it")

    def _belated(self, before: _Growing, lost: list[tuple[int, Piece]], piece: Piece, number: int) -> None:
        """Gives lost lines to the block that they are of, and says which brace is wrong."""
        if before.closed is not None and not before.unsure:
            self._tell(
                "stray-brace",
                before.closed,
                "this `}` closes the block before its last line",
                remedy="delete it",
                notes=(Note("another `}` closes it here", self._mark(piece, number)),),
            )
        elif before.block is None:
            self._tell(
                "missing-brace",
                _span(self.file, before.line, before.tokens, before.tokens[-1], None),
                "lines of a block follow, and no `{` opens one",
                expected="`{` at the end of this line",
            )
        before.block = before.block or []
        for at, line in lost:
            self._inner(before, line, at)
        before.closed = self._mark(piece, number)
        self.closed_on = number

    def _blamed(self, before: _Growing) -> bool:
        return self.mistakes.on_line(self.file, before.line) or (
            before.closed is not None and self.mistakes.on_line(self.file, before.closed.line)
        )

    def _flush(self) -> None:
        """Orphans that no brace follows are statements with an unknown first word."""
        for number, piece in self.orphans:
            self._unknown(piece.tokens, number)
            self.statements.append(_Growing(self.file, number, "", piece.tokens, None))
        self.orphans = []

    def _unknown(self, tokens: tuple[Token, ...], number: int) -> None:
        word = tokens[0].value
        self._tell(
            "unknown-statement",
            _span(self.file, number, tokens, tokens[0], None),
            f"no statement begins with `{word}`",
            expected=listed(STATEMENTS),
            wrong=word,
            known=STATEMENTS,
        )

    # --- telling
    def _mark(self, piece: Piece, number: int) -> Span:
        if piece.sign is not None:
            return _span(self.file, number, (piece.sign,), None, None)
        return Span(self.file, number, 1, 2)

    def _tell(self, kind: str, span: Span, message: str, **more: Any) -> None:
        """Reports what is wrong with braces and first words, unless its line has a mistake already: one each."""
        if not self.mistakes.on_line(span.file, span.line):
            self.mistakes.add(kind, span, message, **more)


def _stands_out(lost: list[tuple[int, Piece]], before: _Growing | None) -> bool:
    """Whether the first of some lost lines is the lost beginning of a statement, and the others are its block."""
    if before is None or (before.closed is not None and before.closed.line == before.line):
        return True
    columns = [piece.tokens[0].column for _, piece in lost if piece.tokens]
    return columns[0] == 1 and all(column > 1 for column in columns[1:])


def starts_statement(tokens: tuple[Token, ...]) -> bool:
    """Whether a line inside a block reads like a statement: then the block's closing brace was forgotten.

    A first word that reserves nothing may be a name of the block's own, such as that of a switch in a state.
    """
    if len(tokens) < 2 or tokens[0].value not in RESERVED or tokens[1].type == "_COLON":
        return False
    return tokens[0].value == "expect" or all(token.type != "_COLON" for token in tokens)
