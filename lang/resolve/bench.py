"""What a text says for the bench: what terminals offer, housings, shared crimps, spare wires."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import listed
from ..model.bench import Housing, Offered, SpareWire, Together
from ..model.parts import Connector, Ground, Part, Splice
from ..syntax.tree import EndsLine, HousingLine, SpareWireLine, Statement, TogetherLine
from ..vocabulary.wires import ENDS_WORDS, HOUSING_WORDS, SPARE_WIRE_WORDS
from ..vocabulary.words import DEFAULT_WIRE_CLASS
from .attributes import Facts, Reader, say_twice
from .ends import find_part, find_terminal
from .names import Scope, name_of
from .templates import find_place

if TYPE_CHECKING:
    from ..syntax.tokens import Token

_SIZED: Final = {"tab": "such as `tab 6.3 mm`", "bullet": "such as `bullet 3.9 mm`", "pin": "such as `pin 1.5 mm`"}
"""What has a width or a diameter. A pin may leave it out."""

_NO_CONTACT: Final = ("stud", "screw", "bare")
"""What no way of a connector has."""

_THREADED: Final = ("stud", "screw")


# --- what terminals offer --------------------------------------------------------------------------------------------
def resolve_offered(statements: list[Statement], scope: Scope) -> tuple[Offered, ...]:
    """What is reported on terminals; each is described once."""
    found: list[Offered] = []
    seen: dict[tuple[str, str], Span] = {}
    for statement in statements:
        node = cast(EndsLine, statement.node)
        before = len(scope.mistakes)
        facts = Reader(statement, scope.mistakes, ENDS_WORDS, "an end").read(node.values)
        if before == len(scope.mistakes):
            _check_offered(facts, statement, scope)
        sound = before == len(scope.mistakes)
        for token in node.names:
            part = find_part(token.value, statement.span(token), scope)
            terminals = None if part is None else _terminals(part, token, node, statement, scope)
            if part is None or terminals is None:
                continue
            for terminal in terminals:
                if (part.name, terminal) in seen:
                    named = f"{part.name}.{terminal}" if terminal else part.name
                    say_twice(f"what `{named}` offers", statement.span(), seen[part.name, terminal], scope.mistakes)
                    break
                seen[part.name, terminal] = statement.span()
            else:
                if sound:
                    found.append(
                        Offered(
                            part=part.name,
                            terminals=terminals,
                            what=facts.get("what"),
                            size=facts.get("size"),
                            thread=facts.get("thread"),
                            span=statement.span(),
                        )
                    )
    return tuple(found)


def _check_offered(facts: Facts, statement: Statement, scope: Scope) -> None:
    """A tab and a bullet have a size, a stud a thread, and nothing has what it cannot have."""
    what = facts.get("what")
    if what is None:
        scope.mistakes.add(
            "missing-word",
            statement.span(),
            "this does not say what the part offers a wire",
            expected="`stud M8`, `tab 6.3 mm`, `bullet 3.9 mm`, `pin 1.5 mm`, `screw` or `bare`",
        )
    elif what in ("tab", "bullet") and facts.get("size") is None:
        scope.mistakes.add("missing-word", statement.span(), f"this {what} has no size", expected=_SIZED[what])
    elif what == "stud" and facts.get("thread") is None:
        scope.mistakes.add("missing-word", statement.span(), "this stud has no thread", expected="such as `stud M8`")
    elif facts.get("thread") is not None and what not in _THREADED:
        scope.mistakes.add(
            "misplaced",
            facts.spans["thread"],
            f"a {what} has no thread",
            expected=_SIZED.get(what, f"`{what}` alone"),
        )
    elif facts.get("size") is not None and what not in _SIZED:
        scope.mistakes.add(
            "misplaced",
            facts.spans["size"],
            f"`{what}` has no size in mm here",
            expected=f"`{what} M6`" if what in _THREADED else f"`{what}` alone",
        )
    elif facts.get("size") is not None and facts.get("size") > _WIDEST:
        scope.mistakes.add(
            "out-of-range", facts.spans["size"], f"no {what} of a harness is so wide", expected="at most 20 mm"
        )


_WIDEST: Final = 0.02
"""m; the widest tab of IEC 61210 has 9.5 mm, and a slip of the unit makes a hundred of that."""


def _terminals(part: Part, token: Token, node: EndsLine, statement: Statement, scope: Scope) -> tuple[str, ...] | None:
    """The terminals of a part that a line is about; ``None`` after reporting what is wrong with them."""
    if isinstance(part, Splice):
        scope.mistakes.add(
            "one-node",
            statement.span(token),
            f"`{part.name}` is a splice: its wires are crimped to each other",
            expected="a part with terminals, or a ground",
        )
        return None
    if isinstance(part, Connector) and (odd := [value for value in node.values if value.value in _NO_CONTACT]):
        scope.mistakes.add(
            "misplaced",
            statement.span(odd[0]),
            f"`{part.name}` is a connector, and a way of it has no {odd[0]}",
            expected="`pin`, `tab` or `bullet`, and its size",
        )
        return None
    if isinstance(part, Ground):
        if node.terminals is not None:
            scope.mistakes.add(
                "one-node",
                statement.span(node.terminals[0], node.terminals[-1]),
                f"`{part.name}` is a ground and has no terminals",
                expected="the line without `:`",
            )
            return None
        return ("",)
    if node.terminals is None:
        return part.terminals
    for index, terminal in enumerate(node.terminals):
        if terminal.value not in part.terminals and part.name not in scope.incomplete:
            scope.mistakes.add(
                "unknown-terminal",
                statement.span(terminal),
                f"`{part.name}` has no terminal `{terminal}`",
                expected=listed(part.terminals) or "a part with terminals",
                wrong=terminal.value,
                known=part.terminals,
            )
            return None
        if terminal.value in [each.value for each in node.terminals[:index]]:
            say_twice(f"`{terminal}`", statement.span(terminal), statement.span(node.terminals[0]), scope.mistakes)
            return None
    return tuple(terminal.value for terminal in node.terminals)


# --- housings --------------------------------------------------------------------------------------------------------
def resolve_housings(statements: list[Statement], scope: Scope) -> tuple[Housing, ...]:
    """The housings; a part has one, with a way for each of its terminals."""
    found: dict[str, Housing] = {}
    for statement in statements:
        node = cast(HousingLine, statement.node)
        before = len(scope.mistakes)
        facts = Reader(statement, scope.mistakes, HOUSING_WORDS, "a housing").read(node.values)
        part = find_part(node.part.value, statement.span(node.part), scope)
        ways = facts.get("ways")
        if part is None or before != len(scope.mistakes):
            continue
        if isinstance(part, Connector | Splice | Ground):
            scope.mistakes.add(
                "misplaced",
                statement.span(node.part),
                f"`{part.name}` is a {part.kind}, and a housing is for a part that plugs in by itself",
                expected="a unit, a switch, a relay or the like",
            )
        elif ways is None:
            scope.mistakes.add(
                "missing-word",
                statement.span(),
                "this housing does not say how many ways it has",
                expected="such as `26 ways`",
            )
        elif ways < len(part.terminals) and part.name not in scope.incomplete:
            scope.mistakes.add(
                "out-of-range",
                facts.spans["ways"],
                f"`{part.name}` has {len(part.terminals)} terminals, and its housing {ways} ways",
                expected=f"{len(part.terminals)} ways or more",
            )
        elif part.name in found:
            say_twice(f"the housing of `{part.name}`", statement.span(), found[part.name].span, scope.mistakes)
        else:
            sealed = facts.get("sealed", False)
            found[part.name] = Housing(part=part.name, ways=ways, sealed=sealed, span=statement.span())
    return tuple(found.values())


# --- shared crimps ---------------------------------------------------------------------------------------------------
def resolve_together(statements: list[Statement], scope: Scope) -> tuple[Together, ...]:
    """The crimps that wires share; at each terminal a wire is in one."""
    found: list[Together] = []
    seen: dict[tuple[str, str], Span] = {}
    for statement in statements:
        node = cast(TogetherLine, statement.node)
        end = find_terminal(node.end, statement, scope)
        if end is None:
            continue
        if isinstance(scope.parts[end.part], Splice):
            scope.mistakes.add(
                "misplaced",
                statement.span(node.end),
                f"all wires of the splice `{end.part}` are crimped together",
                expected="a terminal, or a ground",
            )
            continue
        before = len(scope.mistakes)
        for token in node.names:
            span, name = statement.span(token), token.value
            wire = scope.wires.get(name)
            if wire is None:
                part = scope.parts.get(name)
                says = f"`{name}` is a {part.kind}, and wires share a crimp" if part else f"no wire is named `{name}`"
                scope.unknown("unknown-name", "wire", name, span, says, scope.wires, expected="a wire")
                seen[name, end.node] = span
            elif end not in [each for segment in wire.segments for each in (segment.a, segment.b)]:
                scope.mistakes.add(
                    "not-at-end",
                    span,
                    f"wire {name} does not end at `{end.node}`",
                    expected=listed(f"{each.node}" for segment in wire.segments for each in (segment.a, segment.b)),
                )
            elif (name, end.node) in seen:
                say_twice(f"wire {name} at `{end.node}`", span, seen[name, end.node], scope.mistakes)
            else:
                seen[name, end.node] = span
        if len(node.names) < 2:
            scope.mistakes.add(
                "terminal-count",
                statement.span(),
                "one wire alone shares no crimp",
                expected="two wires or more, such as `together 1 2 at BAT.+`",
            )
        wires = tuple(token.value for token in node.names)
        if before == len(scope.mistakes) and all(name in scope.wires for name in wires):
            found.append(Together(wires=wires, end=end, span=statement.span()))
    return tuple(found)


# --- spare wires -----------------------------------------------------------------------------------------------------
def resolve_spare_wires(statements: list[Statement], wire_class: str | None, scope: Scope) -> tuple[SpareWire, ...]:
    """The wires that are laid in and connected to nothing; they share the names of parts and wires."""
    found: list[SpareWire] = []
    for statement in statements:
        node = cast(SpareWireLine, statement.node)
        facts = Reader(statement, scope.mistakes, SPARE_WIRE_WORDS, "a spare wire").read(node.traits)
        name = name_of(node.name, statement, scope.mistakes, what="wire", letter=False)
        places = [find_place(token, statement, scope) for token in (node.a, node.b)]
        if node.a.value == node.b.value:
            scope.mistakes.add(
                "same-places",
                statement.span(node.a, node.b),
                f"this spare wire goes from `{node.a}` to itself",
                expected="two places",
            )
        elif name is not None and scope.take(name, statement.span(node.name), "spare wire") and all(places):
            found.append(
                SpareWire(
                    name=name,
                    a=node.a.value,
                    b=node.b.value,
                    colour=facts.get("colour"),
                    size=facts.get("size"),
                    wire_class=facts.get("wire_class") or wire_class or DEFAULT_WIRE_CLASS,
                    span=statement.span(),
                )
            )
    return tuple(found)
