"""States, expectations and waivers, and what one harness says of another."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, Final, cast

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import listed
from ..model.conditions import Condition, told_apart
from ..model.parts import Load, Source, Unit
from ..model.statements import Claim, Declared, Expectation, Removed, State, Waiver
from ..quantities.units import UNITS, is_number, unit_name
from ..syntax.tree import Claimed, DeclaredLine, ExpectLine, RemovedLine, SettingsLine, StateLine, Statement, WaiveLine
from ..vocabulary.words import ENGINE, SENSED
from .attributes import say_twice
from .conditions import check_position, control_of, harness_condition
from .ends import find_part, spans_of
from .measures import measure
from .names import Scope, claim, name_of

if TYPE_CHECKING:
    from ..syntax.tokens import Token

_CLAIMED: Final = {"voltage": "V", "current": "A", "power": "W"}


# --- states ----------------------------------------------------------------------------------------------------------
def resolve_states(statements: list[Statement], scope: Scope) -> None:
    taken: dict[str, Span] = {}
    for statement in statements:
        token = cast(StateLine, statement.node).name
        name = name_of(token, statement, scope.mistakes, what="state")
        if name is None:
            scope.lost.names.add(token.value)
            continue
        if statement.block is None:
            scope.mistakes.add(
                "unexpected-end",
                statement.span(),
                f"`{name}` does not say the positions of its controls",
                expected=f"`state {name} {{ CONTROL POSITION, … }}`",
            )
            scope.lost.names.add(name)
            continue
        if claim(taken, name, statement.span(token), "state", scope.mistakes):
            settings = _settings(statement, scope)
            scope.states[name] = State(
                name=name,
                settings=tuple((each, told_apart(at) if each == ENGINE else at) for each, at in settings),
                span=statement.span(),
                in_numbers=settings,
            )


def _settings(statement: Statement, scope: Scope) -> tuple[tuple[str, str], ...]:
    settings: dict[str, str] = {}
    spans: dict[str, Span] = {}
    for inner in statement.block or ():
        if not isinstance(inner.node, SettingsLine):
            continue
        for control, position in inner.node.settings:
            found = control_of(control, inner, scope)
            if found is None or not check_position(control.value, position, found[1], inner, scope):
                continue
            span = inner.span(control, position)
            if found[0] in settings:
                scope.mistakes.add(
                    "repeated",
                    span,
                    f"`{found[0]}` can be in one position only, and has one in this state",
                    expected="one position",
                    notes=(Note("first stated here", spans[found[0]]),),
                )
                continue
            settings[found[0]], spans[found[0]] = str(position.value), span
    return tuple(settings.items())


# --- expectations ----------------------------------------------------------------------------------------------------
def resolve_expectation(statement: Statement, scope: Scope) -> Expectation | None:
    node = cast(ExpectLine, statement.node)
    state: str | None = None
    whenever: Condition | None = None
    good = True
    if node.whenever is not None:
        whenever = harness_condition(node.whenever, statement, scope)
        good = whenever is not None
    elif node.word is not None and node.state is not None:
        if node.word.value != "in":
            scope.mistakes.add(
                "unexpected-word",
                statement.span(node.word),
                f"`{node.word}` is not allowed after `expect`",
                expected="`in` and a state, or `whenever` and a condition",
            )
            good = False
        state = node.state.value
        good = _is_state(node.state, statement, scope) and good
    without = [token.value for token in node.without if _is_thing(token, statement, scope)]
    claims = [found for claimed in node.claims if (found := _claim(claimed, node, statement, scope)) is not None]
    if not good or not claims or len(without) < len(node.without):
        return None
    return Expectation(
        claims=tuple(claims), span=statement.span(), state=state, whenever=whenever, without=tuple(without)
    )


def _is_thing(token: Token, statement: Statement, scope: Scope) -> bool:
    """Whether a name is that of a part, a wire or a piece of one; reports it if not."""
    name = token.value
    if (
        name in scope.parts
        or name in scope.wires
        or any(p.name == name for w in scope.wires.values() for p in w.segments)
    ):
        return True
    if not scope.lost.may_be(name, "wire"):
        scope.unknown(
            "unknown-name",
            "part",
            name,
            statement.span(token),
            f"neither a part nor a wire is named `{name}`",
            (*scope.parts, *scope.wires),
            expected="a part or a wire",
        )
    return False


def _claim(claimed: Claimed, node: ExpectLine, statement: Statement, scope: Scope) -> Claim | None:
    subject = _subject(claimed.subject, statement, scope)
    last = claimed.values[-1] if claimed.values else claimed.how
    span = statement.span(claimed.subject, last)
    how: Any = claimed.how.value
    if claimed.values is None:
        if how not in ("live", "dead"):
            scope.mistakes.add(
                "unknown-word",
                statement.span(claimed.how),
                f"`{how}` is nothing that can be claimed",
                expected="`live`, `dead`, `at least` or `at most`",
                wrong=how,
                known=("live", "dead"),
            )
            return None
        return None if subject is None else Claim(part=subject[0], element=subject[1], how=how, span=span)
    if how not in ("least", "most"):
        scope.mistakes.add(
            "unknown-word",
            statement.span(claimed.how),
            f"`at {how}` is nothing that can be claimed",
            expected="`at least` or `at most`",
            wrong=how,
            known=("least", "most"),
        )
        return None
    quantity = _quantity(claimed, statement, scope)
    if node.whenever is not None:
        scope.mistakes.add(
            "claim-number",
            statement.span(claimed.how, last),
            "a number can be claimed in a named state only, not in every combination",
            expected="`live`, `dead`, or `expect in STATE`",
        )
        return None
    if quantity is None or subject is None:
        return None
    return Claim(
        part=subject[0], element=subject[1], how=cast(Any, f"at {how}"), span=span, value=quantity[0], unit=quantity[1]
    )


def _quantity(claimed: Claimed, statement: Statement, scope: Scope) -> tuple[float, Any] | None:
    values = claimed.values or ()
    if not values or not is_number(values[0].value) or len(values) > 2:
        wrong = values[2] if len(values) > 2 else values[0] if values else claimed.how
        scope.mistakes.add(
            "unexpected-word" if values else "unexpected-end",
            statement.span(wrong),
            f"after `at {claimed.how}` comes a quantity",
            expected="a number and `V`, `mV`, `A`, `mA` or `W`",
        )
        return None
    unit = values[1] if len(values) > 1 else None
    ratings = dict.fromkeys(_CLAIMED, "claim")
    found = measure(values[0], unit, ratings, statement, scope.mistakes, whose="a claim")
    if found.fact is None or found.value is None or unit is None:
        return None
    return float(found.value), _CLAIMED[UNITS[unit_name(unit.value) or ""].dimension]


def _elements_called(name: str, scope: Scope) -> tuple[str, ...]:
    """The elements of that name, each with its part, case forgiven; else those that are such a lamp or beam. None where
    a part is meant.
    """
    word = name.casefold()
    if any(part.casefold() == word for part in (*scope.parts, *scope.wires)):
        return ()
    loads = [part for part in scope.parts.values() if isinstance(part, Load)]
    of = [(f"{load.name}.{each.name}", each) for load in loads for each in load.elements]
    roles = {word, f"{word}-lamp", f"{word}-beam"}
    return tuple(full for full, each in of if each.name.casefold() == word) or tuple(
        full for full, each in of if roles & set(each.roles)
    )


def _subject(token: Token, statement: Statement, scope: Scope) -> tuple[str, str | None] | None:
    """What is claimed about: (part, element)."""
    span, at_name, at_element = spans_of(token, statement)
    name, _, element = token.value.partition(".")
    if not element and (meant := _elements_called(name, scope)):
        scope.unknown(
            "unknown-part",
            "part",
            name,
            span,
            f"no part is named `{name}`, and an element is named with its part",
            (),
            expected=listed(meant),
            meant=meant[0] if len(meant) == 1 else None,
        )
        return None
    part = find_part(name, at_name, scope)
    if part is None:
        return None
    elements = tuple(each.name for each in part.elements) if isinstance(part, Load) else ()
    if element:
        if element in elements:
            return name, element
        if name not in scope.incomplete:
            known = tuple(f"{name}.{each}" for each in elements)
            terminal = element in part.terminals
            scope.mistakes.add(
                "unknown-element",
                at_element,
                f"`{element}` is a terminal of `{name}`, and a claim is about an element"
                if terminal
                else f"`{name}` has no element `{element}`",
                expected=listed(known) or f"`{name}` alone",
                wrong=element,
                known=elements,
                of=name,
            )
        return None
    whole = isinstance(part, Source) or (isinstance(part, Load | Unit) and part.is_ignition) or len(elements) == 1
    if whole:
        return name, None
    if name not in scope.incomplete:
        scope.mistakes.add(
            "claim-subject",
            span,
            f"`{name}` has several elements" if elements else f"nothing can be claimed about `{name}`, a {part.kind}",
            expected=listed(f"{name}.{each}" for each in elements)
            if elements
            else "an element, a part that has but one, a source, or an ignition part",
        )
    return None


# --- waivers and conversion ------------------------------------------------------------------------------------------
def resolve_waiver(statement: Statement, scope: Scope, *, converts: bool) -> Waiver | None:
    """A waiver. Where the harness converts another one, it may name things of that one, so names are not asked."""
    node = cast(WaiveLine, statement.node)
    because = reason(node.because, statement, scope)
    until: date | None = None
    if node.until is not None:
        try:
            until = date.fromisoformat(node.until.value)
        except ValueError:
            scope.mistakes.add(
                "bad-date",
                statement.span(node.until),
                f"`{node.until}` is no date",
                expected="year, month and day, such as `2027-05-01`",
            )
            return None
    state = _waived_state(node, statement, scope) if node.state is not None else None
    if node.state is not None and state is None:
        return None
    if not converts:
        others = {*scope.places, *scope.states, *SENSED}
        for token in node.names:
            if token.value.partition(".")[0] not in scope.parts and token.value not in others:
                _is_thing(token, statement, scope)
    if because is None:
        return None
    names = tuple(str(token.value) for token in node.names)
    return Waiver(
        rule=node.rule.value,
        names=names,
        because=because,
        span=statement.span(),
        until=until,
        rule_span=statement.span(node.rule),
        state=state,
    )


def _waived_state(node: WaiveLine, statement: Statement, scope: Scope) -> str | None:
    """The state that a waiver names; ``None`` after reporting what is wrong with it."""
    word, state = cast("Token", node.word), cast("Token", node.state)
    if word.value != "in":
        scope.mistakes.add(
            "unexpected-word",
            statement.span(word),
            f"`{word}` is not allowed here",
            expected="`in` and a state, or `because` and the reason",
            wrong=word.value,
            known=("in", "because"),
        )
        return None
    return str(state.value) if _is_state(state, statement, scope) else None


def _is_state(token: Token, statement: Statement, scope: Scope) -> bool:
    """Whether a state of this name is defined; reports it if not."""
    name = token.value
    if name in scope.states:
        return True
    scope.unknown(
        "unknown-state",
        "state",
        name,
        statement.span(token),
        f"no state is named `{name}`",
        scope.states,
        expected=listed(scope.states) or "a state that a `state` line names",
    )
    return False


def reason(token: Token, statement: Statement, scope: Scope) -> str | None:
    text: str = token.value[1:-1].strip()
    if text:
        return text
    scope.mistakes.add(
        "no-reason",
        statement.span(token),
        "this reason says nothing",
        expected="why, in words that the next reader understands",
    )
    return None


def resolve_declared(statement: Statement, scope: Scope) -> Declared | None:
    node = cast(DeclaredLine, statement.node)
    because = reason(node.because, statement, scope)
    if because is None:
        return None
    how: Any = statement.head
    return Declared(how=how, names=tuple(t.value for t in node.names), because=because, span=statement.span())


def resolve_removed(statements: list[Statement], scope: Scope) -> tuple[Removed, ...]:
    found: list[Removed] = []
    seen: dict[str, Span] = {}
    for statement in statements:
        node = cast(RemovedLine, statement.node)
        for token in node.names:
            if token.value in seen:
                say_twice(f"that `{token}` is removed", statement.span(token), seen[token.value], scope.mistakes)
            else:
                seen[token.value] = statement.span(token)
        found.append(Removed(names=tuple(t.value for t in node.names), span=statement.span()))
    return tuple(found)
