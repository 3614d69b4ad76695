"""Every kind of mistake that reading a text can find, and the place where they are collected.

``KINDS`` is the catalogue: the error gallery shows one text for each. A kind never changes its name.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from ..named_tuples import NamedTuple
from .diagnostic import Diagnostic, Note, Span
from .spelling import nearest

KINDS: Final[dict[str, str]] = {
    # the text itself
    "survey-file": "a survey where a harness is wanted",
    "not-utf-8": "bytes that are no UTF-8",
    "control-character": "a control character, such as NUL",
    "long-line": "a line longer than the limit",
    "too-many": "more mistakes than the limit; the rest of the file is not read",
    "too-large": "more terminals and lines of blocks, patterns put in, than a harness can have",
    "stray-character": "a character that has no meaning here",
    "unclosed-string": "an opening quotation mark without a closing one",
    "comment-space": "a `#` that touches the word before it",
    # shapes
    "unknown-statement": "a line whose first word is no statement",
    "unexpected-word": "a word where the line needs another one",
    "unexpected-end": "a line that ends too early",
    "unclosed-brace": "a block that is not closed",
    "missing-brace": "lines of a block after a line that opens none",
    "brace-on-own-line": "a `{` on a separate line",
    "stray-brace": "a `}` without a `{`",
    "after-brace": "text after a `}`",
    "nested-block": "a block inside a block",
    "no-block": "a block after a statement that has none",
    "too-deep": "brackets inside brackets, deeper than the limit",
    # numbers
    "glued-unit": "a number and its unit without a space",
    "decimal-comma": "a comma in a number",
    "inch-mark": "a quotation mark for inches",
    "bad-number": "text that is no plain number",
    "missing-unit": "a number without a unit",
    "unknown-unit": "a unit that is not in the list",
    "wrong-dimension": "a quantity of the wrong kind",
    "out-of-range": "a number outside the range that is possible here",
    # words
    "unknown-word": "a word that has no meaning here",
    "unknown-colour": "a colour that is not in the list",
    "unknown-line": "a line that this block cannot have",
    "missing-word": "a word that is needed and missing",
    "repeated": "a word or line that is repeated",
    "bad-name": "a word that cannot be a name",
    "reserved-name": "a name that the language uses itself",
    "duplicate-name": "a name that is taken",
    "misspelt-name": "a name that all who use it write otherwise",
    "misplaced": "a word that this line cannot have",
    # parts
    "terminal-count": "too few or too many terminals",
    "unknown-place": "a place that no `place` line names",
    "unknown-pattern": "a pattern that no line defines",
    "wrong-pattern": "a pattern for another kind of part",
    "no-positions": "a switch without positions",
    "no-stop-position": "a switch for ignition that cannot stop the engine by name",
    "sensed-positions": "positions that a sensed quantity does not have",
    "needs-output": "watts or speeds without an output",
    "unknown-input": "a condition in a unit that names neither input nor latch",
    "unknown-supply": "an output from a supply that the unit does not have",
    "mixed-condition": "`and` and `or` together without brackets",
    # wires and mounts
    "unknown-part": "a part that no line names",
    "unknown-terminal": "a terminal that the part does not have",
    "missing-terminal": "a part that must be named with a terminal",
    "one-node": "a terminal after a splice or a ground",
    "way-half": "an end in a connector that does not say which half",
    "not-a-way": "`via` with a name that is no way of a connector",
    "same-ends": "a wire from a terminal to itself",
    "not-a-ground": "a mount to a part that is no ground",
    "same-places": "a route from a place to itself",
    "two-ways": "two routes of equal length, and no length of the wire",
    "unreached-place": "a wire past a place to which no routes lead",
    "not-at-end": "a wire that does not end where it is declared to share a crimp",
    "way-twice": "a wire that runs through one way twice",
    # states and claims
    "unknown-control": "a control that the harness does not have",
    "unknown-position": "a position that the control does not have",
    "unknown-state": "a state that no line names",
    "unknown-element": "an element that the part does not have",
    "claim-subject": "an expectation of a part that cannot be judged",
    "claim-number": "a number expected in every combination",
    "unknown-name": "a name of no part and no wire",
    "bad-date": "a date that does not exist",
    "no-reason": "a reason without words",
    # the shop
    "unknown-rule": "a rule to judge or to waive that does not exist",
    "unknown-profile": "a profile that does not come with the tool",
    "unreadable-profile": "a profile of the shop that cannot be used",
    # the old harness
    "unreadable-old": "a harness to convert that cannot be read",
    "mistaken-old": "a harness to convert that has mistakes",
    # files
    "unreadable-use": "a file to use that cannot be read",
    "outside-use": "a file to use outside the folder of the checked one",
    "use-cycle": "files that use each other in a loop",
    "unknown-library": "patterns that do not come with the tool",
    "title-in-used": "a title in a file that another one uses",
    "unknown-language": "a language that this version does not know",
}
"""Kind of mistake -> what it is."""

MOST_MISTAKES: Final = 2000
"""This many are reported of one text (ours): what has more is no harness, and nobody reads on."""

NEAREST_ASKED: Final = 20
"""For this many mistakes of a run is the nearest known name looked for, since the search costs."""


TOO_MANY: Final = "too-many"


class Found(NamedTuple):
    """A mistake as it was found: ``wrong`` is the name that nothing defines, if it is about one, ``of`` the part that
    it was looked for in, and ``known`` those that are defined there."""

    mistake: Diagnostic
    wrong: str | None
    known: tuple[str, ...]
    of: str = ""


class Diagnostics:
    """Collects mistakes in any order; ``sorted`` gives them by place in the texts, one each."""

    def __init__(self) -> None:
        self._found: list[Found] = []
        self._lines: dict[tuple[str, int], int] = {}
        self._full = False

    def add(
        self,
        kind: str,
        span: Span,
        message: str,
        *,
        expected: str = "",
        remedy: str = "",
        notes: tuple[Note, ...] = (),
        wrong: str | None = None,
        known: Iterable[str] = (),
        meant: str | None = None,
        of: str = "",
    ) -> None:
        """Adds a mistake of a ``kind`` of ``KINDS``.

        ``wrong`` and ``known`` are the unknown name and those among which the nearest is looked for; ``meant`` is the
        nearest where that is known already, ``of`` the part in which it was looked for. After ``MOST_MISTAKES`` one
        says that there are more, and the rest is not kept: names and blocks can give many for each line.
        """
        if kind not in KINDS:
            raise KeyError(kind)
        self._lines.setdefault((span.file, span.line), span.column)
        if self._full:
            return
        if kind == TOO_MANY:
            self._full = True
        elif len(self._found) > MOST_MISTAKES:
            self._full = True
            kind, wrong, known, meant, notes = TOO_MANY, None, (), None, ()
            message = f"more than {MOST_MISTAKES} mistakes: this one and those found after it are not listed"
            expected, remedy = "a harness", "fix those listed first, or check whether this is the right file"
        mistake = Diagnostic(kind, span, message, expected, meant, remedy, notes)
        self._found.append(Found(mistake, wrong, tuple(known), of))

    def unknown(self) -> tuple[Found, ...]:
        """Those about a name that nothing defines, in the order in which they were found."""
        return tuple(each for each in self._found if each.wrong is not None)

    def replace(self, old: Iterable[Found], new: Diagnostic) -> None:
        """Has one mistake stand for some others."""
        gone = {id(each) for each in old}
        self._found = [each for each in self._found if id(each) not in gone]
        self._found.append(Found(new, None, ()))
        self._lines.setdefault((new.span.file, new.span.line), new.span.column)

    def __len__(self) -> int:
        return len(self._found)

    def on_line(self, file: str, line: int) -> bool:
        """Whether a mistake was found on this line."""
        return (file, line) in self._lines

    def first_column(self, file: str, line: int) -> int | None:
        """Where on this line the first mistake was found."""
        return self._lines.get((file, line))

    def sorted(self, files: Iterable[str]) -> tuple[Diagnostic, ...]:
        """All of them, by file in the given order, then by line and column, with the nearest names filled in."""
        order = {file: number for number, file in enumerate(files)}
        found = sorted(
            self._found,
            key=lambda f: (
                order.get(f.mistake.span.file, len(order)),
                f.mistake.span,
                f.mistake.kind,
                f.mistake.message,
            ),
        )
        asked = 0
        seen: set[tuple[str, Span]] = set()
        result = []
        for entry in found:
            key = (entry.mistake.kind, entry.mistake.span)
            if key in seen:
                continue
            seen.add(key)
            near = None
            if entry.mistake.nearest is None and entry.wrong is not None and asked < NEAREST_ASKED:
                asked += 1
                near = nearest(entry.wrong, entry.known)
            result.append(replace(entry.mistake, nearest=near) if near else entry.mistake)
        return tuple(result)


def listed(words: Iterable[str], joint: str = "or") -> str:
    """`a`, `b` or `c`."""
    return plainly_listed((f"`{word}`" for word in words), joint)


def plainly_listed(words: Iterable[str], joint: str = "and") -> str:
    """a, b and c."""
    *others, last = words if (words := list(words)) else [""]
    return f"{', '.join(others)} {joint} {last}" if others else last
