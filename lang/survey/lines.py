"""The lines of a survey as words: a line is a list of words, nothing in it is nested, so no grammar is needed."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import MOST_MISTAKES, TOO_MANY, Diagnostics
from ..records import dataclass
from ..syntax.lexing import LONGEST_LINE

_WORD: Final = re.compile(r'(?:^|(?<=[ \t\u00a0]))#.*|"[^"]*"?|[:,]|[^\s:,"]+')
_GAP: Final = " \t\u00a0\u2007\u202f\ufeff"


@dataclass(frozen=True, slots=True)
class Word:
    text: str
    span: Span

    @property
    def is_text(self) -> bool:
        return self.text.startswith('"')


@dataclass(frozen=True, slots=True)
class SurveyLine:
    """A line: its words, its comment (empty without one), and whether its words can be trusted."""

    number: int
    words: tuple[Word, ...]
    comment: str
    body: str
    readable: bool = True

    @property
    def span(self) -> Span:
        first, last = self.words[0].span, self.words[-1].span
        return Span(first.file, first.line, first.column, last.end_column)


def survey_lines(text: str, file: str, mistakes: Diagnostics) -> tuple[SurveyLine, ...]:
    """Every line of a text, without its end; what cannot be read is reported and has no words."""
    rows = text.removeprefix("\ufeff").split("\n")
    lines = []
    for number, row in enumerate(rows, 1):
        if len(mistakes) > MOST_MISTAKES:
            mistakes.add(
                TOO_MANY,
                Span(file, number, 1, max(2, len(row) + 1)),
                "the rest of the survey is not read",
                expected="a survey",
                remedy="correct the mistakes above first, or look whether this is the right file",
            )
            break
        lines.append(_line(row.removesuffix("\r"), number, file, mistakes))
    return tuple(lines)


def _line(body: str, number: int, file: str, mistakes: Diagnostics) -> SurveyLine:
    row = unicodedata.normalize("NFC", body) if not body.isascii() else body
    unreadable = SurveyLine(number, (), "", body, readable=False)
    if len(row) > LONGEST_LINE:
        mistakes.add(
            "long-line",
            Span(file, number, 1, 2),
            f"this line has {len(row)} characters",
            expected=f"at most {LONGEST_LINE}",
        )
        return unreadable
    for column, letter in enumerate(row, 1):
        if "\ud800" <= letter <= "\udfff":
            mistakes.add(
                "not-utf-8",
                Span(file, number, column, column + 1),
                "bytes that are no UTF-8",
                expected="a file saved as UTF-8",
            )
            return unreadable
        if letter not in _GAP and unicodedata.category(letter) in ("Cc", "Cf", "Zl", "Zp"):
            mistakes.add(
                "control-character",
                Span(file, number, column, column + 1),
                f"the character U+{ord(letter):04X}, which no keyboard writes",
                expected="text",
                remedy="delete it",
            )
            return unreadable
    words, comment = [], ""
    for match in _WORD.finditer(row):
        span = Span(file, number, match.start() + 1, match.end() + 1)
        found = match[0]
        if found.startswith("#"):
            comment = body[match.start() :].rstrip() if len(body) == len(row) else found.rstrip()
            break
        if found.startswith('"') and (len(found) == 1 or not found.endswith('"')):
            mistakes.add(
                "unclosed-string",
                span,
                'a text begins here and has no second `"`',
                expected='`"` at its end, on the same line',
            )
            return unreadable
        words.append(Word(found, span))
    return SurveyLine(number, tuple(words), comment, body)
