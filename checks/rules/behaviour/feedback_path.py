"""A load that is fed backwards through another load, or glows by it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.model.conditions import BY_ITSELF
from ....lang.model.parts import Element, Load, Relay, Unit
from ....lang.quantities.quantity import shown as digits
from ...behaviour import DIRECT, TooWideError, too_wide
from ...behaviour.by_numbers import bleeding, decider, solved
from ...behaviour.counterexample import circumstances, lowered
from ...findings.finding import Figure, Finding, Level
from ...operation.load_status import limits, load_status
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...behaviour import Combination
    from ...behaviour.cases import Cases, Space
    from ...operation.operation import OperatingPoint, Operation

MOVED = 2
"""So many controls are moved away from a named state, or from the key out with the engine turning (the search)."""

GRAVE_ROLES = ("stop-lamp", "turn-left", "turn-right")


def find(study: Study) -> Iterator[Finding]:
    behaviour, operation = study.behaviour, study.operation

    def numbers(_circuit: object) -> Operation:
        return operation

    decide = decider(numbers)
    for branch in study.circuit.branches:
        if not branch.branch_type.consumes or limits(branch) is None or _is_tell_tale(branch):
            continue
        through, live = behaviour.reached_through_loads(branch.key, DIRECT), behaviour.live(branch.key)
        try:
            space = behaviour.space(through, live)
        except TooWideError as wide:
            yield _not_searched(branch, too_wide(wide))
            continue
        asked = space.where(through) - space.where(live)
        if not asked:
            continue
        asked &= space.possible & space.plausible & _near(study, space)
        shown = behaviour.judged(asked, branch, decide).alive if asked else None
        opened = bleeding(behaviour.circuit, shown) if shown is not None else frozenset()
        point = solved(operation, behaviour.logic, shown, opened) if shown is not None else None
        if shown is None or point is None:
            continue
        yield _finding(study, branch, shown, point)


def _not_searched(branch: Branch, why: str) -> Finding:
    return Finding(
        rule=RULE.name,
        level=Level.NOTE,
        message=f"whether {branch.key} works on what comes through other loads was not searched: {why}",
        span=branch.span,
        about=(branch.part,),
        source="ours: up to 2^22 combinations a question (device_constants.toml)",
        remedy="measure it with its own feed off; or give it wires of its own",
    )


def _near(study: Study, space: Space) -> Cases:
    """The combinations that are searched, round named states and the key out with the engine turning."""
    keys = [c for c in study.circuit.controls.values() if c.key]
    bases = [dict(state.settings) for state in study.harness.states.values()]
    bases += [{"engine": engine} for engine in BY_ITSELF]
    bases += [
        {key.name: out, "engine": "running"} for key in keys for out in ("off", "lock", "park") if out in key.positions
    ]
    moved = tuple(name for name in space.controls if name not in study.behaviour.network.free)
    near = space.none
    for base in bases:
        here = space.at_all(base)
        for _ in range(MOVED):
            grown = here
            for name in moved:
                grown |= here.whatever((name,))
            here = grown
        near |= here
    return near.whatever((*space.remembered, *space.unset))


def _is_tell_tale(branch: Branch) -> bool:
    return isinstance(branch.item, Element) and "tell-tale" in branch.item.roles


def _level(study: Study, branch: Branch) -> Level:
    part = study.harness.parts.get(branch.part)
    roles = branch.item.roles if isinstance(branch.item, Element) else ()
    grave = (
        branch.branch_type is BranchType.IGNITION
        or (isinstance(part, Load | Unit) and part.is_ignition)
        or (part is not None and part.system == "starting" and isinstance(part, Load | Relay))
        or any(role in GRAVE_ROLES for role in roles)
    )
    return Level.ERROR if grave else Level.WARNING


def _finding(study: Study, branch: Branch, shown: Combination, point: OperatingPoint) -> Finding:
    across, amps = abs(point.across(branch.key)), abs(point.amps(branch.key))
    stand = load_status(point, branch.key)
    if stand is not None and stand.word == "live":
        how = "is fed backwards through"
    else:
        how = (
            "glows by backfeed through"
            if branch.branch_type in (BranchType.LAMP, BranchType.LED)
            else "is partly fed backwards through"
        )
    by = _through(branch, point)
    where = circumstances(shown)
    return Finding(
        rule=RULE.name,
        level=lowered(_level(study, branch), shown),
        message=f"{branch.key} {how} {', '.join(by) or 'other loads'}: {digits(across)} V"
        + (f", {where}" if where else ""),
        span=branch.span,
        about=tuple(dict.fromkeys((branch.part, *(key.partition(".")[0].partition(" ")[0] for key in by)))),
        combination=shown.shown,
        figures=(
            Figure("across it", across, "V"),
            Figure("through it", amps, "A"),
            Figure("dead below", (stand.dead if stand else 0.0) * 100.0, "%"),
        ),
        source="the shares of dead and live: ours",
        remedy=f"give {branch.part} a ground lead of its own first; if it still glows, give it a feed of its own or "
        "isolate it with a diode",
        implausible=shown.implausible,
    )


def _through(branch: Branch, point: OperatingPoint) -> list[str]:
    """The consumers beside it that carry its current, the most first."""
    nets = point.flow.network.nets
    ends = {nets.of[branch.a], nets.of[branch.b]}
    beside = [
        (abs(point.amps(edge.branch.key)), edge.branch.key)
        for edge in nets.consumers
        if edge.branch.key != branch.key and (edge.a in ends) != (edge.b in ends)
    ]
    least = 0.1 * abs(point.amps(branch.key))
    return [key for amps, key in sorted(beside, reverse=True) if amps > least and not point.connectivity.joined(key)][
        :3
    ]


RULE = Rule(
    name="feedback-path",
    level=Level.ERROR,
    family="behaviour",
    catches="a load that no closed path connects to the source and that is fed backwards through another load or a "
    "switch",
    why="""Where two loads share a return that has come off, or a switch connects two feeds, current flows backwards
    through one load into another: a lamp glows, a horn hums, and an ignition runs on with the ignition off, fed through
    the charge lamp. Every wire is sound, so that such a fault is hard to find.""",
    source="what is dead and what is live, by kind: ours",
    formula="""searched: named states, and key out with the engine turning, each with up to two controls moved;
found where a load is not joined, and its share of nominal volts (LED: of rated amps) is at or above its dead share""",
    cautions="A wire that should be dead may be fed through a lamp: measure before you touch.",
    find=find,
)
