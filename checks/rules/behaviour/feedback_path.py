"""A load that is fed or grounded only through another load."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.model.conditions import BY_ITSELF
from ....lang.model.parts import Element, Load, Unit
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import ranked
from ...behaviour import DIRECT, TooWideError, too_wide
from ...behaviour.by_numbers import bleeding, decider, solved
from ...findings.finding import Figure, Finding, Level
from ...operation.load_status import limits, load_status
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...behaviour import Combination
    from ...behaviour.cases import Cases, Space
    from ...operation.load_status import LoadStatus
    from ...operation.operation import OperatingPoint, Operation

MOVED = 2
"""This many controls are moved away from a named state, or from the key out with the engine turning (the search)."""

LEAST_SHARE: Final = 0.1
"""What carries less of a load's current is not named (ours)."""

NAMED: Final = 3
"""This many loads are named, those of the greatest current."""

GRAVE_ROLES = ("stop-lamp", "turn-left", "turn-right")


def find(study: Study) -> Iterator[Finding]:
    behaviour, operation = study.behaviour, study.operation

    def numbers(_circuit: object) -> Operation:
        return operation

    decide = decider(numbers)
    for branch in study.circuit.branches:
        if limits(branch) is None or _is_tell_tale(branch):
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
        if shown is None:
            continue
        point = solved(operation, behaviour.logic, shown, bleeding(behaviour.circuit, shown))
        status = load_status(point, branch.key) if point is not None else None
        if point is None or status is None:
            continue
        others = _in_series(branch, point)
        if not _is_row(study, (branch, *others)):
            yield _finding(study, branch, others, shown, point, status)


def _not_searched(branch: Branch, why: str) -> Finding:
    return RULE.found(
        "not-searched",
        branch.span,
        facts={"load": branch.key, "why": why},
        level=Level.NOTE,
        outcome="not-checked",
        about=(branch.part,),
        source="Loomwright's limit: 2^22 combinations a question (device_constants.toml)",
    )


def _near(study: Study, space: Space) -> Cases:
    """The combinations that are searched, round named states and the ignition off with the engine turning."""
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
    part = study.harness.parts[branch.part]
    roles = branch.item.roles if isinstance(branch.item, Element) else ()
    severe = (
        (isinstance(part, Load | Unit) and part.is_ignition)
        or part.system == "starting"
        or any(role in GRAVE_ROLES for role in roles)
    )
    return Level.ERROR if severe else Level.WARNING


def _finding(
    study: Study,
    branch: Branch,
    others: tuple[Branch, ...],
    shown: Combination,
    point: OperatingPoint,
    status: LoadStatus,
) -> Finding:
    across, amps = abs(point.across(branch.key)), abs(point.amps(branch.key))
    fed = next((end for end in (branch.a, branch.b) if point.connectivity.fed(end)), None)
    path = "fed" if fed is None else "returned"
    how = "works" if status.word == "live" else "glows" if _is_lamp(branch) else "partly"
    return RULE.found(
        f"{path}-{how}",
        branch.span,
        facts={
            "load": branch.key,
            "terminal": branch.a if fed == branch.b else branch.b,
            "others": tuple(other.key for other in others) or "other loads",
            "voltage": Quantity(across, "V"),
        },
        level=_level(study, branch),
        shown=shown,
        fix=path,
        about=(branch.part, *(other.part for other in others)),
        figures=(
            Figure("across it", across, "V"),
            Figure("through it", amps, "A"),
            Figure("dead below", status.dead * 100.0, "%"),
        ),
    )


def _is_lamp(branch: Branch) -> bool:
    return branch.branch_type in (BranchType.LAMP, BranchType.LED)


def _is_row(study: Study, branches: tuple[Branch, ...]) -> bool:
    """Whether loads share the system's voltage as they are meant to: each says that it is made for less.

    What each of them gets is for `wrong-voltage` to judge.
    """
    system = study.harness.volts
    return len(branches) > 1 and all(branch.made_for(system) < system for branch in branches)


def _in_series(branch: Branch, point: OperatingPoint) -> tuple[Branch, ...]:
    """The loads that its current comes from and goes to, the greatest current first; none past a pole."""
    flows = point.amps(branch.key)
    enters, leaves = (branch.a, branch.b) if flows > 0.0 else (branch.b, branch.a)
    found: dict[str, float] = {}
    for end, forward in ((enters, False), (leaves, True)):
        if point.connectivity.reaches_pole(end):
            continue
        near = point.connectivity.nodes((end,), forward=forward)
        for other in point.circuit.branches:
            # From there to another load where the current of this one goes to, the other way where it comes from.
            away = point.amps(other.key) * ((other.a in near) - (other.b in near))
            found[other.key] = max(found.get(other.key, 0.0), away if forward else -away)
    least = LEAST_SHARE * abs(flows)
    named = ranked((key for key, amps in found.items() if amps > least), key=found.__getitem__)
    return tuple(point.circuit.by_key[key] for key in named[:NAMED])


RULE = Rule(
    name="feedback-path",
    level=Level.ERROR,
    family="behaviour",
    catches="a load that is fed, or grounded, only through another load",
    why="""Where the common ground of two loads has come off, or a switch connects two feeds, current flows through one
    load and backwards through the other: a lamp glows, a horn hums, and an ignition runs on with the ignition off,
    fed through the charge lamp. Often every wire is sound, so that such a fault is hard to find.""",
    source="the shares of the rated voltage below which a load is off, and from which it works, by kind: "
    "Loomwright's limit",
    formula="""searched: named states, and key out with the engine turning, each with up to two controls moved;
found where wires and contacts alone do not connect a load to both poles of a source, and its share of rated voltage
(LED: of rated current) reaches that from which its kind is not off; passed where each load in the path is rated for
less than the voltage of the system""",
    cautions="A wire that should be dead may be fed through a lamp: measure before you touch.",
    says={
        "fed-works": "{load} is fed only through {others}, and is on at {voltage}",
        "fed-glows": "{load} is fed only through {others}, and glows at {voltage}",
        "fed-partly": "{load} is fed only through {others}, and gets {voltage}",
        "returned-works": "{load} is grounded only through {others}, and is on at {voltage}",
        "returned-glows": "{load} is grounded only through {others}, and glows at {voltage}",
        "returned-partly": "{load} is grounded only through {others}, and gets {voltage}",
        "not-searched": "feedback to {load} through other loads was not searched: {why}",
    },
    fixes={
        "fed": "follow {others} to ground and repair the ground return where it is open; where a switch opens it, "
        "isolate {load} from {others} with a diode",
        "returned": "follow {terminal} to ground and repair the ground return where it is open; where a switch opens "
        "it, isolate {load} from {others} with a diode",
        "not-searched": "measure the voltage across {load} with its own feed off",
    },
    find=find,
)
