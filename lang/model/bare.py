"""A harness without what an analysis does not read: places in the text, labels, colours, and more.

Two texts that differ only in that give equal ones, so that what was worked out from the one holds for the other; and an
analysis that is given nothing else cannot depend on anything else.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from functools import cache
from typing import Any, Final

from ..diagnostics.diagnostic import Span
from .harness import Harness
from .wires import Segment, Wire

NOWHERE: Final = Span("", 0, 0, 0)
"""The place of everything here."""


Making = Callable[[Callable[[Any], Any], Any], Any]
"""Gives what a function makes of a value."""


class Once:
    """What functions made of values, used again for the very same values after an edit. For one thread at a time."""

    def __init__(self) -> None:
        self._made: dict[tuple[Callable[[Any], Any], int], tuple[Any, Any]] = {}
        self._before = self._made

    def begin(self) -> None:
        """Forgets, of what was made, all that was not asked for since the last beginning."""
        self._before, self._made = self._made, {}

    def __call__(self, make: Callable[[Any], Any], value: Any) -> Any:
        key = (make, id(value))  # the value is kept beside, so that its identity stays its alone
        found = self._made.get(key) or self._before.get(key) or (value, make(value))
        self._made[key] = found
        return found[1]


def _plainly(make: Callable[[Any], Any], value: Any) -> Any:
    return make(value)


def for_numbers(harness: Harness, making: Making = _plainly) -> Harness:
    """What currents and voltages are worked out from: what joins what, what moves it, what each part is rated, how
    long, thick and warm each wire is, and the named states.
    """
    return Harness(
        file="",
        volts=harness.volts,
        grounded=harness.grounded,
        parts={name: making(_placeless, part) for name, part in harness.parts.items()},
        mounts=tuple(map(_placeless, harness.mounts)),
        wires={name: making(_conducting, wire) for name, wire in harness.wires.items()},
        states={name: _placeless(state) for name, state in harness.states.items()},
    )


def for_logic(numbers: Harness, making: Making = _plainly) -> Harness:
    """What exact logic is worked out from: of that, neither the measures of wires nor the states."""
    wires = {name: making(_joining, wire) for name, wire in numbers.wires.items()}
    return replace(numbers, wires=wires, states={})


def alike(one: Harness, other: Harness) -> bool:
    """Whether two bare harnesses are the same, the order in which the text has everything included: what is worked out
    follows it.
    """
    return one == other and all(
        list(mine) == list(theirs)
        for mine, theirs in ((one.parts, other.parts), (one.wires, other.wires), (one.states, other.states))
    )


def _joining(wire: Wire) -> Wire:
    pieces = tuple(Segment(wire=s.wire, a=s.a, b=s.b, span=NOWHERE, number=s.number) for s in wire.segments)
    return Wire(name=wire.name, a=wire.a, b=wire.b, span=NOWHERE, segments=pieces)


def _conducting(wire: Wire) -> Wire:
    pieces = tuple(
        Segment(
            wire=s.wire,
            a=s.a,
            b=s.b,
            span=NOWHERE,
            number=s.number,
            size=s.size,
            length=s.length,
            ambient=s.ambient,
        )
        for s in wire.segments
    )
    return Wire(name=wire.name, a=wire.a, b=wire.b, span=NOWHERE, segments=pieces)


def _placeless(value: Any) -> Any:
    """A value of the model with every place in it ``NOWHERE``, and without labels."""
    kind: type = type(value)
    if kind is Span:
        return NOWHERE
    if kind is tuple:
        found = tuple(map(_placeless, value))
        return found if any(new is not old for new, old in zip(found, value, strict=True)) else value
    names = _names(kind)
    if not names:
        return value
    changed = {}
    for name in names:
        old = getattr(value, name)
        if type(old) in _PLAIN and name != "label":
            continue
        new = None if name == "label" else _placeless(old)
        if new is not old:
            changed[name] = new
    return replace(value, **changed) if changed else value


_PLAIN: Final = frozenset((str, float, int, bool, type(None)))
"""What has no place in it: most fields."""


@cache
def _names(kind: type) -> tuple[str, ...]:
    """The fields of a record; none of anything else."""
    return tuple(each.name for each in fields(kind)) if hasattr(kind, "__dataclass_fields__") else ()
