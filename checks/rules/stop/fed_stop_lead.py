"""A kill wire that battery voltage can reach."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.circuit.ids import End
from ....lang.circuit.paths import steps_over
from ....lang.model.parts import Load, Unit
from ....lang.quantities.quantity import Quantity
from ....lang.search.walks import reachable
from ...behaviour.by_numbers import bleeding, solved
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint

LEAST = 0.1
"""Share of the system's voltage that a kill wire must have through loads to be found (ours)."""

TRIED = 64
"""Combinations that are solved for one kill wire before it is reported that none brings voltage to it (ours)."""


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for part in study.harness.parts.values():
        with study.judging(part.name):
            if not isinstance(part, (Load, Unit)) or part.stop_lead is None:
                continue
            lead, back = (End(part.name, terminal) for terminal in part.stop_lead)
            shown = behaviour.may(behaviour.fed(lead))
            if shown is None and (found := _on_lighting(study, part, lead)) is not None:
                yield found
                continue
            if shown is None:
                yield from _through_loads(study, part, lead, back)
                continue
            yield RULE.found(
                "fed",
                part.span,
                facts={"lead": lead},
                about=(part.name,),
                shown=shown,
                path=behaviour.feed(shown, lead),
            )


def _on_lighting(study: Study, part: Load | Unit, lead: End) -> Finding | None:
    """A stop lead that copper connects to a winding that lamps are on: that lights nothing while it is stopped, and
    feeds the box's coil while it is not.
    """
    joined, in_some = study.copper.fused, study.copper.switched
    for winding in (s for s in study.circuit.supplies if s.kind == "winding"):
        ends = [*winding.plus, winding.minus]
        if joined.same(lead, winding.minus) or not any(joined.same(lead, end) for end in winding.plus):
            continue
        lit = any(
            branch.branch_type is BranchType.LAMP and any(in_some.same(branch.a, end) for end in ends)
            for branch in study.circuit.branches
        )
        if lit:
            facts: dict[str, Fact] = {"lead": lead, "winding": winding.name}
            return RULE.found("lighting", part.span, facts=facts, about=(part.name, winding.part))
    return None


def _through_loads(study: Study, part: Load | Unit, lead: str, back: str) -> Iterator[Finding]:
    """A kill wire that has voltage through a lamp or another load."""
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
            yield RULE.found(
                "through-loads" if loads else "through-others",
                part.span,
                facts={"lead": lead, "volts": Quantity(volts, "V"), "loads": tuple(loads)},
                about=tuple(dict.fromkeys((part.name, *(study.circuit.by_key[key].part for key in loads)))),
                shown=one,
                figures=(Figure("at the kill wire", volts, "V"),),
            )
            return
        left -= left.space.only(one)


def _loads(point: OperatingPoint, lead: str, back: str, volts: float) -> list[str]:
    """The loads that a kill wire is connected to and that bring voltage to it, by key."""
    circuit, connectivity = point.circuit, point.connectivity

    def joins(branch: Branch) -> bool:
        return branch.branch_type.joined is not Direction.NEVER and connectivity.conducts(branch)

    loads: dict[str, None] = {}
    for node in reachable([lead], steps_over(circuit, joins)):
        for branch in circuit.at.get(node, ()):
            across = abs(point.volts(branch.other_end(node)) - point.volts(back))
            if branch.branch_type.consumes and across > 0.99 * volts:
                loads[branch.key] = None
    return list(loads)


ONLY_GROUNDED: Final = "and connect it only to the contact that grounds it"


RULE = Rule(
    name="fed-stop-lead",
    level=Level.ERROR,
    family="stop",
    stage=Stage.TOPOLOGY,
    catches="a kill wire (`stop-lead`) connected to a live feed in some combination of the controls, directly or "
    "through a lamp or another load",
    why="""The kill wire of a magneto ignition box is the end of the box's coil or the gate of its switch, made to be
    grounded. Battery voltage on it can destroy the box at once, and the engine does not run until it is replaced.""",
    source="common practice, no source",
    formula="through loads: found from 10 % of the system's voltage, solved combination by combination",
    cautions="Measure with the engine off: while it turns, the kill wire of a magneto can give you a shock.",
    says={
        "fed": "kill wire {lead} is connected to a live feed",
        "lighting": "kill wire {lead} is connected to {winding}, which feeds lamps",
        "through-loads": "kill wire {lead} has {volts} on it through {loads}",
        "through-others": "kill wire {lead} has {volts} on it through other loads",
    },
    fixes={
        "lighting": f"disconnect {{lead}} from {{winding}}, {ONLY_GROUNDED}",
        "fed": f"disconnect {{lead}} from the feed along the path above, {ONLY_GROUNDED}",
        "through-loads": f"disconnect {{loads}} from {{lead}}, {ONLY_GROUNDED}",
        "through-others": f"disconnect every load from {{lead}}, {ONLY_GROUNDED}",
    },
    find=find,
)
