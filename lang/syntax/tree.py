"""The syntax tree of a text, with positions. No word is understood here."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..diagnostics.diagnostic import Span
from ..named_tuples import NamedTuple

if TYPE_CHECKING:
    from .tokens import Token


# --- what a line says ------------------------------------------------------------------------------------------------
class Marked(NamedTuple):
    """A trait that a kept word begins: ``at tray, tail``, ``for lighting``, ``to 84`` (of ``42 W to 84 W``)."""

    word: str
    names: tuple[Token, ...]


class PartLine(NamedTuple):
    name: Token
    traits: tuple[Token | Marked, ...]


class PatternLine(NamedTuple):
    kind: Token
    name: Token
    traits: tuple[Token | Marked, ...]


class WireLine(NamedTuple):
    name: Token
    a: Token
    b: Token
    traits: tuple[Token | Marked, ...]


class PlaceLine(NamedTuple):
    names: tuple[Token, ...]
    words: tuple[Token, ...]


class RouteLine(NamedTuple):
    a: Token
    b: Token
    values: tuple[Token, ...]


class MountLine(NamedTuple):
    end: Token
    ground: Token
    through: Token | None


class CappedLine(NamedTuple):
    end: Token


class StateLine(NamedTuple):
    name: Token


class Tested(NamedTuple):
    control: Token
    position: Token | None


class Negated(NamedTuple):
    term: Tested | Joined


class Joined(NamedTuple):
    """Terms with the words that join them: one less than the terms, all alike unless somebody mixed them."""

    terms: tuple[Tested | Negated | Joined, ...]
    joints: tuple[Token, ...]


Conditional = Tested | Negated | Joined


class Claimed(NamedTuple):
    """``how`` is the word after the subject (after ``at``, where ``at`` is written: then ``values`` follow)."""

    subject: Token
    how: Token
    values: tuple[Token, ...] | None


class ExpectLine(NamedTuple):
    word: Token | None
    state: Token | None
    whenever: Conditional | None
    without: tuple[Token, ...]
    claims: tuple[Claimed, ...]


class WaiveLine(NamedTuple):
    """``word`` is what is before the name of a ``state``; both ``None`` where the waiver names none."""

    rule: Token
    names: tuple[Token, ...]
    word: Token | None
    state: Token | None
    because: Token
    until: Token | None


class HouseLine(NamedTuple):
    word: Token
    traits: tuple[Token | Marked, ...]


class JudgeLine(NamedTuple):
    rule: Token
    level: Token
    because: Token


class DeclaredLine(NamedTuple):
    names: tuple[Token, ...]
    because: Token


class RemovedLine(NamedTuple):
    names: tuple[Token, ...]


class BundleLine(NamedTuple):
    names: tuple[Token, ...]


class TogetherLine(NamedTuple):
    """``end`` is where the ``names``, those of wires, share a crimp."""

    names: tuple[Token, ...]
    end: Token


class SpareWireLine(NamedTuple):
    name: Token
    a: Token
    b: Token
    traits: tuple[Token | Marked, ...]


class EndsLine(NamedTuple):
    """``terminals`` is ``None`` where the line has no colon: all of the part are meant."""

    names: tuple[Token, ...]
    values: tuple[Token, ...]
    terminals: tuple[Token, ...] | None


class HousingLine(NamedTuple):
    part: Token
    values: tuple[Token, ...]


class TitledLine(NamedTuple):
    text: Token


class UseLine(NamedTuple):
    what: Token


class PlainLine(NamedTuple):
    values: tuple[Token, ...]


class Group(NamedTuple):
    """Terminals between two commas, and the condition after them."""

    names: tuple[Token, ...]
    when: Conditional | None


class OwnLine(NamedTuple):
    """A line of a part's block; ``groups`` is ``None`` where it has no colon."""

    own: tuple[Token | Marked, ...]
    groups: tuple[Group, ...] | None


class SettingsLine(NamedTuple):
    settings: tuple[tuple[Token, Token], ...]


Node = (
    PartLine
    | PatternLine
    | WireLine
    | PlaceLine
    | RouteLine
    | MountLine
    | CappedLine
    | StateLine
    | ExpectLine
    | WaiveLine
    | HouseLine
    | JudgeLine
    | DeclaredLine
    | RemovedLine
    | BundleLine
    | TogetherLine
    | SpareWireLine
    | EndsLine
    | HousingLine
    | TitledLine
    | UseLine
    | PlainLine
)


# --- the tree --------------------------------------------------------------------------------------------------------
class Inner(NamedTuple):
    """A line of a block. ``node`` is ``None`` where it could not be read."""

    file: str
    line: int
    tokens: tuple[Token, ...]
    node: OwnLine | SettingsLine | None

    def span(self, first: Token | None = None, last: Token | None = None) -> Span:
        return _span(self.file, self.line, self.tokens, first, last)


class Statement(NamedTuple):
    """A statement with its block.

    ``head`` is its first word, empty where that begins none. ``node`` is ``None`` where the line could not be read,
    ``block`` where it has none. ``whole`` is false where a line of the block was lost.
    """

    file: str
    line: int
    head: str
    tokens: tuple[Token, ...]
    node: Node | None
    block: tuple[Inner, ...] | None = None
    whole: bool = True

    def span(self, first: Token | None = None, last: Token | None = None) -> Span:
        """From token to token; the whole line's words where none are given."""
        return _span(self.file, self.line, self.tokens, first, last)


class Piece(NamedTuple):
    """A stretch of a line: its words, and the mark that ends it (``;``, ``{``, ``}`` or nothing) with its token.

    ``readable`` is false where the words are not sure, such as behind a quotation mark without its second.
    """

    tokens: tuple[Token, ...]
    mark: str
    sign: Token | None = None
    readable: bool = True


class Line(NamedTuple):
    """A line as written, for tools that must give the text back."""

    pieces: tuple[Piece, ...]
    comment: str | None = None


class Syntax(NamedTuple):
    """A text as statements, and as lines."""

    file: str
    text: str
    statements: tuple[Statement, ...]
    lines: tuple[Line, ...]


def _span(file: str, line: int, tokens: Sequence[Token], first: Token | None, last: Token | None) -> Span:
    start, end = first or tokens[0], last or first or tokens[-1]
    return Span(file, line, start.start_pos + 1, end.start_pos + len(end) + 1)  # asked some ten times a line
