"""Conditions: what follows ``when`` in a unit, and ``whenever`` in an expectation."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from ..messages import Mistakes, listed
from ..model import ENGINE_POSITIONS, All, AnyOf, Condition, Not, Switch, Test, Unit
from ..syntax import Conditional, Inner, Negated, Statement, Tested
from ..words import ENGINE, LATCH_POSITIONS

if TYPE_CHECKING:
    from lark import Token

    from .scope import Scope

_Testing = Callable[[Tested], Test | None]


def _build(node: Conditional, where: Statement | Inner, mistakes: Mistakes, test: _Testing) -> Condition | None:
    """The condition of a syntax node; ``test`` resolves one test. ``None`` after a mistake was reported."""
    if isinstance(node, Tested):
        return test(node)
    if isinstance(node, Negated):
        term = _build(node.term, where, mistakes, test)
        return None if term is None else Not(term)
    joints = {token.value for token in node.joints}
    if len(joints) > 1:
        second = next(token for token in node.joints if token.value != node.joints[0].value)
        mistakes.add(
            "mixed-condition",
            where.span(second),
            "`and` and `or` stand side by side, which can be read in two ways",
            expected="brackets around the tests that belong together",
        )
        return None
    terms = [_build(term, where, mistakes, test) for term in node.terms]
    known = tuple(term for term in terms if term is not None)
    if len(known) < len(terms):
        return None
    return All(known) if joints == {"and"} else AnyOf(known)


def unit_condition(node: Conditional, where: Inner, mistakes: Mistakes) -> Condition | None:
    """A condition on inputs and latches of a unit; whether the unit has them is asked by ``check_names``."""

    def test(tested: Tested) -> Test | None:
        if tested.position is not None:
            mistakes.add(
                "unexpected-word",
                where.span(tested.position),
                f"`{tested.position}` cannot stand here: in a unit a test is one input or latch",
                expected="`and`, `or`, or the end of the line",
            )
            return None
        return Test(tested.control.value, "", where.span(tested.control))

    return _build(node, where, mistakes, test)


def tests_of(condition: Condition) -> Iterator[Test]:
    """Every test in a condition, in the order of the text."""
    if isinstance(condition, Test):
        yield condition
    elif isinstance(condition, Not):
        yield from tests_of(condition.term)
    else:
        for term in condition.terms:
            yield from tests_of(term)


def check_names(condition: Condition, names: tuple[str, ...], mistakes: Mistakes, *, whole: bool) -> bool:
    """Whether every test names one of a unit's inputs and latches; reports those that do not if the unit is whole."""
    wrong = [test for test in tests_of(condition) if test.control not in names]
    for test in wrong if whole else ():
        mistakes.add(
            "unknown-input",
            test.span,
            f"this unit has no input and no latch `{test.control}`",
            expected=listed(names) or "an input or a latch that a line of the unit names",
            wrong=test.control,
            known=names,
        )
    return not wrong


def harness_condition(node: Conditional, where: Statement, scope: Scope) -> Condition | None:
    """A condition on controls of the harness, each in a position."""

    def test(tested: Tested) -> Test | None:
        control = control_of(tested.control, where, scope)
        if control is None:
            return None
        name, positions = control
        if tested.position is None:
            scope.mistakes.add(
                "unexpected-end",
                where.span(tested.control),
                f"`{tested.control.value}` stands without a position",
                expected=f"{tested.control.value} and {listed(positions)}",
            )
            return None
        if not check_position(tested.control.value, tested.position, positions, where, scope):
            return None
        return Test(name, str(tested.position.value), where.span(tested.control, tested.position))

    return _build(node, where, scope.mistakes, test)


def control_of(token: Token, where: Statement | Inner, scope: Scope) -> tuple[str, tuple[str, ...]] | None:
    """The variable that a control's name means, and its positions; ``None`` after reporting that it is none."""
    text: str = token.value
    span = where.span(token)
    if text == ENGINE:
        return ENGINE, ENGINE_POSITIONS
    name, _, latch = text.partition(".")
    part = scope.parts.get(name)
    if isinstance(part, Switch) and not latch:
        return part.control, tuple(position.name for position in part.positions)
    if isinstance(part, Unit) and latch:
        latches = tuple(f"{name}.{each.name}" for each in part.latches)
        if text in latches:
            return text, LATCH_POSITIONS
        if name not in scope.incomplete:
            scope.mistakes.add(
                "unknown-control",
                span,
                f"`{name}` has no latch `{latch}`",
                expected=listed(latches) or "a switch, a latch or `engine`",
                wrong=text,
                known=latches,
            )
        return None
    sensing = [p.name for p in scope.parts.values() if isinstance(p, Switch) and p.senses == text]
    if part is not None or sensing:
        says = f"`{name}` is a {part.kind}" if part else f"`{text}` is what {listed(sensing, 'and')} senses"
        scope.mistakes.add(
            "unknown-control",
            span,
            f"{says}, and no control",
            expected=listed(sensing) if sensing else "a switch, a latch such as `UNIT.LATCH`, or `engine`",
        )
        return None
    switches = tuple(p.name for p in scope.parts.values() if isinstance(p, Switch))
    scope.unknown(
        "unknown-control",
        "part",
        name,
        span,
        f"no switch is named `{text}`",
        (*switches, ENGINE),
        expected="a switch, a latch such as `UNIT.LATCH`, or `engine`",
    )
    return None


def check_position(name: str, token: Token, positions: tuple[str, ...], where: Statement | Inner, scope: Scope) -> bool:
    """Whether a control has this position; reports it if not, unless a line of the switch was lost."""
    text: str = token.value
    if text in positions:
        return True
    if name not in scope.incomplete:
        scope.mistakes.add(
            "unknown-position",
            where.span(token),
            f"`{name}` has no position `{text}`",
            expected=listed(positions),
            wrong=text,
            known=positions,
        )
    return False
