"""Ends of wires: the part and the terminal that a word such as `KEY.30` or `C1.3p` names."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import listed
from ..model.parts import Connector, Load, Part
from ..model.wires import End
from ..syntax.tree import Inner, Statement
from ..vocabulary.kinds import ONE_NODE
from .names import Scope

if TYPE_CHECKING:
    from ..syntax.tokens import Token


_HALF: Final = re.compile(r"([1-9][0-9]*)([sp])", re.ASCII)


def find_part(name: str, span: Span, scope: Scope) -> Part | None:
    """The part of a name; ``None`` after reporting that it is missing."""
    part = scope.parts.get(name)
    if part is None and name in scope.wires:
        scope.mistakes.add(
            "unknown-part",
            span,
            f"`{name}` is a wire, and no wire ends on another",
            expected="a part",
            remedy="join them in a splice",
        )
    elif part is None:
        scope.unknown(
            "unknown-part",
            "part",
            name,
            span,
            f"no part is named `{name}`",
            scope.parts,
            expected="a part that a line of this file, or of a file that it uses, describes",
        )
    return part


def find_terminal(token: Token, where: Statement, scope: Scope) -> End | None:
    """Where something is connected: a terminal, half a way, a splice or a ground."""
    span, at_name, at_terminal = spans_of(token, where)
    name, point, terminal = token.value.partition(".")
    part = scope.parts.get(name)
    if part is None and not point and name not in scope.wires and (meant := _without_point(name, scope)):
        scope.unknown("unknown-part", "part", name, span, f"no part is named `{name}`", (), f"`{meant}`", meant)
        return None
    part = part or find_part(name, at_name, scope)
    if part is None:
        return None
    if part.kind in ONE_NODE:
        if not terminal:
            return End(name)
        scope.mistakes.add(
            "one-node", span, f"`{name}` is a {part.kind} and has no terminals", expected=f"`{name}` alone"
        )
        return None
    if not terminal:
        scope.mistakes.add(
            "missing-terminal",
            span,
            f"`{name}` is a {part.kind}, and this does not say which of its terminals",
            expected=_terminals_of(part),
        )
        return None
    if isinstance(part, Connector):
        return _half(part, terminal, at_terminal, scope)
    if terminal in part.terminals or name in scope.incomplete:
        return End(name, terminal)
    element = isinstance(part, Load) and next((e for e in part.elements if e.name == terminal), None)
    scope.mistakes.add(
        "unknown-terminal",
        at_terminal,
        f"`{terminal}` is an element of `{name}`, and no terminal"
        if element
        else f"`{name}` has no terminal `{terminal}`",
        expected=f"`{name}.{element.plus}` or `{name}.{element.minus}`" if element else _terminals_of(part),
        wrong=None if element else terminal,
        known=part.terminals,
        of=name,
    )
    return None


def _without_point(written: str, scope: Scope) -> str | None:
    """``BAT.+`` for ``BAT+``, where a part has that terminal."""
    cuts = ((written[:at], written[at:]) for at in range(len(written) - 1, 0, -1))
    return next((f"{a}.{b}" for a, b in cuts if (part := scope.parts.get(a)) and b in part.terminals), None)


def spans_of(token: Token, where: Statement | Inner) -> tuple[Span, Span, Span]:
    """Where ``PART.TERMINAL`` is: the whole, the part's name, and what follows the point."""
    whole = where.span(token)
    point = whole.column + token.value.find(".")
    if point < whole.column:
        return whole, whole, whole
    file, line = whole.file, whole.line
    return whole, Span(file, line, whole.column, point), Span(file, line, point + 1, whole.end_column)


def _half(part: Connector, terminal: str, span: Span, scope: Scope) -> End | None:
    match = _HALF.fullmatch(terminal)
    way = match[1] if match else terminal
    if way not in part.terminals:
        scope.mistakes.add(
            "unknown-terminal",
            span,
            f"`{part.name}` has no way `{terminal}`",
            expected=f"a way from 1 to {part.ways} with `s` (socket) or `p` (pin), such as `{part.name}.1s`",
        )
        return None
    if match is None:
        scope.mistakes.add(
            "way-half",
            span,
            f"an end in way {way} of `{part.name}` is in its socket or on its pin",
            expected=f"`{part.name}.{way}s`, `{part.name}.{way}p`, or `via {part.name}.{way}` to run through",
        )
        return None
    return End(part.name, terminal)


def _terminals_of(part: Part) -> str:
    if isinstance(part, Connector):
        return f"a way and `s` or `p`, such as `{part.name}.1s`"
    if not part.terminals:
        return f"a terminal that the lines of `{part.name}` name (they name none)"
    return listed(f"{part.name}.{terminal}" for terminal in part.terminals)
