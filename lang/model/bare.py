"""A harness without what an analysis does not read: places in the text, labels, colours, and more.

Two texts that differ only in that give equal ones, so that what was worked out from the one holds for the other; and an
analysis that is given nothing else cannot depend on anything else.
"""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache
from typing import Any, Final

from ..diagnostics.diagnostic import Span
from .harness import Harness
from .wires import Segment, Wire

NOWHERE: Final = Span("", 0, 0, 0)
"""The place of everything here."""


def for_numbers(harness: Harness) -> Harness:
    """What currents and voltages are worked out from: what joins what, what moves it, what each part is rated, how
    long, thick and warm each wire is, and the named states.
    """
    return Harness(
        file="",
        volts=harness.volts,
        grounded=harness.grounded,
        parts={name: _placeless(part) for name, part in harness.parts.items()},
        mounts=tuple(map(_placeless, harness.mounts)),
        wires={name: _conducting(wire) for name, wire in harness.wires.items()},
        states={name: _placeless(state) for name, state in harness.states.items()},
    )


def for_logic(numbers: Harness) -> Harness:
    """What exact logic is worked out from: of that, neither the measures of wires nor the states."""
    wires = {name: _joining(wire) for name, wire in numbers.wires.items()}
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
