"""Every name in a text with what it means there: what is defined, and where it is mentioned.

Made from the syntax alone, so that it holds while other lines of the text have mistakes; ``harness`` is asked only
where one name can mean two things.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal, TypeGuard

from ...lang.diagnostics.diagnostic import Span
from ...lang.model.parts import Connector, Part, Unit
from ...lang.quantities.units import is_number
from ...lang.records import dataclass
from ...lang.syntax.tree import (
    BundleLine,
    CappedLine,
    Conditional,
    DeclaredLine,
    EndsLine,
    ExpectLine,
    HouseLine,
    HousingLine,
    Inner,
    Joined,
    JudgeLine,
    Marked,
    MountLine,
    Negated,
    OwnLine,
    PartLine,
    PatternLine,
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
)
from ...lang.vocabulary.kinds import ALWAYS, GAP, KINDS
from ...lang.vocabulary.wires import WIRE_WORDS
from ...lang.vocabulary.words import ENGINE, IN, Words

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.syntax.tokens import Token

Sort = Literal["part", "wire", "place", "state", "pattern", "terminal", "inner", "rule", "file", "old"]
"""``inner`` is what a part's block names: an element, a position, an input, an output, a latch. ``old`` is a name of
the harness that this one replaces."""

NAMED: Final[tuple[Sort, ...]] = ("part", "wire", "place", "state", "pattern")
"""What has its own name; the rest belongs to a part."""


@dataclass(frozen=True, slots=True)
class Occurrence:
    """A name at one place. ``owner`` is the part (``pattern NAME``: the pattern) that a terminal or ``inner`` is of."""

    sort: Sort
    name: str
    span: Span
    owner: str = ""
    defines: bool = False

    @property
    def key(self) -> tuple[Sort, str, str]:
        """The same for all mentions of one thing."""
        return self.sort, self.owner, self.name


def pattern_owner(name: str) -> str:
    return f"pattern {name}"


def mentions(syntax: Syntax, harness: Harness) -> tuple[Occurrence, ...]:
    """Every name of a text, by place."""
    finder = _Finder(harness)
    found = [mention for statement in syntax.statements for mention in finder.of(statement)]
    return tuple(sorted(found, key=lambda mention: (mention.span, mention.sort)))


def mentions_near(syntax: Syntax, harness: Harness, line: int) -> tuple[Occurrence, ...]:
    """Every name of the statement that is on a line of a text or around it, by place: a hover needs no others."""
    starts = [statement.line for statement in syntax.statements]
    first = bisect_right(starts, line) - 1
    while first > 0 and starts[first - 1] == starts[first]:
        first -= 1
    finder = _Finder(harness)
    near = syntax.statements[max(first, 0) : bisect_right(starts, line)]
    found = [mention for statement in near for mention in finder.of(statement)]
    return tuple(sorted(found, key=lambda mention: (mention.span, mention.sort)))


def mention_at(found: Iterable[Occurrence], line: int, column: int) -> Occurrence | None:
    """What is at a place, or ends there; of two that touch, the later."""
    here = [m for m in found if m.span.line == line and m.span.column <= column <= m.span.end_column]
    return max(here, key=lambda mention: mention.span.column, default=None)


@dataclass(frozen=True, slots=True)
class _Finder:
    harness: Harness

    def of(self, statement: Statement) -> Iterator[Occurrence]:
        def name(sort: Sort, token: Token, *, defines: bool = False) -> Occurrence:
            return Occurrence(sort, token.value, statement.span(token), defines=defines)

        match statement.node:
            case PartLine(named, traits):
                yield name("part", named, defines=True)
                yield from self._traits(traits, statement)
                yield from self._within(traits, statement)
                yield from self._block(statement, statement.head, named.value)
            case PatternLine(kind, named, traits):
                yield name("pattern", named, defines=True)
                yield from self._traits(traits, statement)
                yield from self._within(traits, statement)
                yield from self._block(statement, kind.value, pattern_owner(named.value))
            case WireLine(named, a, b, traits):
                yield name("wire", named, defines=True)
                yield from self._end(a, statement)
                yield from self._end(b, statement)
                yield from self._traits(traits, statement)
                yield from self._past(traits, statement)
            case SpareWireLine(named, a, b):
                yield name("wire", named, defines=True)
                yield name("place", a)
                yield name("place", b)
            case EndsLine(names, _, terminals):
                for token in names:
                    yield name("part", token)
                for token in terminals or ():  # of each part that the line names
                    for part in names:
                        yield Occurrence("terminal", token.value, statement.span(token), part.value)
            case HousingLine(part):
                yield name("part", part)
            case TogetherLine(names, end):
                for token in names:
                    yield name("wire", token)
                yield from self._end(end, statement)
            case PlaceLine(names):
                for token in names:
                    yield name("place", token, defines=True)
            case RouteLine(a, b):
                yield name("place", a)
                yield name("place", b)
            case MountLine(end, ground):
                yield from self._end(end, statement)
                yield name("part", ground)
            case CappedLine(end):
                yield from self._end(end, statement)
            case StateLine(named):
                yield name("state", named, defines=True)
                for inner in statement.block or ():
                    if isinstance(inner.node, SettingsLine):
                        for control, position in inner.node.settings:
                            yield from self._test(control, position, inner)
            case ExpectLine():
                yield from self._expect(statement.node, statement)
            case WaiveLine(rule, names, _, state):
                yield name("rule", rule)
                yield from self._things(names, statement)
                if state is not None:
                    yield name("state", state)
            case BundleLine(names):
                for token in names:
                    yield name("wire", token)
            case JudgeLine(rule):
                yield name("rule", rule)
            case DeclaredLine(names):
                if statement.head == "changes":
                    yield from self._things(names, statement)
                else:
                    for token in names:
                        yield name("old", token)
            case RemovedLine(names):
                for token in names:
                    yield name("old", token)
            case UseLine(what):
                yield name("file", what)
            case TitledLine(text) if statement.head == "converts":
                yield name("file", text)
            case TitledLine() | PlainLine() | HouseLine() | None:
                return

    def _end(self, token: Token, where: Statement | Inner) -> Iterator[Occurrence]:
        """``PART.TERMINAL``, or a part alone."""
        part, point, terminal = token.value.partition(".")
        span = where.span(token)
        if not point:
            yield Occurrence("part", part, span)
            return
        after = span.column + len(part)
        yield Occurrence("part", part, Span(span.file, span.line, span.column, after))
        if isinstance(self.harness.parts.get(part), Connector):
            terminal = terminal.rstrip("sp")  # both halves of a way are the way
        yield Occurrence("terminal", terminal, Span(span.file, span.line, after + 1, span.end_column), part)

    def _inner(self, token: Token, where: Statement | Inner) -> Iterator[Occurrence]:
        """``PART.ELEMENT``, a unit's ``UNIT.LATCH`` or ``UNIT.INPUT``, or a part alone."""
        for mention in self._end(token, where):
            yield replace(mention, sort="inner") if mention.sort == "terminal" else mention

    def _traits(self, traits: Iterable[Token | Marked], where: Statement) -> Iterator[Occurrence]:
        for trait in traits:
            if not isinstance(trait, Marked):
                continue
            if trait.word == "via":
                yield from self._end(trait.names[0], where)
            elif sort := _MARKED.get(trait.word):
                for token in trait.names:
                    yield Occurrence(sort, token.value, where.span(token))

    def _past(self, traits: Iterable[Token | Marked], where: Statement) -> Iterator[Occurrence]:
        """The places behind `past`."""
        items = [None if isinstance(trait, Marked) else trait for trait in traits]
        for word, place in pairwise(items):
            if word is not None and word.value in WIRE_WORDS.named and place is not None:
                yield Occurrence("place", place.value, where.span(place))

    def _within(self, traits: Iterable[Token | Marked], where: Statement) -> Iterator[Occurrence]:
        """The control and the position of ``always in KEY park``."""
        items = [None if isinstance(trait, Marked) else trait for trait in traits]
        for word, joint, control, position in zip(items, items[1:], items[2:], items[3:], strict=False):
            if word == ALWAYS and joint == IN and control is not None and position is not None:
                yield from self._test(control, position, where)

    # --- blocks
    def _block(self, statement: Statement, kind: str, owner: str) -> Iterator[Occurrence]:
        spec = KINDS.get(kind)
        for inner in statement.block or ():
            node = inner.node
            if spec is None or not isinstance(node, OwnLine) or not node.own or isinstance(node.own[0], Marked):
                continue
            first = node.own[0]
            if node.groups is None:
                if first.value == "rests" and len(node.own) > 1 and not isinstance(node.own[1], Marked):
                    yield Occurrence("inner", node.own[1].value, inner.span(node.own[1]), owner)
                continue
            line = spec.lines.get(first.value)
            second = node.own[1] if len(node.own) > 1 else None
            if line is None and spec.free is not None:
                yield Occurrence("inner", first.value, inner.span(first), owner, True)
            elif line is not None and line.name != "no" and _is_name(second, line.words):
                yield Occurrence("inner", second.value, inner.span(second), owner, True)
            for item in node.own:
                if isinstance(item, Marked) and item.word == "from":
                    yield Occurrence("inner", item.names[0].value, inner.span(item.names[0]), owner)
            for group in node.groups:
                if line is None or line.fact != "latches":
                    for token in (t for t in group.names if t.value != GAP or line is None or not line.rows):
                        yield Occurrence("terminal", token.value, inner.span(token), owner, True)
                if group.when is not None:
                    for tested in tests_of(group.when):
                        yield Occurrence("inner", tested.control.value, inner.span(tested.control), owner)

    # --- conditions and claims
    def _test(self, control: Token, position: Token | None, where: Statement | Inner) -> Iterator[Occurrence]:
        if control.value == ENGINE:
            return
        yield from self._inner(control, where)
        part = self.harness.parts.get(control.value.partition(".")[0])
        if position is not None and not isinstance(part, Unit):
            yield Occurrence("inner", position.value, where.span(position), control.value)

    def _expect(self, node: ExpectLine, statement: Statement) -> Iterator[Occurrence]:
        if node.state is not None:
            yield Occurrence("state", node.state.value, statement.span(node.state))
        if node.whenever is not None:
            for tested in tests_of(node.whenever):
                yield from self._test(tested.control, tested.position, statement)
        yield from self._things(node.without, statement)
        for claimed in node.claims:
            yield from self._inner(claimed.subject, statement)

    def _things(self, names: Iterable[Token], where: Statement) -> Iterator[Occurrence]:
        """Parts, wires, pieces of wires (``3.1``) and elements, which share one set of names."""
        for token in names:
            whole, point, _ = token.value.partition(".")
            span = where.span(token)
            if whole in self.harness.wires or (whole[:1].isdigit() and whole not in self.harness.parts):
                yield Occurrence("wire", whole, replace(span, end_column=span.column + len(whole)))
            elif point:
                yield from self._inner(token, where)
            else:
                yield Occurrence("part", whole, span)


def _is_name(item: Token | Marked | None, words: Words) -> TypeGuard[Token]:
    """Whether the word behind that of a line names it."""
    return (
        item is not None
        and not isinstance(item, Marked)
        and item.value not in words.spoken()
        and not is_number(item.value)
    )


_MARKED: Final[dict[str, Sort]] = {"at": "place", "as": "pattern", "was": "old"}


def tests_of(condition: Conditional) -> Iterator[Tested]:
    """Every test of a condition, in the order of the text."""
    match condition:
        case Tested():
            yield condition
        case Negated(term):
            yield from tests_of(term)
        case Joined(terms):
            for each in terms:
                yield from tests_of(each)


def owners(name: str, part: Part | None) -> tuple[str, ...]:
    """Whose lines name the terminals and elements of a part: its own, and those of its pattern."""
    pattern = part.pattern if part is not None else None
    return (name, pattern_owner(pattern)) if pattern else (name,)
