"""A part in the making."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..diagnostics.diagnostic import Span
from ..model.conditions import Pair
from ..syntax.tree import Statement
from ..vocabulary.kinds import KINDS
from .attributes import Facts
from .blocks import Block
from .names import Scope


@dataclass(slots=True, eq=False, repr=False)
class Made:
    """A part in the making: all that was read of it, for the function that makes its kind.

    ``heading`` and ``whole`` tell whether its line, and all of it, was read without a mistake: where they are false,
    what is missing may be on what was lost, and nobody is blamed for it.
    """

    scope: Scope
    statement: Statement
    name: str
    whose: str
    facts: Facts
    block: Block
    common: dict[str, Any]
    heading: bool
    whole: bool

    def pair(self, fact: str) -> Pair | None:
        line = self.block.one(fact)
        return (line.terminals[0], line.terminals[1]) if line else None

    def first(self, fact: str) -> str | None:
        line = self.block.one(fact)
        return line.terminals[0] if line else None

    def all(self, fact: str) -> tuple[str, ...]:
        line = self.block.one(fact)
        return line.terminals if line else ()

    def pairs(self, fact: str) -> tuple[Pair, ...]:
        line = self.block.one(fact)
        return line.pairs if line else ()

    def stated(self, fact: str) -> Any:
        """A property of the block."""
        line = self.block.one(fact)
        return line.facts.get(fact) if line else None

    def only(self, *facts: str) -> dict[str, Any]:
        """Those of these facts that its own line states, as they are named in the model."""
        return {fact: self.facts.get(fact) for fact in facts if self.facts.get(fact) is not None}

    def report(self, kind: str, message: str, expected: str, span: Span | None = None, *, known: bool = True) -> None:
        """Reports a mistake of the part, if enough is ``known`` of it to tell; the part then counts as incomplete."""
        if known:
            self.scope.mistakes.add(kind, span or self.statement.span(), message, expected=expected)
        self.whole = False


def terminals_of(made: Made) -> tuple[str, ...]:
    """Every terminal that the lines of the block name, in the order in which they first do."""
    fixed = KINDS[made.statement.head].terminals
    named = (
        name for line in made.block.lines for name in (*line.terminals, *(end for pair in line.pairs for end in pair))
    )
    return tuple(dict.fromkeys((*fixed, *named)))
