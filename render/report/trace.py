"""A traced way as text: what the current passes, in order, with what a person at the bench looks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...checks.behaviour.trace import Trace, trace
from ...checks.behaviour.when import When, when
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible
from ...lang.model.parts import Fuse, Ground, Splice
from ...lang.model.wires import Segment
from ...lang.quantities.quantity import shown
from ..formats.entries import number
from .findings import INDENT

if TYPE_CHECKING:
    from ...checks.behaviour import Behaviour
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.diagnostics.diagnostic import Span


def trace_text(behaviour: Behaviour, traces: Iterable[Trace], *, anywhere: bool = False) -> str:
    """Every trace: a line that says what holds when, then the way, one thing a line.

    ``anywhere``: no setting was asked for, so the whole condition is shown, and a way for each setting that brings it
    about by another one.
    """
    lines = (line for found in traces for line in _lines(behaviour, found, anywhere))
    return "".join(f"{visible(line).rstrip()}\n" for line in lines)


def _lines(behaviour: Behaviour, found: Trace, anywhere: bool) -> Iterator[str]:
    if found.undecided:
        yield f"{found.thing}: not decided whether it is {_said(found)}: {found.undecided}"
        return
    if found.never:
        yield f"{found.thing}: never {_never(behaviour.circuit, found)}"
        return
    if found.elsewhere is not None:
        held = f", {_as_long_as(found)}" if found.held else ""
        yield f"{found.thing}: not {_said(found)} in this setting; it is {setting_words(found.elsewhere)}{held}"
        return
    if found.measured is not None:
        yield from _with_volts(behaviour.circuit, found, *found.measured)
        return
    others: list[Trace] = []
    if anywhere and found.asked is not None:
        condition = when(behaviour, found.asked)
        yield f"{found.thing}: {_said(found)} {condition.words()}"
        others = _other_ways(behaviour, found, condition)
        if others or found.combination not in ((), *condition.settings):
            yield f"{INDENT}{setting_words(found.combination)}:"
    else:
        yield f"{found.thing}: {_said(found)} {setting_words(found.combination)}"
    yield from _way(behaviour.circuit, found)
    for other in others:
        yield f"{INDENT}{setting_words(other.combination)}:"
        yield from _way(behaviour.circuit, other)


def _with_volts(circuit: Circuit, found: Trace, word: str, volts: float) -> Iterator[str]:
    """What other loads leave it: of what is dead no path, for no current that matters takes one."""
    left = f"{shown(round(volts, 2))} V"
    if word == "dead":
        yield f"{found.thing}: dead in this setting: the loads in series with it leave it {left}"
        return
    yield f"{found.thing}: {word or 'fed'} in this setting, in series with loads that leave it {left}"
    yield from _way(circuit, found)


def _as_long_as(found: Trace) -> str:
    return "as long as " + plainly_listed(f"{thing} is {how}" for thing, how in found.held)


def _said(found: Trace) -> str:
    """In the words of the trade: a terminal that is connected to the return pole is grounded. What only other loads
    join to the poles is not called live: how the volts are shared is not asked here.
    """
    if found.through_others:
        return f"{'also ' if found.also else ''}in series with other loads"
    return "grounded" if found.said == "returned" else found.said


def _never(circuit: Circuit, found: Trace) -> str:
    """What never holds. Of a terminal that is worked out for direct current alone, and says so where there is other."""
    alternating = any(supply.kind == "winding" or supply.phases for supply in circuit.supplies)
    if found.said not in ("fed", "returned") or not alternating:
        return _said(found)
    said = "fed with" if found.said == "fed" else "connected to the grounded pole of a source of"
    return f"{said} direct current (of alternating current only the path to a load is traced)"


def _other_ways(behaviour: Behaviour, found: Trace, condition: When) -> list[Trace]:
    """The same thing in the other settings that bring it about, where the current takes another way."""
    ways = {found.way}
    others = []
    for setting in condition.settings:
        for other in trace(behaviour, found.thing, dict(setting)):
            if other.thing == found.thing and other.said == found.said and other.way and other.way not in ways:
                ways.add(other.way)
                others.append(other)
    return others


def _way(circuit: Circuit, found: Trace) -> Iterator[str]:
    if found.held:
        yield f"{INDENT}{_as_long_as(found)}"
    if found.through_others and found.measured is None:
        yield f"{INDENT}how many volts they leave it, `states` shows"
    rows = list(_rows(circuit, found.way))
    broad = max((len(name) for name, _, _ in rows), default=0)
    wide = max((len(what) for _, what, _ in rows), default=0)
    for name, what, place in rows:
        yield f"{INDENT}{name:<{broad}}  {what:<{wide}}  {place}"


def setting_words(combination: Iterable[tuple[str, str]]) -> str:
    words = plainly_listed(f"{control} {position}" for control, position in combination)
    return f"with {words}" if words else "whatever the controls do"


def _rows(circuit: Circuit, way: Iterable[str]) -> Iterator[tuple[str, str, str]]:
    """Name, what it is and where it is, of everything on the way; splices and grounds between wires too."""
    before: set[End] = set()
    for name in way:
        branch = circuit.by_key.get(name)
        if branch is None:
            yield name, "", ""
            before = set()
            continue
        ends = {branch.a, branch.b}
        for node in sorted(before & ends):
            if isinstance(part := circuit.harness.parts.get(node), Ground | Splice):
                yield node, part.kind, _place(part.span)
        yield name, _what(circuit, branch), _place(branch.span)
        before = ends


def _place(span: Span) -> str:
    return f"{span.file}:{span.line}"


def _what(circuit: Circuit, branch: Branch) -> str:
    if branch.segment is not None:
        return _conductor(branch.segment)
    part = circuit.harness.parts.get(branch.part)
    if isinstance(part, Fuse) and part.amps is not None:
        return f"{branch.branch_type.title} {number(part.amps)} A"
    if branch.branch_type is BranchType.WAY:
        return "plug"
    if branch.branch_type is BranchType.PASS:
        return "regulator"
    return branch.branch_type.title


def _conductor(segment: Segment) -> str:
    """What a wire looks like: colour, size, length."""
    words = [str(segment.colour or ""), segment.size.text if segment.size else None]
    if segment.length is not None:
        words.append(f"{number(segment.length)} m")
    return " ".join(word for word in words if word)
