"""A load that is fed or grounded only through another load."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.circuit.paths import walked
from ....lang.editing.proposals import Proposal
from ....lang.model.conditions import BY_ITSELF
from ....lang.model.parts import Element, Load, Unit
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import ranked
from ....lang.records import dataclass
from ....lang.search.disjoint_set import DisjointSet
from ...behaviour import DIRECT, TooWideError, too_wide
from ...behaviour.by_numbers import bleeding, decider, solved
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level
from ...fixes.backfeed import Blocked, blocking_diode, diode_in_feed
from ...operation.load_status import limits, load_status
from ...protection.isolation import joined_to
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...behaviour import Combination
    from ...behaviour.cases import Cases, Space
    from ...operation.load_status import LoadStatus
    from ...operation.operation import OperatingPoint, Operation

MOVED = 2
"""This many controls are moved away from a named state, or from the key off with the engine turning (the search)."""

LEAST_SHARE: Final = 0.1
"""What carries less of a load's current is not named (ours)."""

NAMED: Final = 3
"""This many loads are named, those of the greatest current."""

GRAVE_ROLES = ("stop-lamp", "turn-left", "turn-right")


@dataclass(frozen=True, slots=True)
class _Fed:
    """A load that lives on what comes through others: those on its feed's side, and those on its return's."""

    branch: Branch
    feeds: tuple[Branch, ...]
    returns: tuple[Branch, ...]
    shown: Combination
    point: OperatingPoint
    status: LoadStatus

    @property
    def others(self) -> tuple[Branch, ...]:
        return tuple(dict.fromkeys((*self.feeds, *self.returns)))

    @property
    def keys(self) -> tuple[str, ...]:
        return (self.branch.key, *(other.key for other in self.others))


def find(study: Study) -> Iterator[Finding]:
    found: list[_Fed] = []
    for branch in study.circuit.branches:
        if limits(branch) is None or _is_tell_tale(branch):
            continue
        fed = _searched(study, branch)
        if isinstance(fed, str):
            yield _not_searched(branch, fed)
        elif fed is not None:
            found.append(fed)
    # What is connected in one combination has one cause, and one repair answers all of it.
    together: DisjointSet[str] = DisjointSet(sorted({key for fed in found for key in fed.keys}))
    for fed in found:
        for other in fed.others:
            together.merge(fed.branch.key, other.key)
    groups: dict[str, list[_Fed]] = {}
    for fed in found:
        groups.setdefault(f"{together.leader(fed.branch.key)} {fed.shown.shown}", []).append(fed)
    repairs = {group: _fixed(study, alike) for group, alike in groups.items()}
    for fed in found:
        group = f"{together.leader(fed.branch.key)} {fed.shown.shown}"
        yield _finding(study, fed, repairs[group], group)


def _searched(study: Study, branch: Branch) -> _Fed | str | None:
    """How a load is fed through others, in the combination nearest to rest; why it is not known; else ``None``."""
    behaviour, operation = study.behaviour, study.operation
    through, live = behaviour.reached_through_loads(branch.key, DIRECT), behaviour.live(branch.key)
    try:
        space = behaviour.space(through, live)
    except TooWideError as wide:
        return too_wide(wide)
    asked = space.where(through) - space.where(live)
    if not asked:
        return None
    asked &= space.possible & space.plausible & _near(study, space)
    if not asked:
        return None
    told = behaviour.judged(asked, branch, decider(lambda _circuit: operation))
    shown = told.alive
    if shown is None:
        return told.why if told.open is not None else None
    point = solved(operation, behaviour.logic, shown, bleeding(behaviour.circuit, shown))
    status = load_status(point, branch.key) if point is not None else None
    if point is None or status is None:
        return None
    feeds, returns = _in_series(branch, point)
    fed = _Fed(branch, feeds, returns, shown, point, status)
    return None if _is_row(study, (branch, *fed.others)) else fed


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


_Repair = tuple[dict[str, Fact], str, tuple[Proposal, ...]]
"""The facts, the case and the proposals of a repair."""


def _finding(study: Study, fed: _Fed, repair: _Repair, group: str) -> Finding:
    branch, point = fed.branch, fed.point
    across, amps = abs(point.across(branch.key)), abs(point.amps(branch.key))
    is_fed = any(point.connectivity.fed(end) for end in (branch.a, branch.b))
    path = "returned" if is_fed else "both" if fed.feeds and fed.returns else "fed"
    how = "works" if fed.status.word == "live" else "glows" if _is_lamp(branch) else "partly"
    facts, fix, proposals = repair
    return RULE.found(
        f"{path}-{how}",
        branch.span,
        facts={
            "load": branch.key,
            "others": tuple(other.key for other in fed.others) or "other loads",
            "feeds": tuple(other.key for other in fed.feeds) or "other loads",
            "returns": tuple(other.key for other in fed.returns) or "other loads",
            "voltage": Quantity(across, "V"),
            **facts,
        },
        level=_level(study, branch),
        shown=fed.shown,
        fix=fix,
        about=(branch.part, *(other.part for other in fed.others)),
        figures=(
            Figure("across it", across, "V"),
            Figure("through it", amps, "A"),
            Figure("dead below", fed.status.dead * 100.0, "%"),
        ),
        proposals=proposals,
        group=group,
        rank=fed.status.dead - fed.status.share,
    )


def _fixed(study: Study, alike: list[_Fed]) -> _Repair:
    """The repair that answers all loads of one cause.

    The first of them is fed as it should be and has lost its return. Where contacts can lead that return to ground,
    a switch only opened it, and the load beyond, which is passed backwards, needs a diode; else the return is open.
    Where all have theirs, a diode in the way of the current stops it, if one does and takes nothing else away.
    """
    circuit = study.circuit
    for fed in alike:
        ends = (fed.branch.a, fed.branch.b)
        lost = [end for end in ends if not fed.point.connectivity.fed(end)]
        if len(lost) != 1:
            continue
        (open_end,) = lost
        facts: dict[str, Fact] = {"terminal": open_end, "first": fed.branch.key}
        past = joined_to(circuit, [open_end])  # contacts closed in any position
        if not any(node in past for node in (circuit.ground, *study.copper.bodies)):
            return facts, "open", ()
        near = fed.point.connectivity.nodes((open_end,))
        for other in alike:
            inner = [end for end in (other.branch.a, other.branch.b) if end in near]
            if other is fed or len(inner) != 1:
                continue
            feed = other.branch.other_end(inner[0])
            own = next(end for end in ends if end != open_end)
            proposals = tuple(diode_in_feed(study, other.branch, feed))
            facts |= {"backwards": other.branch.key, "feed": feed, "own": own}
            return facts, "one-feed" if proposals else "switched", proposals
        return facts, "return", ()
    facts = {"terminal": "", "first": alike[0].branch.key}
    if any(_lost(study, branch) for fed in alike for branch in (fed.branch, *fed.others)):
        return facts, "shared", ()
    blocked = _blocked(study, alike)
    if blocked is None:
        return facts, "find", ()
    proposals = blocked.proposals(study)
    return {**facts, "diode": blocked.says}, "proposed" if proposals else "diode", proposals


def _lost(study: Study, branch: Branch) -> bool:
    """Whether one end of a load has neither a feed nor a ground that copper or any contact could connect it to."""
    circuit = study.circuit
    poles = {pole for supply in circuit.supplies for pole in (*supply.plus, supply.minus)} | {
        circuit.ground, *study.copper.bodies
    }  # fmt: skip
    return any(poles.isdisjoint(joined_to(circuit, [end])) for end in (branch.a, branch.b))


def _blocked(study: Study, alike: list[_Fed]) -> Blocked | None:
    """Where a diode keeps all loads of one cause from being fed backwards."""
    fed = frozenset(each.branch.key for each in alike)

    def stops(trial: Operation) -> bool:
        return all(_is_off(study, trial, each) for each in alike)

    for each in alike:
        for path in _ways(each):
            blocked = blocking_diode(study, path, stops, fed=fed)
            if blocked is not None:
                return blocked
    return None


def _ways(fed: _Fed) -> Iterator[list[tuple[Branch, End]]]:
    """The ways of the current from each load that feeds another one to that, and from that to each that it goes on to:
    the branches, each with the end by which it is left.
    """
    point = fed.point
    before, after = (fed.feeds, fed.returns) if point.circuit.return_sign == "-" else (fed.returns, fed.feeds)
    enters, leaves = _through(fed.branch, point)
    ends = [(_through(other, point)[1], enters) for other in before]
    ends += [(leaves, _through(other, point)[0]) for other in after]
    for start, end in ends:
        keys = point.connectivity.between((start,), (end,))[::-1]
        yield list(walked(point.circuit, keys, start))


def _through(branch: Branch, point: OperatingPoint) -> tuple[End, End]:
    """The ends by which the current of a load enters it and leaves it."""
    return (branch.a, branch.b) if point.amps(branch.key) > 0.0 else (branch.b, branch.a)


def _is_off(study: Study, trial: Operation, fed: _Fed) -> bool:
    """Whether a load gets nothing to speak of with other numbers, where it was fed through others."""
    behaviour = study.behaviour
    point = solved(trial, behaviour.logic, fed.shown, bleeding(trial.circuit, fed.shown))
    status = load_status(point, fed.branch.key) if point is not None else None
    return status is not None and status.word == "dead"


def _is_lamp(branch: Branch) -> bool:
    return branch.branch_type in (BranchType.LAMP, BranchType.LED)


def _is_row(study: Study, branches: tuple[Branch, ...]) -> bool:
    """Whether loads share the system's voltage as they are meant to: each says that it is made for less.

    What each of them gets is for `wrong-voltage` to judge.
    """
    system = study.harness.volts
    return len(branches) > 1 and all(branch.made_for(system) < system for branch in branches)


def _in_series(branch: Branch, point: OperatingPoint) -> tuple[tuple[Branch, ...], tuple[Branch, ...]]:
    """The loads on the side of its feed, and those on the side of its return, that its current comes from and goes to:
    the greatest current first; none past a pole.
    """
    enters, leaves = _through(branch, point)
    before = _beyond(branch, point, enters, forward=False)
    after = _beyond(branch, point, leaves, forward=True)
    return (before, after) if point.circuit.return_sign == "-" else (after, before)


def _beyond(branch: Branch, point: OperatingPoint, end: End, *, forward: bool) -> tuple[Branch, ...]:
    if point.connectivity.reaches_pole(end):
        return ()
    least = LEAST_SHARE * abs(point.amps(branch.key))
    near = point.connectivity.nodes((end,), forward=forward)
    found: dict[str, float] = {}
    for other in point.circuit.branches:
        # From there to another load where the current of this one goes to, the other way where it comes from.
        away = point.amps(other.key) * ((other.a in near) - (other.b in near))
        found[other.key] = away if forward else -away
    named = ranked(
        (key for key, amps in found.items() if amps > least and key != branch.key), key=lambda key: found[key]
    )
    return tuple(point.circuit.by_key[key] for key in named[:NAMED])


PATHS: Final = {
    "fed": "fed only through {feeds}",
    "returned": "grounded only through {returns}",
    "both": "fed only through {feeds} and grounded only through {returns}",
}

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
    formula="""searched: named states, and key off with the engine turning, each with up to two controls moved;
found where wires and contacts alone do not connect a load to both poles of a source, and its share of rated voltage
(LED: of rated current) reaches that from which its kind is not off; passed where each load in the path is rated for
less than the voltage of the system""",
    cautions="A wire that should be dead may be fed through a lamp: measure before you touch.",
    says={
        **{
            f"{path}-{how}": f"{{load}} is {only}, and {gets} {{voltage}}"
            for path, only in PATHS.items()
            for how, gets in (("works", "is on at"), ("glows", "glows at"), ("partly", "gets"))
        },
        "not-searched": "feedback to {load} through other loads was not searched: {why}",
    },
    fixes={
        "open": "follow {terminal} to ground, and repair the ground return where it is open",
        "one-feed": "or feed {own} and {feed} from one point",
        "switched": "fit a diode in the feed of {backwards}, its band (cathode) on {feed} where - is grounded; or feed "
        "{own} and {feed} from one point",
        "return": "follow {terminal} to ground; where a switch opens it, return {first} to ground past that switch, or "
        "feed through that switch all that it returns",
        "shared": "measure at both terminals of {first} with its own feed off, and disconnect {others} one by one "
        "until it is off; then repair the ground return that they share",
        "proposed": "",
        "diode": "{diode}",
        "find": "measure at both terminals of {first} with its own feed off, and disconnect {others} one by one until "
        "it is off; then connect both again by separate wires and contacts, so that neither feeds the other",
        "not-searched": "measure the voltage across {load} with its own feed off",
    },
    find=find,
)
