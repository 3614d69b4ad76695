"""The lines of a part's block, read by the table in ``words``: what each is, its facts and its terminals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics, listed
from ..model.conditions import Condition, Pair
from ..quantities.units import UNITS_OF, is_number
from ..syntax.tree import Group, Inner, Marked, OwnLine, Statement
from ..vocabulary.kinds import GAP
from ..vocabulary.words import LATCH_LINES, TOGGLED, Kind, Line, Property, Words
from .attributes import Facts, Reader, say_twice
from .conditions import unit_condition
from .names import name_of, terminal_of

if TYPE_CHECKING:
    from ..syntax.tokens import Token


@dataclass(slots=True, eq=False, repr=False)
class Read:
    """A line of a block as read. ``terminals`` in the order of the text; ``pairs`` and ``rows`` where it has such.

    ``conditions`` are what follows ``when``: one for an output, two for a latch (set, cleared). ``drawn`` is the supply
    after ``from``; ``toggles`` is of a latch. ``sound`` is false where a word of it was no good, so that what is
    missing may be that word.
    """

    spec: Line | Property
    word: str
    span: Span
    name: str = ""
    facts: Facts = field(default_factory=Facts)
    terminals: tuple[str, ...] = ()
    pairs: tuple[Pair, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    conditions: tuple[tuple[Condition, Inner], ...] = ()
    drawn: tuple[str, Span] | None = None
    toggles: bool = False
    sound: bool = True


@dataclass(slots=True, eq=False, repr=False)
class Block:
    """The lines of a block that could be read; ``whole`` is false where one was lost."""

    lines: list[Read] = field(default_factory=list)
    whole: bool = True

    def of(self, fact: str) -> list[Read]:
        return [line for line in self.lines if line.spec.fact == fact]

    def one(self, fact: str) -> Read | None:
        return next(iter(self.of(fact)), None)

    def joined(self, below: Block, mistakes: Diagnostics) -> Block:
        """A pattern's lines and the part's own, which add up; reports what both have."""
        block = Block([*below.lines, *self.lines], self.whole and below.whole)
        once: dict[tuple[str, str], Span] = {}
        for line in block.lines:
            many = isinstance(line.spec, Line) and not line.spec.once
            key = (line.spec.fact, line.name if many else "")
            if key[1] == "" and many and line.spec.fact == "commons":
                continue
            if key not in once:
                once[key] = line.span
            elif line.span != once[key]:
                if many and line.name:
                    mistakes.add(
                        "duplicate-name",
                        line.span,
                        f"`{line.name}` is named twice in this block",
                        expected="another name",
                        notes=(Note("first defined here", once[key]),),
                    )
                else:
                    say_twice(f"`{line.word}`", line.span, once[key], mistakes)
        return block


def read_block(kind: str, spec: Kind, statement: Statement, mistakes: Diagnostics) -> Block:
    """Reads the block of a part or a pattern of ``kind``."""
    block = Block(whole=statement.whole)
    if statement.block is None:
        return block
    for inner in statement.block if spec.has_block else ():
        if not isinstance(inner.node, OwnLine):
            continue
        read = _line(kind, spec, inner, inner.node, mistakes)
        if read is None:
            block.whole = False
        else:
            block.lines.append(read)
            block.whole = block.whole and read.sound
    return block


def _line(kind: str, spec: Kind, inner: Inner, node: OwnLine, mistakes: Diagnostics) -> Read | None:
    own = node.own
    first = own[0] if own else None
    if first is None or isinstance(first, Marked) or first.type != "WORD":
        mistakes.add(
            "unexpected-word",
            inner.span(inner.tokens[0]),
            "a line of a block begins with a word that says what it is",
            expected=_lines_of(spec),
        )
        return None
    if node.groups is None:
        return _property(kind, spec, inner, first, own[1:], mistakes)
    line, name = spec.lines.get(first.value), ""
    rest = own[1:]
    if line is None and spec.free is not None:
        line = spec.free
        called = name_of(first, inner, mistakes, what="position" if line.pairs else "element", letter=False)
        if called is None:
            return None
        name = called
    elif line is None and first.value in spec.properties:
        written = " ".join(str(token.value) for token in inner.tokens if token.value != ":")
        mistakes.add(
            "misplaced",
            inner.span(first),
            f"`{first.value}` is a property, and a property takes no colon",
            expected=f"`{written}`",
            remedy="a colon goes before terminals only",
        )
        return None
    elif line is None:
        _unknown_line(kind, spec, inner, first, mistakes)
        return None
    elif line.name != "no":
        named = rest[0] if rest else None
        if isinstance(named, Marked) or named is None or named.type != "WORD" or _is_fact(named, line.words):
            if line.name == "must":
                mistakes.add(
                    "missing-word",
                    inner.span(first),
                    f"this `{first.value}` has no name",
                    expected=f"`{first.value} NAME …: terminals`",
                )
                return None
        else:
            called = name_of(named, inner, mistakes, what=first.value, letter=False)
            if called is None:
                return None
            name, rest = called, rest[1:]
    before = len(mistakes)
    reader = Reader(inner, mistakes, line.words, f"`{name or first.value}`", ("from",) if line.when else ())
    read = Read(line, first.value, inner.span(), name, reader.read(rest))
    read.sound = before == len(mistakes)
    for mark, span in reader.marked:
        if read.drawn is not None:
            say_twice("its supply", span, read.drawn[1], mistakes)
        read.drawn = (mark.names[0].value, span)
    if line.fact == "latches":
        return _latch(read, inner, node.groups, mistakes)
    return _connect(read, line, inner, node.groups, mistakes)


def _is_fact(token: Token, words: Words) -> bool:
    return token.value in words.spoken() or is_number(token.value)


def _property(
    kind: str, spec: Kind, inner: Inner, first: Token, rest: Sequence[Token | Marked], mistakes: Diagnostics
) -> Read | None:
    prop = spec.properties.get(first.value)
    if prop is None:
        if first.value in spec.lines or spec.free is not None:
            mistakes.add(
                "unexpected-end",
                inner.span(inner.tokens[-1]),
                f"`{first.value}` does not say where it is connected",
                expected=f"`{first.value} …:` and its terminals"
                + (f"; or {listed(spec.properties)}" if spec.properties else ""),
                wrong=first.value,
                known=spec.properties,
            )
        else:
            _unknown_line(kind, spec, inner, first, mistakes)
        return None
    if not prop.dimension:
        name = rest[0] if rest else None
        if name is None or isinstance(name, Marked) or len(rest) > 1:
            mistakes.add(
                "unexpected-end" if name is None else "unexpected-word",
                inner.span(),
                f"`{first.value}` is followed by one name",
                expected=f"`{first.value} NAME`",
            )
            return None
        return Read(
            prop, first.value, inner.span(), facts=Facts({prop.fact: name.value}, {prop.fact: inner.span(name)})
        )
    words = Words(ratings={prop.dimension: prop.fact})
    before = len(mistakes)
    reader = Reader(inner, mistakes, words, f"`{first.value}`")
    facts = reader.read(rest[:2] if prop.then else rest)
    if prop.then and before < len(mistakes):
        return None
    if prop.then:
        reader.words = Words(ratings={prop.dimension: prop.then})
        facts = reader.read(rest[2:])
        if prop.then not in facts.values or len(mistakes) > before:
            if len(mistakes) > before:
                return None
            mistakes.add(
                "unexpected-end",
                inner.span(),
                f"`{first.value}` has two quantities",
                expected=f"`{first.value}`, then twice a number and {listed(UNITS_OF[prop.dimension])}",
            )
            return None
    if not facts.values and before == len(mistakes):
        mistakes.add(
            "unexpected-end",
            inner.span(first),
            f"`{first.value}` has no quantity",
            expected=f"`{first.value}`, a number and its unit",
        )
    return Read(prop, first.value, inner.span(), facts=facts)


def _connect(read: Read, line: Line, inner: Inner, groups: Sequence[Group], mistakes: Diagnostics) -> Read | None:
    names: list[str] = []
    pairs: list[Pair] = []
    rows: list[tuple[str, ...]] = []
    for group in groups:
        if group.when is not None:
            if not line.when:
                mistakes.add("misplaced", inner.span(), f"`{read.word}` has no `when`", expected="terminals only")
                return None
            condition = unit_condition(group.when, inner, mistakes)
            if condition is not None:
                read.conditions = ((condition, inner),)
            else:
                return None
        terminals = [terminal_of(token, inner, mistakes) for token in group.names]
        if None in terminals:
            return None
        known = [name for name in terminals if name is not None]
        names += (name for name in known if not (line.rows and name == GAP))
        rows.append(tuple(known))
        if line.pairs:
            if len(known) != 2 or known[0] == known[1]:
                mistakes.add(
                    "terminal-count",
                    inner.span(group.names[0], group.names[-1]),
                    f"`{' '.join(known)}` is no pair",
                    expected="two terminals for each contact, and a comma between contacts: `30 15, 30 58`",
                )
                return None
            pairs.append((known[0], known[1]))
    too_many = len(groups) > 1 and not line.rows
    if not line.pairs and (too_many or not line.least <= len(names) <= (line.most or len(names))):
        mistakes.add(
            "terminal-count",
            inner.span(),
            f"`{read.name or read.word}` has {_count(len(names))} here"
            if not too_many
            else "these terminals are not separated by commas",
            expected=_wanted(line),
        )
        return None
    if not line.pairs and len(set(names)) < len(names):
        mistakes.add(
            "terminal-count", inner.span(), f"one terminal is named twice after `{read.word}`", expected=_wanted(line)
        )
        return None
    read.terminals, read.pairs, read.rows = tuple(names), tuple(pairs), tuple(rows) if line.rows else ()
    return read


def _latch(read: Read, inner: Inner, groups: Sequence[Group], mistakes: Diagnostics) -> Read | None:
    said = [(group.names[0].value if len(group.names) == 1 else "", group.when) for group in groups]
    words = tuple(word for word, _ in said)
    if words not in LATCH_LINES or any(when is None for _, when in said):
        wanted = tuple(tuple(dict.fromkeys(place)) for place in zip(*LATCH_LINES, strict=True))
        wrong, known = next(((w, right) for w, right in zip(words, wanted, strict=False) if w not in right), ("", ()))
        mistakes.add(
            "unexpected-word",
            inner.span(),
            "a latch says when it is set, or toggled, and then when it is cleared",
            expected=listed(
                f"latch {read.name}: {first} when CONDITION, {second} when CONDITION" for first, second in LATCH_LINES
            ),
            wrong=wrong or None,
            known=known,
        )
        return None
    read.toggles = words[0] == TOGGLED
    found = [unit_condition(when, inner, mistakes) for _, when in said if when is not None]
    if any(condition is None for condition in found):
        return None
    read.conditions = tuple((condition, inner) for condition in found if condition is not None)
    return read


def _unknown_line(kind: str, spec: Kind, inner: Inner, first: Token, mistakes: Diagnostics) -> None:
    known = (*spec.lines, *spec.properties)
    mistakes.add(
        "unknown-line",
        inner.span(first),
        f"a {kind} has no line `{first.value}`",
        expected=_lines_of(spec),
        wrong=first.value,
        known=known,
    )


def _lines_of(spec: Kind) -> str:
    own = {"positions": "a position", "elements": "an element"}.get(spec.free.fact, "") if spec.free else ""
    return " or ".join(
        [*([own] if own else []), *([listed((*spec.lines, *spec.properties))] if spec.lines or spec.properties else [])]
    )


def _count(number: int) -> str:
    return f"{number or 'no'} terminal{'' if number == 1 else 's'}"


def _wanted(line: Line) -> str:
    if line.most is None:
        return "one terminal or more"
    return _count(line.least) if line.least == line.most else f"{line.least} to {line.most} terminals"
