"""The line and the block of a part, or of a pattern, as one record of what they say."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final, cast

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import listed
from ..quantities.units import is_number
from ..syntax.tree import Marked, PartLine, PatternLine, Statement
from ..vocabulary.kinds import ALWAYS, KINDS, PART_FLAGS, PART_KEYED, SYSTEMS
from ..vocabulary.words import SENSED, Kind, Words
from .attributes import Facts, Reader, say_twice
from .blocks import Block, read_block
from .names import Scope, claim, name_of

_MARKS: Final = ("at", "for", "as", "was")


RATED_AT: Final = {
    "load": "the line of an element: `tail 21 W at 6 V lamp: 58 31`",
    "relay": "the line of its coil: `coil 40 ohm at 6 V: 86 85`",
}
"""Where a rated voltage is written, for those who write it on the line of the part."""


@cache
def line_words(kind: str) -> Words:
    """The words of a part's own line: those of its kind, and those that every part may have."""
    words = KINDS[kind].words
    return words._replace(flags={**words.flags, **PART_FLAGS}, keyed={**words.keyed, **PART_KEYED}, within=(ALWAYS,))


@dataclass(slots=True, eq=False, repr=False)
class Template:
    """What a part's line and block, or a pattern's, say."""

    kind: str
    spec: Kind
    span: Span
    facts: Facts
    block: Block
    heading: bool

    @property
    def whole(self) -> bool:
        """Whether nothing of it was lost; ``heading`` says so of its line alone."""
        return self.heading and self.block.whole


def read_template(kind: str, statement: Statement, scope: Scope) -> Template:
    """The facts of a part's or a pattern's line and the lines of its block."""
    node = cast("PartLine | PatternLine", statement.node)
    spec = KINDS[kind]
    marks = (*spec.marks, *(_MARKS if isinstance(node, PartLine) else ("for",)))
    reader = Reader(statement, scope.mistakes, line_words(kind), f"a {kind}", marks, label=True)
    before = len(scope.mistakes)
    unhurt = not scope.mistakes.on_line(statement.file, statement.line)
    facts = reader.read(node.traits)
    _take_marks(kind, reader, scope)
    heading = unhurt and before == len(scope.mistakes)
    return Template(kind, spec, statement.span(), facts, read_block(kind, spec, statement, scope.mistakes), heading)


def _take_marks(kind: str, reader: Reader, scope: Scope) -> None:
    """``at``, ``for``, ``as``, ``was``, ``senses`` and ``to`` become facts."""
    facts, where = reader.facts, reader.where
    for mark, span in reader.marked:
        fact = {"at": "places", "for": "system", "as": "pattern", "was": "was", "senses": "senses"}[mark.word]
        if fact in facts.values:
            say_twice(fact, span, facts.spans[fact], scope.mistakes)
            continue
        value: Any = mark.names[0].value
        if mark.word == "at":
            value = _places(kind, reader, mark, scope)
        elif mark.word == "for" and value not in SYSTEMS:
            scope.mistakes.add(
                "unknown-word",
                span,
                f"`{value}` is no system of a motorcycle that the language knows",
                expected=f"`for` {listed(SYSTEMS)}",
                wrong=value,
                known=SYSTEMS,
            )
            continue
        elif mark.word == "senses" and value not in SENSED:
            scope.mistakes.add(
                "unknown-word",
                span,
                f"`{value}` is no quantity that a switch senses",
                expected=f"`senses` {listed(SENSED)}",
                wrong=value,
                known=SENSED,
            )
            continue
        if value:
            facts.values[fact], facts.spans[fact] = value, where.span(mark.names[0], mark.names[-1])


def _places(kind: str, reader: Reader, mark: Marked, scope: Scope) -> tuple[str, ...]:
    first = mark.names[0]
    if is_number(first.value) and first.value not in scope.places and kind in RATED_AT:
        scope.mistakes.add(
            "misplaced",
            reader.where.span(first),
            f"on the line of a {kind}, `at` names its place, and no place is named `{first}`",
            expected=f"the rated voltage on {RATED_AT[kind]}",
        )
        return ()
    if len(mark.names) > 1 and kind != "ground":
        scope.mistakes.add(
            "misplaced",
            reader.where.span(mark.names[1], mark.names[-1]),
            f"a {kind} is at one place; only a ground has studs at several",
            expected=f"`at {mark.names[0]}`",
        )
    found: list[str] = []
    for token in mark.names if kind == "ground" else mark.names[:1]:
        if token.value in found:
            say_twice(f"`{token.value}`", reader.where.span(token), reader.where.span(mark.names[0]), scope.mistakes)
        elif find_place(token, reader.where, scope):
            found.append(token.value)
    return tuple(found)


def find_place(token: Any, where: Any, scope: Scope) -> bool:
    """Whether a place of this name is defined; reports it if not."""
    name = token.value
    if name in scope.places:
        return True
    scope.unknown(
        "unknown-place",
        "place",
        name,
        where.span(token),
        f"no place is named `{name}`",
        scope.places,
        expected=listed(scope.places) or "a place that a `place` line names",
    )
    return False


def read_patterns(statements: list[Statement], scope: Scope) -> tuple[dict[str, Template], dict[str, Span]]:
    """The patterns by name, and where each is written."""
    patterns: dict[str, Template] = {}
    taken: dict[str, Span] = {}
    for statement in statements:
        node = cast(PatternLine, statement.node)
        name = name_of(node.name, statement, scope.mistakes, what="pattern")
        if node.kind.value not in KINDS:
            scope.mistakes.add(
                "unknown-word",
                statement.span(node.kind),
                f"`{node.kind}` is no kind of part",
                expected=listed(KINDS),
                wrong=node.kind.value,
                known=KINDS,
            )
            scope.lost.names.add(node.name.value)
            continue
        template = read_template(node.kind.value, statement, scope)
        if name is None:
            scope.lost.sorts.add("pattern")
        elif claim(taken, name, statement.span(node.name), "pattern", scope.mistakes):
            patterns[name] = template
    return patterns, taken
