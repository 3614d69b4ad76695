"""What resolving knows while it goes: the names of all files, and which of them may be on lines that were lost."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics
from ..diagnostics.spelling import slips
from ..syntax.tree import Inner, Statement
from ..vocabulary.kinds import KINDS
from ..vocabulary.statements import RESERVED, STATEMENTS
from ..vocabulary.words import ENGINE

if TYPE_CHECKING:
    from ..model.parts import Part, Place
    from ..model.statements import State
    from ..model.wires import Wire
    from ..syntax.tokens import Token
    from .attributes import Within

_NAME: Final = re.compile(r"[\w-]+")
_TERMINAL: Final = re.compile(r"[\w-]*[+-]?")

DEFINES: Final = {
    "place": "place",
    "state": "state",
    "pattern": "pattern",
    "wire": "wire",
    **dict.fromkeys(KINDS, "part"),
}
"""First word of a statement -> the sort of thing that it declares."""


@dataclass(slots=True, eq=False, repr=False)
class Lost:
    """Names that a lost line may have defined.

    A mistake costs its own line and no other: what refers to such a name is left out of the harness in silence, since
    the lost line is reported already. ``names`` are certain, and their lines hide no other; ``spoilt`` are the words of
    lines in which the name itself may be hurt, those at their beginning where it is there; ``sorts`` are those of
    lines that have lost their name altogether.
    """

    names: set[str] = field(default_factory=set)
    sorts: set[str] = field(default_factory=set)
    spoilt: list[tuple[str, list[str]]] = field(default_factory=list)

    def note(self, statement: Statement, mistakes: Diagnostics) -> None:
        """Takes in a statement with a mistake on its line."""
        tokens = statement.tokens
        at = mistakes.first_column(statement.file, statement.line) or 0
        head = statement.head
        if not head and len(tokens) > 1 and at == tokens[0].column:
            meant = slips(tokens[0].value, STATEMENTS)
            head = meant[0] if len(meant) == 1 else ""
        sort = DEFINES.get(head, "" if head else "any")
        if not sort:
            return
        named = 2 if sort == "pattern" else 1
        certain = sort not in ("place", "any") and len(tokens) > named + 1
        if certain and (at > tokens[named + 1].end_column or not statement.head):
            self.names.add(tokens[named].value)
            return
        if len(tokens) < 2 or (sort == "place" and statement.node is None):
            self.sorts.add(sort)
        if len(self.spoilt) < _SPOILT:
            cut_off = statement.block or () if sort == "place" else ()
            near = tokens if sort in ("place", "any") else tokens[:_NAME_BEFORE]
            words = [token.value for token in (*near, *(token for inner in cut_off for token in inner.tokens))]
            self.spoilt.append((sort, _PARTED.findall(" ".join(words))))

    def may_be(self, name: str, sort: str) -> bool:
        """Whether a lost line may have defined ``name`` as a ``sort`` of thing."""
        if name in self.names or sort in self.sorts or "any" in self.sorts:
            return True
        alike = _SHARED.get(sort, (sort,))
        return any(of in (*alike, "any") and _was_in(name, words) for of, words in self.spoilt)


_SPOILT: Final = 200
"""Lines beyond which nobody asks any more whether a name was hurt on them."""

_NAME_BEFORE: Final = 5
"""Words of a hurt line among which its name stands, whatever cut a word before it, or the name itself, in two."""

_PARTED: Final = re.compile(r"[\w-]+")
_SHARED: Final = {"part": ("part", "wire"), "wire": ("part", "wire")}


def _was_in(name: str, words: list[str]) -> bool:
    """Whether ``words`` look like a line that had ``name`` before a character of it was hurt, or its end cut off."""
    for place, word in enumerate(words):
        after = words[place + 1 : place + 3]
        if word == name or (len(name) > 1 and (word.startswith(name) or word.endswith(name))):
            return True
        if name.startswith(word) and (not after or name.endswith(tuple(after))):
            return True
        if len(_common(name, word)) + len(_common(name[::-1], word[::-1])) >= len(name) - 1 > 0:
            return True
    return False


def _common(a: str, b: str) -> str:
    length = 0
    for one, other in zip(a, b, strict=False):
        if one != other:
            break
        length += 1
    return a[:length]


@dataclass(slots=True, eq=False, repr=False)
class Scope:
    """Everything defined so far. ``incomplete`` are parts of which a line was lost: any terminal may be theirs.

    ``always_in`` is stated of parts before every switch is known. ``size`` counts the terminals and lines of parts;
    ``too_large`` once that is more than a harness can have.
    """

    mistakes: Diagnostics
    lost: Lost = field(default_factory=Lost)
    places: dict[str, Place] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    wires: dict[str, Wire] = field(default_factory=dict)
    states: dict[str, State] = field(default_factory=dict)
    incomplete: set[str] = field(default_factory=set)
    size: int = 0
    too_large: bool = False
    always_in: dict[str, Within] = field(default_factory=dict)
    taken: dict[str, Span] = field(default_factory=dict)

    def take(self, name: str, span: Span, what: str) -> bool:
        """Gives a name of the parts and wires, which share one set; reports one that is taken."""
        return claim(self.taken, name, span, what, self.mistakes)

    def unknown(
        self,
        kind: str,
        sort: str,
        name: str,
        span: Span,
        message: str,
        known: Iterable[str],
        expected: str,
        meant: str | None = None,
    ) -> None:
        """Reports a name that nothing defines, unless a lost line may have defined it."""
        if not self.lost.may_be(name, sort):
            self.mistakes.add(kind, span, message, wrong=name, known=known, expected=expected, meant=meant)


def claim(taken: dict[str, Span], name: str, span: Span, what: str, mistakes: Diagnostics) -> bool:
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
    token: Token, where: Statement | Inner, mistakes: Diagnostics, *, what: str, letter: bool = True
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


def part_name(token: Token, where: Statement, mistakes: Diagnostics) -> str | None:
    """The name of a part: no word that is reserved, and not ``engine``."""
    name = name_of(token, where, mistakes, what="part")
    if name is not None and (name in RESERVED or name == ENGINE):
        mistakes.add(
            "reserved-name",
            where.span(token),
            f"no part can be named `{name}`, a word of the language",
            expected="another name",
        )
        return None
    return name


def terminal_of(token: Token, where: Statement | Inner, mistakes: Diagnostics) -> str | None:
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
