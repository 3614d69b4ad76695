"""Mounts, capped terminals, and what some wires run in."""

from __future__ import annotations

from typing import Any, cast

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import listed
from ..model.parts import Ground, Mount, Splice
from ..model.wires import Bundle, Capped
from ..syntax.tree import BundleLine, CappedLine, MountLine, Statement
from ..vocabulary.wires import THROUGH
from .attributes import say_twice
from .ends import find_part, find_terminal
from .names import Scope


def resolve_mount(statement: Statement, scope: Scope) -> Mount | None:
    """A terminal, or a body of ground, that is bolted to a body of ground."""
    node = cast(MountLine, statement.node)
    end = find_terminal(node.end, statement, scope)
    if end is not None and isinstance(scope.parts[end.part], Splice):
        scope.mistakes.add(
            "not-a-ground",
            statement.span(node.end),
            f"`{end.part}` is a splice, and what is bolted to a ground is a terminal or another ground",
            expected=f"a wire from `{end.part}` to the ground",
        )
        end = None
    ground = find_part(node.ground.value, statement.span(node.ground), scope)
    if ground is not None and not isinstance(ground, Ground):
        scope.mistakes.add(
            "not-a-ground",
            statement.span(node.ground),
            f"`{ground.name}` is a {ground.kind}, and a mount joins a terminal to a ground",
            expected=listed(part.name for part in scope.parts.values() if isinstance(part, Ground)) or "a `ground`",
        )
        return None
    through: Any = node.through.value if node.through is not None else None
    if through is not None and node.through is not None and through not in THROUGH:
        scope.mistakes.add(
            "unknown-word",
            statement.span(node.through),
            f"`{through}` is no joint that the language knows",
            expected=f"`through` {listed(THROUGH)}",
            wrong=through,
            known=THROUGH,
        )
        return None
    if end is None or ground is None:
        return None
    if end.node == ground.name:
        scope.mistakes.add(
            "same-ends",
            statement.span(node.end, node.ground),
            f"this mounts `{ground.name}` to itself",
            expected="two different grounds",
        )
        return None
    return Mount(part=end.part, terminal=end.terminal, ground=ground.name, span=statement.span(), through=through)


def resolve_bundles(statements: list[Statement], scope: Scope) -> tuple[Bundle, ...]:
    """The pairs and screens. A wire is twisted once, and has one screen."""
    found: list[Bundle] = []
    seen: dict[tuple[str, str], Span] = {}
    for statement in statements:
        how: Any = statement.head
        before = len(scope.mistakes)
        tokens = cast(BundleLine, statement.node).names
        for token in tokens:
            span = statement.span(token)
            if (how, token.value) in seen:
                say_twice(f"that `{token}` is {how}", span, seen[how, token.value], scope.mistakes)
            elif token.value in scope.wires:
                seen[how, token.value] = span
            else:
                _no_wire(token.value, how, span, scope)
        wires = tuple(token.value for token in tokens if token.value in scope.wires)
        if how == "twisted" and len(tokens) < 2:
            scope.mistakes.add(
                "terminal-count",
                statement.span(),
                "one wire alone is twisted with nothing",
                expected="two wires or more, such as `twisted A, B`",
            )
        if len(wires) == len(tokens) and before == len(scope.mistakes):
            found.append(Bundle(how=how, wires=wires, span=statement.span()))
    return tuple(found)


def _no_wire(name: str, how: str, span: Span, scope: Scope) -> None:
    part = scope.parts.get(name)
    says = f"`{name}` is a {part.kind}, and wires are {how}" if part else f"no wire is named `{name}`"
    scope.unknown("unknown-name", "wire", name, span, says, scope.wires, expected="a wire")


def resolve_capped(statement: Statement, scope: Scope) -> Capped | None:
    end = find_terminal(cast(CappedLine, statement.node).end, statement, scope)
    return None if end is None else Capped(end=end, span=statement.span())
