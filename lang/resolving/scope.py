"""What resolving knows while it goes: the names of all files, and which of them may stand on lines that were lost."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from ..messages import Mistakes
from ..mistake import Note, Span
from ..syntax import Inner, Statement
from ..words import ENGINE, KINDS, STATEMENTS

if TYPE_CHECKING:
    from lark import Token

    from ..model import Part, Place, State, Wire

_NAME: Final = re.compile(r"[\w-]+")
_TERMINAL: Final = re.compile(r"[\w-]*[+-]?")

_DEFINES: Final = {
    "place": "place",
    "state": "state",
    "pattern": "pattern",
    "wire": "wire",
    **dict.fromkeys(KINDS, "part"),
}


@dataclass(slots=True)
class Lost:
    """Names that a lost line may have defined.

    A mistake costs its own line and no other: what refers to such a name is left out of the harness in silence, since
    the lost line is reported already. ``sorts`` are those of which nobody can say which name was lost.
    """

    names: set[str] = field(default_factory=set)
    sorts: set[str] = field(default_factory=set)

    def note(self, statement: Statement, mistakes: Mistakes) -> None:
        """Takes in a statement that could not be read."""
        words = [part for token in statement.tokens for part in token.value.split(".")]
        words += [word[len(head) :] for word in words[:1] for head in STATEMENTS if word.startswith(head)]
        self.names.update(words)
        sort = _DEFINES.get(statement.head, "" if statement.head else "any")
        at = mistakes.first_column(statement.file, statement.line)
        named = len(statement.tokens) > 1 and sort not in ("place", "any")
        if sort and not (named and at is not None and at > (statement.tokens[1].end_column or 0)):
            self.sorts.add(sort)

    def may_be(self, name: str, sort: str) -> bool:
        return name in self.names or sort in self.sorts or "any" in self.sorts


@dataclass(slots=True)
class Scope:
    """Everything defined so far. ``incomplete`` are parts of which a line was lost: any terminal may be theirs."""

    mistakes: Mistakes
    lost: Lost = field(default_factory=Lost)
    places: dict[str, Place] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    wires: dict[str, Wire] = field(default_factory=dict)
    states: dict[str, State] = field(default_factory=dict)
    incomplete: set[str] = field(default_factory=set)
    taken: dict[str, Span] = field(default_factory=dict)

    def take(self, name: str, span: Span, what: str) -> bool:
        """Gives a name of the parts and wires, which share one set; reports one that is taken."""
        return claim(self.taken, name, span, what, self.mistakes)

    def unknown(
        self, kind: str, sort: str, name: str, span: Span, message: str, known: Iterable[str], expected: str
    ) -> None:
        """Reports a name that nothing defines, unless a lost line may have defined it."""
        if not self.lost.may_be(name, sort):
            self.mistakes.add(kind, span, message, wrong=name, known=known, expected=expected)


def claim(taken: dict[str, Span], name: str, span: Span, what: str, mistakes: Mistakes) -> bool:
    """Enters ``name`` in ``taken``; where it is taken, reports that and says where it was first defined."""
    if name not in taken:
        taken[name] = span
        return True
    mistakes.add(
        "duplicate-name",
        span,
        f"{what} `{name}` is named twice",
        expected="another name",
        notes=(Note("first defined here", taken[name]),),
    )
    return False


def name_of(
    token: Token, where: Statement | Inner, mistakes: Mistakes, *, what: str, letter: bool = True
) -> str | None:
    """A name as text, or ``None`` after reporting what is wrong with it. ``letter``: it must begin with one."""
    text: str = token.value
    if _NAME.fullmatch(text) is None or (letter and not text[0].isalpha()):
        begins = "a letter, then " if letter else ""
        mistakes.add(
            "bad-name",
            where.span(token),
            f"`{text}` cannot be the name of a {what}",
            expected=f"{begins}letters, digits, `-` and `_`",
        )
        return None
    return text


def part_name(token: Token, where: Statement, mistakes: Mistakes) -> str | None:
    """The name of a part: none of the first words of statements, and not ``engine``."""
    name = name_of(token, where, mistakes, what="part")
    if name is not None and (name in STATEMENTS or name == ENGINE):
        mistakes.add(
            "reserved-name",
            where.span(token),
            f"no part can be named `{name}`, a word of the language",
            expected="another name",
        )
        return None
    return name


def terminal_of(token: Token, where: Statement | Inner, mistakes: Mistakes) -> str | None:
    """The name of a terminal, which may be or end in ``+`` or ``-``."""
    if _TERMINAL.fullmatch(token.value):
        return str(token.value)
    mistakes.add(
        "bad-name",
        where.span(token),
        f"`{token.value}` cannot be the name of a terminal",
        expected="letters, digits, `-` and `_`, with a `+` or `-` at the end if at all",
    )
    return None
