"""Text becomes a syntax tree with positions, and nothing else: no word is understood here but the first of a line.

The line is the unit. Each is lexed with Lark's basic lexer, cut into pieces at ``;``, ``{`` and ``}``, and each piece
is parsed alone by the rule that its first word names. So a mistake costs its own line: in a whole-file parse one lost
brace loses what follows.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import MOST_MISTAKES, TOO_MANY, Diagnostics, listed
from ..vocabulary.words import KEPT_WORDS, RESERVED, STATEMENTS
from .grammar import parser
from .tree import (
    BundleLine,
    CappedLine,
    Claimed,
    Conditional,
    DeclaredLine,
    EndsLine,
    ExpectLine,
    Group,
    HouseLine,
    HousingLine,
    Inner,
    Joined,
    JudgeLine,
    Line,
    Marked,
    MountLine,
    Negated,
    Node,
    OwnLine,
    PartLine,
    PatternLine,
    Piece,
    PlaceLine,
    PlainLine,
    RemovedLine,
    RouteLine,
    SettingsLine,
    SpareWireLine,
    StateLine,
    Statement,
    Syntax,
    Tested,
    TitledLine,
    TogetherLine,
    UseLine,
    WaiveLine,
    WireLine,
    _span,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from lark import Token

LONGEST_LINE: Final = 10_000
"""Characters. A line of a harness has some sixty; what is longer is no text that anybody wrote."""

DEEPEST_BRACKETS: Final = 20


# --- grammar ---------------------------------------------------------------------------------------------------------
_Made = list[Any]


def _nodes() -> Any:
    """What each rule of the grammar makes of its children."""
    from lark import Transformer

    class Nodes(Transformer):  # type: ignore[type-arg]
        def part(self, made: _Made) -> PartLine:
            return PartLine(made[1], tuple(made[2:]))

        def pattern(self, made: _Made) -> PatternLine:
            return PatternLine(made[1], made[2], tuple(made[3:]))

        def wire(self, made: _Made) -> WireLine:
            return WireLine(made[1], made[2], made[3], tuple(made[4:]))

        def place(self, made: _Made) -> PlaceLine:
            return PlaceLine(made[1], tuple(made[2:]))

        def route(self, made: _Made) -> RouteLine:
            return RouteLine(made[1], made[2], tuple(made[3:]))

        def mount(self, made: _Made) -> MountLine:
            return MountLine(*made[1:])

        def capped(self, made: _Made) -> CappedLine:
            return CappedLine(made[1])

        def state(self, made: _Made) -> StateLine:
            return StateLine(made[1])

        def expect(self, made: _Made) -> ExpectLine:
            claims = tuple(item for item in made if isinstance(item, Claimed))
            when = made[1] if isinstance(made[1], Conditional) else None
            without = next((item for item in made if type(item) is tuple), ())
            return ExpectLine(None if when else made[1], None if when else made[2], when, without, claims)

        def waive(self, made: _Made) -> WaiveLine:
            return WaiveLine(made[1], *made[3:])

        def house(self, made: _Made) -> HouseLine:
            return HouseLine(made[1], tuple(made[2:]))

        def judge(self, made: _Made) -> JudgeLine:
            return JudgeLine(*made[1:])

        def declared(self, made: _Made) -> DeclaredLine:
            return DeclaredLine(*made[1:])

        def removed(self, made: _Made) -> RemovedLine:
            return RemovedLine(made[1])

        def bundle(self, made: _Made) -> BundleLine:
            return BundleLine(made[1])

        def together(self, made: _Made) -> TogetherLine:
            return TogetherLine(tuple(made[1:-2]), made[-1])

        def spare_wire(self, made: _Made) -> SpareWireLine:
            return SpareWireLine(made[1], made[2], made[3], tuple(made[4:]))

        def ends(self, made: _Made) -> EndsLine:
            return EndsLine(made[1], tuple(made[2:-1]), made[-1])

        def housing(self, made: _Made) -> HousingLine:
            return HousingLine(made[1], tuple(made[2:]))

        def titled(self, made: _Made) -> TitledLine:
            return TitledLine(made[1])

        def use(self, made: _Made) -> UseLine:
            return UseLine(made[1])

        def plain(self, made: _Made) -> PlainLine:
            return PlainLine(tuple(made[1:]))

        def line(self, made: _Made) -> OwnLine:
            return OwnLine(*made)

        def connected(self, made: _Made) -> tuple[Group, ...]:
            return tuple(group for group in made if group)

        def group(self, made: _Made) -> Group:
            return Group(tuple(made[:-1]), made[-1])

        def settings(self, made: _Made) -> SettingsLine:
            return SettingsLine(tuple(made))

        def condition(self, made: _Made) -> Conditional:
            return made[0] if len(made) == 1 else Joined(tuple(made[::2]), tuple(made[1::2]))

        def joint(self, made: _Made) -> Token:
            return made[0]  # type: ignore[no-any-return]

        def negated(self, made: _Made) -> Negated:
            return Negated(made[0])

        def test(self, made: _Made) -> Tested:
            return Tested(*made)

        def live(self, made: _Made) -> Claimed:
            return Claimed(made[0], made[1], None)

        def bound(self, made: _Made) -> Claimed:
            return Claimed(made[0], made[2], tuple(made[3:]))

        def marked(self, made: _Made) -> Marked:
            names = made[1]
            return Marked(made[0].value, names if type(names) is tuple else (names,))

        def upto(self, made: _Made) -> Marked:
            return Marked("to", tuple(made))

        def drawn(self, made: _Made) -> Marked:
            return Marked("from", tuple(made))

        def own(self, made: _Made) -> tuple[Any, ...]:
            return tuple(made)

        names = things = setting = offered = own

    return Nodes()


@cache
def _tools() -> tuple[Callable[[str], Iterable[Token]], Callable[[Sequence[Token], str], Any], Any]:
    """The lexer of one line, the parser of one piece's tokens, and what that raises for a word that does not fit.

    Both are made from the one grammar file, when the first text is read.
    """
    from lark import UnexpectedToken
    from lark.lexer import LexerThread

    lark = parser(_nodes())
    basic = lark.parser.lexer.basic
    thread: Any = LexerThread
    return lambda line: thread.from_text(basic, line).lex(None), lark.parse, UnexpectedToken


_CONDITIONAL: Final = ("expect", "line")
"""Rules of which a condition can be a part."""

_SAYS: Final = {
    "WORD": "a name or a word",
    "END": "an end such as `PART.TERMINAL`",
    "DECIMAL": "a number",
    "STRING": 'a text in `"`',
    "STRIPED": "a colour",
    "_COLON": "`:`",
    "_COMMA": "`,`",
    "_OPEN": "`(`",
    "_CLOSE": "`)`",
    "$END": "the end of the line",
}


def _expected(terminals: Iterable[str]) -> str:
    """Words for the terminals that could have stood where another one was found."""
    says = {_SAYS.get(name) or f"`{name.strip('_').lower()}`" for name in terminals}
    if _SAYS["WORD"] in says:
        says -= {_SAYS["DECIMAL"], _SAYS["STRIPED"]}
    return " or ".join(sorted(says, key=lambda word: (word == _SAYS["$END"], word.startswith("`"), word)))


# --- from text to pieces ---------------------------------------------------------------------------------------------
_CONTROL: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
"""What no keyboard writes, or what makes a line read otherwise than it is (the marks of two-way writing)."""

_SURROGATE: Final = re.compile("[\ud800-\udfff]")
_ANY_ODD: Final = re.compile(f"{_SURROGATE.pattern}|{_CONTROL.pattern}")
_DIGITS: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_MARKS: Final = {"SEMICOLON": ";", "LBRACE": "{", "RBRACE": "}"}
_SPECIAL: Final = frozenset((*_MARKS, "COMMENT", "STRING", "UNCLOSED", "STRAY", "_WITH"))


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
    """The syntax tree of a text; what could not be read goes to ``mistakes`` and stands in the tree without a node.

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
        odd = any(_ANY_ODD.search(row) for row in rows)
    else:
        odd = _ANY_ODD.search(text) is not None
    lex, parse_tokens, misfit = _tools()
    cutter = _Cutter(file, mistakes, lex)
    known: dict[str, Line] = {}
    if memory is not None:
        known, memory.lines = memory.lines, {}
        parse_tokens = memory.parsing(parse_tokens)
    grouper = _Grouper(file, mistakes, parse_tokens, misfit)
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
                remedy="mend those above first, or look whether this is the right file",
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
    shown = _SURROGATE.sub("\ufffd", text) if odd else text
    return Syntax(file, shown, grouper.result(), tuple(lines))


class _Cutter(NamedTuple):
    """Cuts lines into pieces, and tells what is no word at all."""

    file: str
    mistakes: Diagnostics
    lex: Callable[[str], Iterable[Token]]

    def is_clean(self, row: str, number: int) -> bool:
        if match := _SURROGATE.search(row):
            self.mistakes.add(
                "not-utf-8",
                Span(self.file, number, match.start() + 1, match.end() + 1),
                "this is not UTF-8",
                expected="text in UTF-8",
                remedy="save the file as UTF-8",
            )
        elif match := _CONTROL.search(row):
            self.mistakes.add(
                "control-character",
                Span(self.file, number, match.start() + 1, match.end() + 1),
                f"the invisible character U+{ord(match[0]):04X} cannot stand in a harness",
                remedy="delete it" if ord(match[0]) else "delete it; if the file is full of them, save it as UTF-8",
            )
        else:
            return True
        return False

    def too_long(self, row: str, number: int) -> None:
        self.mistakes.add(
            "long-line",
            Span(self.file, number, LONGEST_LINE + 1, LONGEST_LINE + 2),
            f"this line has {len(row):,} characters, and a line may have {LONGEST_LINE:,}",
            remedy="write one fact a line",
        )

    def lost(self, row: str, start: int = 0) -> Piece:
        """A line (from ``start``) whose words are not sure, with what looks like names in it.

        Whether it opens or closes a block is guessed by its last character.
        """
        clean = _SURROGATE.sub(" ", _CONTROL.sub(" ", row[:LONGEST_LINE])).replace('"', " ")
        words = tuple(
            token
            for token in self.lex(clean)
            if token.type in ("WORD", "END", "DECIMAL") and (token.start_pos or 0) >= start
        )
        mark = row.partition(" #")[0].rstrip()[-1:]
        return Piece(words, mark if mark in ("{", "}") else "", None, readable=False)

    def cut(self, row: str, number: int) -> tuple[tuple[Piece, ...], str | None]:
        """The pieces of a line, and its comment."""
        tokens = tuple(self.lex(row))
        for token in tokens:
            if token.type in _SPECIAL:
                return self._cut_at_marks(tokens, row, number)
        return ((Piece(tokens, ""),) if tokens else ()), None

    def _cut_at_marks(self, tokens: tuple[Token, ...], row: str, number: int) -> tuple[tuple[Piece, ...], str | None]:
        pieces: list[Piece] = []
        words: list[Token] = []
        readable = True
        comment = None
        for token in tokens:
            kind = token.type
            if kind in _MARKS:
                pieces.append(Piece(tuple(words), token.value, token, readable))
                words, readable = [], True
            elif kind not in _SPECIAL or (kind == "STRING" and not _is_inch(words, token)):
                words.append(token)
            elif kind == "COMMENT" and (not token.start_pos or row[token.start_pos - 1].isspace()):
                comment = token.value
            else:
                if readable:
                    self._odd(token, words, number)
                readable = False
                if kind not in ("STRAY", "_WITH"):
                    pieces.append(self.lost(row, (words or [token])[0].start_pos or 0))
                    return tuple(pieces), None
        if words or not readable:
            pieces.append(Piece(tuple(words), "", None, readable))
        return tuple(pieces), comment

    def _odd(self, token: Token, words: list[Token], line: int) -> None:
        column = token.column or 1
        if token.type in ("UNCLOSED", "STRING") and _is_inch(words, token):
            self.mistakes.add(
                "inch-mark",
                Span(self.file, line, words[-1].column or 1, column + 1),
                f'`{words[-1]}"` is no length, since `"` begins a text',
                expected=f"`{words[-1]} inch`",
            )
        elif token.type == "UNCLOSED":
            self.mistakes.add(
                "unclosed-string",
                Span(self.file, line, column, token.end_column or column + 1),
                "this text does not end",
                expected='a second `"` on the same line',
            )
        elif token.type == "COMMENT":
            self.mistakes.add(
                "comment-space",
                Span(self.file, line, column, column + 1),
                "`#` begins a comment only at the start of a line or after a space",
                expected="a space before `#`",
            )
        elif token.type == "_WITH":
            self.mistakes.add(
                "unexpected-word",
                Span(self.file, line, column, token.end_column or column),
                "`with` is kept for later and means nothing yet",
                remedy="write the line without it",
            )
        else:
            self.mistakes.add(
                "stray-character",
                Span(self.file, line, column, column + 1),
                f"`{token.value}` means nothing here",
                expected="names of letters, digits, `-` and `_`, with `.` between a part and its terminal",
            )


def _is_inch(words: list[Token], quote: Token) -> bool:
    return bool(words) and words[-1].end_pos == quote.start_pos and _DIGITS.fullmatch(words[-1]) is not None


# --- from pieces to statements ---------------------------------------------------------------------------------------
@dataclass(slots=True, eq=False, repr=False)
class _Growing:
    """A statement whose block may still grow.

    ``brace`` and ``closed`` are where that block began and ended, ``unsure`` whether its end may stand on a line whose
    words are not sure, ``hurt`` whether something that may be its own stands behind it.
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
class _Grouper:
    """Puts pieces together into statements with their blocks, and recovers where a brace is lost or one too many.

    ``orphans`` are lines outside a block that begin no statement: lines of a block whose ``{`` is lost, if a ``}``
    follows before the next statement. ``closed_on`` is the line whose ``}`` no ``;`` has parted from what follows.
    """

    file: str
    mistakes: Diagnostics
    parse_tokens: Callable[[Sequence[Token], str], Any]
    misfit: Any
    statements: list[Statement | _Growing] = field(default_factory=list)
    open: _Growing | None = None
    orphans: list[tuple[int, Piece]] = field(default_factory=list)
    closed_on: int = 0

    def take(self, piece: Piece, number: int, first: bool) -> None:
        tokens, mark, _, readable = piece
        if self.open is None and tokens and not mark and readable and not self.orphans and number != self.closed_on:
            head = tokens[0].value  # most lines are whole statements: no need to ask about braces
            if head in STATEMENTS:
                node = self._parse(tokens, STATEMENTS[head].rule, number)
                self.statements.append(Statement(self.file, number, head, tokens, node))
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
            node = self._parse(piece.tokens, into.rule, number)
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
            if head not in STATEMENTS:
                return
        if piece.mark == "}":
            self._stray_brace(piece, number, before)
        elif not tokens:
            self._brace_alone(piece, number, before)
        elif head in STATEMENTS:
            self._flush()
            node = self._parse(tokens, STATEMENTS[head].rule, number) if piece.readable else None
            self._begin(_Growing(self.file, number, head, tokens, node), piece, number)
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
                "`{` stands on a line of its own",
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
            node = self._parse(piece.tokens, STATEMENTS[head].rule, number) if piece.readable else None
            self.statements.append(_Growing(self.file, number, head, piece.tokens, node))
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

    def _parse(self, tokens: tuple[Token, ...], rule: str, number: int) -> Any:
        """The node of a piece, or ``None`` after reporting what is wrong with its shape."""
        if rule in _CONDITIONAL and self._too_deep(tokens, number):
            return None
        try:
            return self.parse_tokens(tokens, rule)
        except self.misfit as error:
            self._shape(error.token, error.interactive_parser.accepts(), tokens, number)
            return None

    def _too_deep(self, tokens: tuple[Token, ...], number: int) -> bool:
        depth = 0
        for token in tokens:
            depth += (token.type == "_OPEN") - (token.type == "_CLOSE")
            if depth > DEEPEST_BRACKETS:
                self.mistakes.add(
                    "too-deep",
                    _span(self.file, number, tokens, token, None),
                    f"more than {DEEPEST_BRACKETS} brackets inside each other",
                    remedy="write the condition with fewer",
                )
                return True
        return False

    def _shape(self, found: Token, expected: set[str], tokens: tuple[Token, ...], number: int) -> None:
        head = tokens[0].value
        written = STATEMENTS[head].written if head in STATEMENTS and self.open is None else ""
        remedy = f"write `{written}`" if written and " or " not in written else ""
        if head == "use" and found.type == "_COMMA":
            remedy = f"write a line for each: `use {tokens[1]}`, and so on"
        if found.type == "$END":
            last = tokens[-1]
            span = Span(self.file, number, last.end_column or 1, (last.end_column or 1) + 1)
            self._tell(
                "unexpected-end", span, f"the line ends after `{last}`", expected=_expected(expected), remedy=remedy
            )
            return
        place = next(index for index, token in enumerate(tokens) if token is found)
        span = _span(self.file, number, tokens, found, None)
        before = tokens[place - 1] if place else None
        after = tokens[place + 1] if place + 1 < len(tokens) else None
        if found.type == "_COMMA" and before and after and _joined_digits(before, found, after):
            self.mistakes.add(
                "decimal-comma",
                _span(self.file, number, tokens, before, after),
                f"`{before},{after}` has a comma; numbers have a point",
                expected=f"`{before}.{after}`",
            )
        elif found.value in KEPT_WORDS and "WORD" in expected:
            self.mistakes.add(
                "unexpected-word",
                span,
                f"`{found}` is a kept word and never a name",
                expected=_expected(expected),
                remedy=remedy,
            )
        else:
            self.mistakes.add(
                "unexpected-word", span, f"`{found}` cannot stand here", expected=_expected(expected), remedy=remedy
            )


def _stands_out(lost: list[tuple[int, Piece]], before: _Growing | None) -> bool:
    """Whether the first of some lost lines is the lost beginning of a statement, and the others are its block."""
    if before is None or (before.closed is not None and before.closed.line == before.line):
        return True
    columns = [piece.tokens[0].column or 1 for _, piece in lost if piece.tokens]
    return columns[0] == 1 and all(column > 1 for column in columns[1:])


def _joined_digits(before: Token, comma: Token, after: Token) -> bool:
    touching = before.end_pos == comma.start_pos and comma.end_pos == after.start_pos
    return touching and before.value.lstrip("-").isdecimal() and after.value[:1].isdecimal()


def starts_statement(tokens: tuple[Token, ...]) -> bool:
    """Whether a line inside a block reads like a statement: then the block's closing brace was forgotten.

    A first word that reserves nothing may be a name of the block's own, such as that of a switch in a state.
    """
    if len(tokens) < 2 or tokens[0].value not in RESERVED or tokens[1].type == "_COLON":
        return False
    return tokens[0].value == "expect" or all(token.type != "_COLON" for token in tokens)
