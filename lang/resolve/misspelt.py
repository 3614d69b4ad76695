"""A misspelt declaration is reported once, where it is, not on every line that uses the name as it should be."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Final

from ..diagnostics.diagnostic import Diagnostic, Note, Span
from ..diagnostics.messages import Diagnostics, Found
from ..diagnostics.spelling import slipped
from ..named_tuples import NamedTuple
from ..syntax.tree import Inner, Statement, Syntax
from ..vocabulary.kinds import KINDS, WHATS
from ..vocabulary.words import SENSED
from .names import DEFINES

_SHARED: Final = {
    **dict.fromkeys(("unknown-part", "unknown-control", "unknown-name"), "name"),
    **dict.fromkeys(("unknown-place", "unknown-state", "unknown-pattern"), ""),
    **dict.fromkeys(("unknown-position", "unknown-input", "unknown-terminal", "unknown-element"), "own"),
}
"""Mistakes about a name that nothing defines, and what shares one set of names: all of ``name``, each of the others by
itself, and what a part calls its ``own``."""

_WORD: Final = re.compile(r"[^\W\d_]+")


class _Place(NamedTuple):
    where: Statement | Inner
    at: int

    @property
    def span(self) -> Span:
        return self.where.span(self.where.tokens[self.at])


class _Texts:
    """Where the words of some texts stand."""

    def __init__(self, texts: Sequence[Syntax]) -> None:
        self.texts = texts

    @cached_property
    def places(self) -> dict[str, list[_Place]]:
        """Every word, and the parts of ``PART.TERMINAL``, with where they are. A name is looked for in many."""
        found: dict[str, list[_Place]] = {}
        for where in self._lines():
            for at, token in enumerate(where.tokens):
                for name in {token.value, token.value.partition(".")[0]}:
                    found.setdefault(name, []).append(_Place(where, at))
        return found

    @cached_property
    def words(self) -> Counter[str]:
        """How often each word is anywhere, comments, labels and parts of names included, whatever its case."""
        spoken = Counter(word.casefold() for text in self.texts for word in _WORD.findall(text.text))
        spoken.update(word for name in (*KINDS, *WHATS, *SENSED) for word in _WORD.findall(name))
        return spoken

    def _lines(self) -> Iterator[Statement | Inner]:
        for text in self.texts:
            for statement in text.statements:
                yield statement
                yield from statement.block or ()

    def declared(self, name: str) -> _Place | None:
        """Where a name is declared that is written nowhere else; ``None`` for any other."""
        places = self.places.get(name, [])
        if len(places) != 1:
            return None
        where, at = places[0]
        sort = DEFINES.get(where.head, "") if isinstance(where, Statement) else ""
        named = {"place": at > 0, "pattern": at == 2}.get(sort, at == 1)
        return places[0] if sort and named else None

    def declared_in(self, part: str, name: str) -> _Place | None:
        """The same for what a part calls its own: a position, an input, an element, a terminal."""
        if f"{part}.{name}" in self.places:
            return None
        inside = []
        for place in self.places.get(name, []):
            if isinstance(place.where, Statement):
                if place.where.tokens[place.at - 1] == part and place.where.head not in DEFINES:
                    return None
            elif self._block_of(place.where) == part:
                inside.append(place)
            elif place.at and place.where.tokens[place.at - 1] == part:
                return None
        return inside[0] if len(inside) == 1 else None

    def _block_of(self, line: Inner) -> str:
        owners = (s for text in self.texts for s in text.statements if s.file == line.file and s.line <= line.line)
        last = max((s for s in owners if s.block is not None and line in s.block), key=lambda s: s.line, default=None)
        return last.tokens[1].value if last is not None and len(last.tokens) > 1 else ""

    def likelier(self, one: str, other: str) -> bool:
        """Whether the first name is more of a word than the second, by the words that are elsewhere."""
        a, b = (_WORD.findall(name.casefold()) for name in (one, other))
        return sum(self.words[word] for word in a if word not in b) > sum(
            self.words[word] for word in b if word not in a
        )


def tell_at_declarations(texts: Sequence[Syntax], mistakes: Diagnostics) -> None:
    """Has one mistake at a declaration stand for those of all lines that name what it was meant to declare.

    That is so where the declared name is written nowhere else, one slip of the finger from the one that is used, and
    where two lines and more use that, or where it is the likelier word. Otherwise the one line that uses it is
    reported, with a note where the other name is declared.
    """
    groups: dict[tuple[str, str, str], list[Found]] = {}
    for found in mistakes.unknown():
        shared = _SHARED.get(found.mistake.kind)
        if shared is not None:
            groups.setdefault((shared or found.mistake.kind, found.of, found.wrong or ""), []).append(found)
    known = _Texts(texts)
    for (shared, part, used), users in groups.items():
        if (shared == "own") != bool(part):
            continue
        place = _meant(used, part, users, known)
        if place is None:
            continue
        name = place.where.tokens[place.at].value
        lines = sorted({(each.mistake.span.file, each.mistake.span.line) for each in users})
        if len(lines) > 1 or known.likelier(used, name):
            mistakes.replace(users, _at_declaration(name, used, place.span, users, len(lines)))
        else:
            note = Note(f"`{name}` is named here, and nothing uses it", place.span)
            mistakes.replace(users, replace(users[0].mistake, nearest=name, notes=(note,)))


def _meant(used: str, part: str, users: Iterable[Found], texts: _Texts) -> _Place | None:
    """The one declaration whose name is a slip of the finger from ``used``, if nothing uses that name."""
    near = {name for each in users for name in each.known if slipped(used, (name,))}
    if len(near) != 1:
        return None
    (name,) = near
    return texts.declared_in(part, name) if part else texts.declared(name)


def _at_declaration(name: str, used: str, span: Span, users: Sequence[Found], lines: int) -> Diagnostic:
    first = min(each.mistake.span for each in users)
    says = f"{lines} lines say" if lines > 1 else "one line says"
    return Diagnostic(
        "misspelt-name",
        span,
        f"`{name}` is named here, and {says} `{used}`",
        expected=f"`{used}` here, or `{name}` on {'those lines' if lines > 1 else 'that line'}",
        nearest=used,
        notes=(Note(f"`{used}` {'first ' if lines > 1 else ''}used here", first),),
    )
