"""Conditions: what follows ``when`` in a unit, and ``whenever`` in an expectation."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from ..diagnostics.messages import Diagnostics, listed
from ..model.conditions import ENGINE_POSITIONS, All, AnyOf, Condition, Not, Test, tests_of, told_apart
from ..model.parts import Switch, Unit
from ..syntax.tree import Conditional, Inner, Negated, Statement, Tested
from ..vocabulary.words import ENGINE, LATCH_POSITIONS, SIGNAL_POSITIONS

if TYPE_CHECKING:
    from ..syntax.tokens import Token
    from .names import Scope

A_CONTROL: Final = "a switch, a unit's latch or `signal` input such as `UNIT.NAME`, or `engine`"
"""What can be where a control does, for messages."""

_Testing = Callable[[Tested], Test | None]


def _build(node: Conditional, where: Statement | Inner, mistakes: Diagnostics, test: _Testing) -> Condition | None:
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
            "`and` and `or` are side by side, which can be read in two ways",
            expected="brackets around the tests that belong together",
        )
        return None
    terms = [_build(term, where, mistakes, test) for term in node.terms]
    known = tuple(term for term in terms if term is not None)
    if len(known) < len(terms):
        return None
    return All(known) if joints == {"and"} else AnyOf(known)


def unit_condition(node: Conditional, where: Inner, mistakes: Diagnostics) -> Condition | None:
    """A condition on inputs and latches of a unit; whether the unit has them is asked by ``check_names``."""

    def test(tested: Tested) -> Test | None:
        if tested.position is not None:
            mistakes.add(
                "unexpected-word",
                where.span(tested.position),
                f"`{tested.position}` is not allowed here: in a unit a test is one input or latch",
                expected="`and`, `or`, or the end of the line",
            )
            return None
        return Test(tested.control.value, "", where.span(tested.control))

    return _build(node, where, mistakes, test)


def check_names(condition: Condition, names: tuple[str, ...], mistakes: Diagnostics, *, whole: bool, of: str) -> bool:
    """Whether every test names one of the inputs and latches of the unit ``of``; reports those that do not if that is
    whole."""
    wrong = [test for test in tests_of(condition) if test.control not in names]
    for test in wrong if whole else ():
        mistakes.add(
            "unknown-input",
            test.span,
            f"this unit has no input and no latch `{test.control}`",
            expected=listed(names) or "an input or a latch that a line of the unit names",
            wrong=test.control,
            known=names,
            of=of,
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
                f"`{tested.control.value}` has no position",
                expected=f"{tested.control.value} and {listed(positions)}",
            )
            return None
        if not check_position(tested.control.value, tested.position, positions, where, scope):
            return None
        position = str(tested.position.value)
        told = told_apart(position) if name == ENGINE else position
        return Test(name, told, where.span(tested.control, tested.position))

    return _build(node, where, scope.mistakes, test)


def control_of(token: Token, where: Statement | Inner, scope: Scope) -> tuple[str, tuple[str, ...]] | None:
    """The variable that a control's name means, and its positions; ``None`` after reporting that it is none."""
    text: str = token.value
    span = where.span(token)
    if text == ENGINE:
        return ENGINE, ENGINE_POSITIONS
    name, _, inner = text.partition(".")
    part = scope.parts.get(name)
    if isinstance(part, Switch) and not inner:
        return part.control, tuple(position.name for position in part.positions)
    if isinstance(part, Unit) and inner:
        own = unit_controls(part)
        if inner in own:
            return text, own[inner]
        if name not in scope.incomplete:
            known = tuple(f"{name}.{each}" for each in own)
            decided = _decided(part, inner)
            scope.mistakes.add(
                "unknown-control",
                span,
                decided or f"`{name}` has no latch and no `signal` input `{inner}`",
                expected=listed(known) or A_CONTROL,
                wrong=None if decided else text,
                known=known,
            )
        return None
    sensing = [p.name for p in scope.parts.values() if isinstance(p, Switch) and p.senses == text]
    if part is not None or sensing:
        says = f"`{name}` is a {part.kind}" if part else f"`{text}` is what {listed(sensing, 'and')} senses"
        scope.mistakes.add(
            "unknown-control",
            span,
            f"{says}, and no control",
            expected=listed(sensing) if sensing else A_CONTROL,
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
        expected=A_CONTROL,
    )
    return None


def unit_controls(unit: Unit) -> dict[str, tuple[str, ...]]:
    """What of a unit a condition or a state can name, and its positions: latches, and inputs that a sensor drives."""
    found: dict[str, tuple[str, ...]] = {latch.name: LATCH_POSITIONS for latch in unit.latches}
    found.update((given.name, SIGNAL_POSITIONS) for given in unit.inputs if given.mode == "signal")
    return found


def _decided(unit: Unit, inner: str) -> str:
    """What decides an input or an output of a unit, so that it is no control; empty where it has none of that name."""
    mode = next((given.mode for given in unit.inputs if given.name == inner), None)
    if mode is not None:
        return f"`{inner}` of `{unit.name}` is a `{mode}` input: what its wire is connected to decides it"
    if any(output.name == inner for output in unit.outputs):
        return f"`{inner}` is an output of `{unit.name}`: its inputs and latches decide it"
    return ""


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
            of=name,
        )
    return False
