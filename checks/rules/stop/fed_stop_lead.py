"""A stop lead that battery volts can reach."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import Direction
from ....lang.model.parts import Load, Unit
from ....lang.quantities.quantity import shown as digits
from ...behaviour.by_numbers import bleeding, solved
from ...behaviour.counterexample import found
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint

LEAST = 0.1
"""Of the system's volts, what a stop lead must get through loads to be found (ours)."""

TRIED = 64
"""Combinations that are solved for one stop lead before it is said that none of them brings volts to it (ours)."""


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for part in study.harness.parts.values():
        with study.judging(part.name):
            if not isinstance(part, (Load, Unit)) or part.stop_lead is None:
                continue
            lead, back = (f"{part.name}.{terminal}" for terminal in part.stop_lead)
            shown = behaviour.may(behaviour.fed(lead))
            if shown is None:
                yield from _through_loads(study, part, lead, back)
                continue
            yield found(
                RULE.name,
                Level.ERROR,
                f"the stop lead {lead} is joined to a feed",
                part.span,
                about=(part.name,),
                shown=shown,
                path=behaviour.feed(shown, lead),
                source=RULE.source,
                remedy=f"disconnect from {lead} whatever feeds it, found along the path above; connect it to nothing "
                "but the "
                "contact that grounds it",
            )


def _through_loads(study: Study, part: Load | Unit, lead: str, back: str) -> Iterator[Finding]:
    """A stop lead that gets volts through a lamp or another load."""
    behaviour = study.behaviour
    left = behaviour.holds_in(behaviour.fed_through_loads(lead))
    for _ in range(TRIED):
        one = left.shown()
        if one is None:
            return
        point = solved(study.operation, behaviour.logic, one, bleeding(study.circuit, one))
        volts = abs(point.volts(lead) - point.volts(back)) if point is not None else 0.0
        if point is not None and volts >= LEAST * study.harness.volts:
            loads = _loads(point, lead, back, volts)
            told = found(
                RULE.name,
                Level.ERROR,
                f"the stop lead {lead} gets {digits(volts)} V through {', '.join(loads) or 'other loads'}",
                part.span,
                about=tuple(dict.fromkeys((part.name, *(study.circuit.by_key[key].part for key in loads)))),
                shown=one,
                source=RULE.source,
                remedy=f"disconnect {' and '.join(loads) or 'every load'} from {lead}; connect it to nothing but the "
                "contact that grounds it",
            )
            yield replace(told, figures=(Figure("at the stop lead", volts, "V"),))
            return
        left -= left.space.only(one)


def _loads(point: OperatingPoint, lead: str, back: str, volts: float) -> list[str]:
    """The loads that a stop lead is connected to and that bring volts to it, by key."""
    circuit, connectivity = point.circuit, point.connectivity
    reached, stack = {lead}, [lead]
    loads: dict[str, None] = {}
    while stack:
        node = stack.pop()
        for branch in circuit.at.get(node, ()):
            other = branch.b if branch.a == node else branch.a
            if branch.branch_type.consumes:
                if abs(point.volts(other) - point.volts(back)) > 0.99 * volts:
                    loads[branch.key] = None
            elif branch.branch_type.joined is not Direction.NEVER and connectivity.conducts(branch):
                stack.extend({other} - reached)
                reached.add(other)
    return list(loads)


RULE = Rule(
    name="fed-stop-lead",
    level=Level.ERROR,
    family="stop",
    stage=Stage.TOPOLOGY,
    catches="a stop lead joined to a feed pole in some combination, or led to one through a lamp or another load",
    why="""The stop lead of a magneto box is the end of its own coil or the gate of its switch, made to be
    grounded. Battery volts on it destroy the box at once, and the engine with it stands until a new one is
    found.""",
    source="common practice, no source",
    formula="through loads: found from 10 % of the system's volts, solved combination by combination",
    find=find,
)
