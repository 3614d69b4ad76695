"""What the eye should tell apart in a line, as regular expressions that Python and Oniguruma read alike.

Both highlighters are made from ``SHAPES``; the words in them come from the language's own table.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from ..quantities.units import ALSO_READ, UNITS
from ..records import dataclass
from ..survey.words import ALSO_LINES, LINES
from ..vocabulary.colours import ALSO_COLOURS, BASE_COLOURS, IEC_60757
from ..vocabulary.kinds import KINDS, PART_KEYED
from ..vocabulary.shop import HOUSE, JUDGEMENTS
from ..vocabulary.statements import STATEMENTS
from ..vocabulary.wires import SAID_WORDS
from ..vocabulary.words import KEPT_WORDS, LATCH_LINES, Words

_NAME = r"[\w+\-]+"
_END = r"(?![\w+\-])"


@dataclass(frozen=True, slots=True)
class Shape:
    """A pattern and what it is. Each group of ``pattern`` has its role; without groups the whole match has the first.

    Roles: comment, string, statement, defined (a name that is given here), kept, word (one that decides), number, unit,
    colour, part, terminal, name, punctuation, space.
    """

    pattern: str
    roles: tuple[str, ...]


def _any(words: Iterable[str]) -> str:
    return "(?:" + "|".join(re.escape(word) for word in sorted(words, key=lambda w: (-len(w), w))) + ")"


def _deciding() -> set[str]:
    """Every word that decides something on a part's or a wire's line."""
    found: set[str] = set()

    def take(words: Words) -> None:
        found.update(words.flags, words.keyed, words.named)

    for words in SAID_WORDS.values():
        take(words)
    found.update(PART_KEYED)
    for kind in KINDS.values():
        take(kind.words)
        found.update(kind.lines, kind.properties)
        for line in kind.lines.values():
            take(line.words)
        if kind.free:
            take(kind.free.words)
    plain = {"class", "wet", "live", "dead", "least", "most", "in", "ground"}
    latches = {word for words in LATCH_LINES for word in words}
    return found | plain | latches | {"always", "negative", "positive"}


_NAMED = (*KINDS, "wire", "spare-wire", "state", "place")
_UNIT = _any((*UNITS, *ALSO_READ))
_COLOUR = f"(?:(?:(?:light|dark)-)?{_any(BASE_COLOURS)}|{_any(ALSO_COLOURS)})"
_CODE = _any((*IEC_60757, *(code.lower() for code in IEC_60757)))
_SEEN = rf"(?:{_COLOUR}|{_CODE}|\?)"
_SURVEYED = _any((*LINES, *ALSO_LINES))
"""The first words of a survey's lines."""

SHAPES: Final = (
    Shape(r"(?:^|(?<=[ \t]))#.*", ("comment",)),
    Shape(r'"[^"\n]*"', ("string",)),
    Shape(rf"(^[ \t]*|[;}}][ \t]*)(pattern)([ \t]+)({_any(KINDS)})([ \t]+)({_NAME})",
          ("punctuation", "statement", "space", "statement", "space", "defined")),
    Shape(rf"(^[ \t]*|[;}}][ \t]*)({_any(_NAMED)})([ \t]+)({_NAME})", ("punctuation", "statement", "space", "defined")),
    Shape(rf"(^[ \t]*|[;}}][ \t]*)(house)([ \t]+)({_any(HOUSE)}){_END}", ("punctuation", "statement", "space", "word")),
    Shape(rf"(^[ \t]*|[;}}][ \t]*)(judge)([ \t]+)({_NAME})([ \t]+)({_any(JUDGEMENTS)}){_END}",
          ("punctuation", "statement", "space", "name", "space", "word")),
    Shape(rf"(^[ \t]*|[;}}][ \t]*)({_any(STATEMENTS)}){_END}", ("punctuation", "statement")),
    Shape(rf"(^[ \t]*)(half|plug|knob)([ \t]+)({_NAME})", ("space", "statement", "space", "defined")),
    Shape(rf"(^[ \t]*)({_SURVEYED}){_END}(?![ \t]*[\d:])", ("space", "statement")),
    Shape(r"\d{4}-\d\d-\d\d(?!\w)", ("number",)),
    Shape(rf"(-?\d+(?:\.\d+)?)([ \t\u00a0\u202f]+)({_UNIT})(?![\w+\-])", ("number", "space", "unit")),
    Shape(r"(\d+)([ \t]+)(x)(?=[ \t]+\d)", ("number", "space", "unit")),
    Shape(rf"([^\W\d_][\w\-]*)(\.)({_NAME})", ("part", "punctuation", "terminal")),
    Shape(rf"-?\d+(?:\.\d+)?{_END}", ("number",)),
    Shape(rf"{_SEEN}(?:/{_SEEN})?\??(?:\+{_SEEN}(?:/{_SEEN})?\??)*(?![\w\-/+?])", ("colour",)),
    Shape(rf"{_COLOUR}(?:/{_COLOUR})?(?![\w\-/])", ("colour",)),
    Shape(rf"{_CODE}(?:/{_CODE})?(?![\w\-/])", ("colour",)),
    Shape(rf"{_any(KEPT_WORDS)}{_END}", ("kept",)),
    Shape(rf"{_any(_deciding())}{_END}", ("word",)),
    Shape(_NAME, ("name",)),
    Shape(r"[:;,{}()]", ("punctuation",)),
    Shape("[ \\t\u00a0\u2007\u202f\ufeff]+", ("space",)),
)  # fmt: skip
