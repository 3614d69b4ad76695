"""A line becomes words, cut into pieces at ``;``, ``{`` and ``}``; what is no word at all is reported."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import Diagnostics
from ..named_tuples import NamedTuple
from .misfits import end_meant
from .tree import Piece

if TYPE_CHECKING:
    from collections.abc import Iterable

    from .tokens import Token


LONGEST_LINE: Final = 10_000
"""Characters. A line of a harness has some sixty; what is longer is no text that anybody wrote."""


_CONTROL: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
"""What no keyboard writes, or what makes a line read otherwise than it is (the marks of two-way writing)."""


SURROGATE: Final = re.compile("[\ud800-\udfff]")


ANY_ODD: Final = re.compile(f"{SURROGATE.pattern}|{_CONTROL.pattern}")


_DIGITS: Final = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


_MARKS: Final = {"SEMICOLON": ";", "LBRACE": "{", "RBRACE": "}"}


_SPECIAL: Final = frozenset((*_MARKS, "COMMENT", "STRING", "UNCLOSED", "STRAY", "_WITH"))


_NAMES: Final = ("WORD", "END", "DECIMAL")


_ENDS_EXPECTED: Final = "names of letters, digits, `-` and `_`, with `.` between a part and its terminal"


class Cutter(NamedTuple):
    """Cuts lines into pieces, and tells what is no word at all."""

    file: str
    mistakes: Diagnostics
    lex: Callable[[str], Iterable[Token]]

    def is_clean(self, row: str, number: int) -> bool:
        if match := SURROGATE.search(row):
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
                f"the invisible character U+{ord(match[0]):04X} is not allowed in a harness",
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
        clean = SURROGATE.sub(" ", _CONTROL.sub(" ", row[:LONGEST_LINE])).replace('"', " ")
        words = tuple(token for token in self.lex(clean) if token.type in _NAMES and token.start_pos >= start)
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
        for place, token in enumerate(tokens):
            kind = token.type
            if kind in _MARKS:
                pieces.append(Piece(tuple(words), token.value, token, readable))
                words, readable = [], True
            elif kind not in _SPECIAL or (kind == "STRING" and not _is_inch(words, token)):
                words.append(token)
            elif kind == "COMMENT" and (not token.start_pos or row[token.start_pos - 1].isspace()):
                comment = token.value
            else:
                if readable and token.value == ".":
                    self._point(tokens, place, number)
                elif readable:
                    self._odd(token, words, number)
                readable = False
                if kind not in ("STRAY", "_WITH"):
                    pieces.append(self.lost(row, (words or [token])[0].start_pos))
                    return tuple(pieces), None
        if words or not readable:
            pieces.append(Piece(tuple(words), "", None, readable))
        return tuple(pieces), comment

    def _point(self, tokens: tuple[Token, ...], place: int, line: int) -> None:
        """A point that parts no terminal from its part: says what was meant, where the words around it tell."""
        last = place
        while last + 1 < len(tokens) and tokens[last + 1].value == "." and _touch(tokens, last):
            last += 1
        before = tokens[place - 1] if place and tokens[place - 1].type in _NAMES else None
        after = tokens[last + 1] if last + 1 < len(tokens) and tokens[last + 1].type in _NAMES else None
        if after is not None and not _touch(tokens, last) and after.value not in ("+", "-"):
            after = None
        if before is not None and not _touch(tokens, place - 1) and (after is None or not _touch(tokens, last)):
            before = None
        meant = end_meant(before, after)
        self.mistakes.add(
            "stray-character",
            Span(self.file, line, tokens[place].column, tokens[last].end_column),
            f"`{'.' * (last - place + 1)}` means nothing here",
            expected=f"`{meant}`" if meant else _ENDS_EXPECTED,
        )

    def _odd(self, token: Token, words: list[Token], line: int) -> None:
        column = token.column
        if token.type in ("UNCLOSED", "STRING") and _is_inch(words, token):
            self.mistakes.add(
                "inch-mark",
                Span(self.file, line, words[-1].column, column + 1),
                f'`{words[-1]}"` is no length, since `"` begins a text',
                expected=f"`{words[-1]} inch`",
            )
        elif token.type == "UNCLOSED":
            self.mistakes.add(
                "unclosed-string",
                Span(self.file, line, column, token.end_column),
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
                Span(self.file, line, column, token.end_column),
                "`with` is kept for later and means nothing yet",
                remedy="write the line without it",
            )
        else:
            self.mistakes.add(
                "stray-character",
                Span(self.file, line, column, column + 1),
                f"`{token.value}` means nothing here",
                expected=_ENDS_EXPECTED,
            )


def _touch(tokens: tuple[Token, ...], place: int) -> bool:
    """Whether nothing is between a token and the next."""
    return tokens[place].end_pos == tokens[place + 1].start_pos


def _is_inch(words: list[Token], quote: Token) -> bool:
    return bool(words) and words[-1].end_pos == quote.start_pos and _DIGITS.fullmatch(words[-1]) is not None
