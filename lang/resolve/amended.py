"""A harness after an edit of some wires, made of the harness before it: the other lines are not made out again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from ..diagnostics.messages import Diagnostics
from ..model.harness import Harness
from ..model.wires import Wire
from ..syntax.tokens import Token
from ..syntax.tree import Statement, Syntax, WireLine
from .names import Scope
from .resolve import all_wires
from .routes import SLACK, Ways
from .wires import resolve_wire


def amended(harness: Harness, before: Sequence[Syntax], texts: Sequence[Syntax]) -> Harness | None:
    """The harness of ``texts`` without a mistake, where ``harness`` is that of the texts ``before``.

    It is the very same one where only comments and spaces behind words differ. ``None`` where more differs than what
    some wires say, each on the line that it had, or where a wire has a mistake: what else refers to it may then have
    one, too.
    """
    changed = _changed(before, texts)
    if not changed:
        return harness if changed is not None else None
    mistakes = Diagnostics()
    scope = Scope(mistakes, places=harness.places, parts=harness.parts)
    stated = [statement for text in texts for statement in text.statements if statement.head == "wires"]
    wire_class, slack = all_wires(stated, scope)
    ways = Ways(harness.routes, SLACK if slack is None else slack)
    for statement in changed:
        resolve_wire(statement, wire_class, ways, scope)
    if len(mistakes) or not all(_stands_for(harness, wire) for wire in scope.wires.values()):
        return None
    return replace(harness, wires={name: scope.wires.get(name, wire) for name, wire in harness.wires.items()})


def _stands_for(harness: Harness, wire: Wire) -> bool:
    """Whether all that other lines ask of a wire, whose name is as it was, is as it was: its pieces' names, and where
    it ends for a crimp that it shares.
    """
    old = harness.wires[wire.name]
    if [piece.name for piece in old.segments] != [piece.name for piece in wire.segments]:
        return False
    ends = [[(piece.a, piece.b) for piece in each.segments] for each in (old, wire)]
    return ends[0] == ends[1] or not any(wire.name in shared.wires for shared in harness.fitting.together)


def _changed(before: Sequence[Syntax], texts: Sequence[Syntax]) -> list[Statement] | None:
    """The wires that say something else, by the same name on the same line; ``None`` where anything else differs."""
    changed: list[Statement] = []
    for old, new in zip(before, texts, strict=True):
        if len(old.statements) != len(new.statements):
            return None
        for one, other in zip(old.statements, new.statements, strict=True):
            if _alike(one, other):
                continue
            if not _same_wire(one, other):
                return None
            changed.append(other)
    return changed


def _same_wire(one: Statement, other: Statement) -> bool:
    return (
        one.head == other.head == "wire"
        and one.line == other.line
        and cast(WireLine, one.node).name == cast(WireLine, other.node).name
    )


def _alike(one: Statement, other: Statement) -> bool:
    """Whether two statements without a mistake say the same at the same place: what they say follows from words."""
    if one.line != other.line or not _same_words(one.tokens, other.tokens):
        return False
    mine, theirs = one.block or (), other.block or ()
    return len(mine) == len(theirs) and all(
        here.line == there.line and _same_words(here.tokens, there.tokens)
        for here, there in zip(mine, theirs, strict=True)
    )


def _same_words(one: Sequence[Token], other: Sequence[Token]) -> bool:
    return one is other or (  # equal lines share their words where a text is read again
        one == other and all(a.start_pos == b.start_pos for a, b in zip(one, other, strict=True))
    )
