"""Failure modes with their end effects in some states, worst first; those together that nobody can tell apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.model.parts import Fuse
from ...lang.records import dataclass
from ..protection.protection import Protection
from .effects import Category, Effect
from .failure_modes import SHORT, Fault, opens
from .fault_simulation import Sweep
from .feeding import Feeding
from .outcome import Outcome
from .shorts import Short, Shorts
from .stator_faults import outcomes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from ...lang.circuit.branch import Branch
    from ..operation.operation import OperatingPoint


Look = tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
"""What tells failure modes apart: by state, what goes how."""

_Unknown = dict[Fault, list[tuple[str, str]]]
"""Faults of which nothing is known, with the states and the reasons."""

MOST_MOVES = 400
"""This many states with controls moved are solved to find one that feeds a wire (ours)."""


@dataclass(frozen=True)
class Report:
    """A failure mode with its end effects: ``faults`` that nobody can tell apart by them, in the order of the text;
    none for what the controls do in a harness without any fault.

    ``effects`` by state, states alike together: (names of states, effects). ``category`` is that of the worst.
    ``blows``: the devices that a short to ground opens, in the states ``blown``; ``fires``: the states in which a
    battery feeds it past no device. ``unfed``: no state that was gone through feeds it, nor one with a control or two
    moved: ``blows`` then are what would open, none where nothing would. ``lasting``: those of ``blows`` that stay open,
    where that is worse than what the short does in these states: the category is theirs.
    """

    faults: tuple[Fault, ...]
    effects: tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]
    category: Category
    blows: tuple[str, ...] = ()
    blown: tuple[str, ...] = ()
    fires: tuple[str, ...] = ()
    unfed: bool = False
    lasting: tuple[str, ...] = ()

    @property
    def burns(self) -> bool:
        """Whether no device opens somewhere."""
        return bool(self.fires)


@dataclass(frozen=True)
class NotCalculated:
    """Faults of which nothing is known in some states, in the order of the text; ``why`` by state, states alike
    together: (names of states, reason).
    """

    faults: tuple[Fault, ...]
    why: tuple[tuple[tuple[str, ...], str], ...]


Progress = Callable[[int, int], None]
"""Called with how many steps are done, and how many there are."""


def fault_reports(
    sweep: Sweep,
    states: Iterable[str],
    protection: Protection | None = None,
    progress: Progress = lambda _done, _whole: None,
) -> tuple[Report, ...]:
    """The effects of ``all_faults`` alone."""
    return all_faults(sweep, states, protection, progress)[0]


def all_faults(
    sweep: Sweep,
    states: Iterable[str],
    protection: Protection | None = None,
    progress: Progress = lambda _done, _whole: None,
) -> tuple[tuple[Report, ...], tuple[NotCalculated, ...]]:
    """Everything that a single fault does in these states, worst first, and what is not known of some; alike ones
    together.

    Where the engine runs in one of them, it is stopped as well (``halted``). With ``protection``, shorts of wires
    to ground too: what opens then, and what goes with it.
    """
    asked = tuple(states)
    names = sweep.all_states(asked)
    steps = len(names) * (1 if protection is None else 2)
    by_key: dict[str, list[tuple[str, tuple[Effect, ...]]]] = {}
    unknown: _Unknown = {}
    for done, name in enumerate(names, 1):
        for key, outcome in sweep.outcomes(name).items():
            _note(unknown, outcome)
            if outcome.effects:
                by_key.setdefault(key, []).append((name, outcome.effects))
        progress(done, steps)
    groups: dict[Look, list[str]] = {}
    for branch in opens(sweep.circuit):
        if branch.key in by_key:
            groups.setdefault(_look(by_key[branch.key]), []).append(branch.key)
    found = [
        Report(tuple(Fault(key) for key in keys), _by_state(by_key[keys[0]]), _worst(by_key[keys[0]]))
        for keys in groups.values()
    ]
    found.extend(_of_stators(sweep, names, unknown))
    if protection is not None:
        opened = {fault.key: report.category for report in found for fault in report.faults if fault.mode == "open"}
        shorts = _shorts(sweep, asked, names, protection, lambda done: progress(len(names) + done, steps), unknown)
        found.extend(_lasting(report, sweep, opened) for report in shorts)
        found.extend(_without_fault(sweep, asked))
    order: dict[str, int] = {branch.key: i for i, branch in enumerate(sweep.circuit.branches)}

    def place(report: Report) -> tuple[object, ...]:
        first = order[report.faults[0].key] if report.faults else -1
        return report.category, bool(report.faults), not report.burns, -_count(report), first

    return tuple(sorted(found, key=place)), tuple(_not_calculated(unknown))


def _note(unknown: _Unknown, outcome: Outcome) -> None:
    """Keep the reason of an outcome of which nothing is known; what does not settle has an effect: it chatters."""
    if outcome.problem and not outcome.effects:
        unknown.setdefault(outcome.fault, []).append((outcome.state, outcome.problem))


def _not_calculated(unknown: _Unknown) -> Iterator[NotCalculated]:
    """Faults of one mode that are not known for the same reasons in the same states together."""
    groups: dict[tuple[str, tuple[tuple[str, str], ...]], list[Fault]] = {}
    for fault, why in unknown.items():
        groups.setdefault((fault.mode, tuple(why)), []).append(fault)
    for (_, reasons), faults in groups.items():
        states: dict[str, list[str]] = {}
        for state, reason in reasons:
            states.setdefault(reason, []).append(state)
        yield NotCalculated(tuple(faults), tuple((tuple(names), reason) for reason, names in states.items()))


def _of_stators(sweep: Sweep, states: Sequence[str], unknown: _Unknown) -> Iterator[Report]:
    """Faults of measured stators and their rectifiers; alike ones of one mode together."""
    told: dict[Fault, list[tuple[str, tuple[Effect, ...]]]] = {}
    for name in states:
        for fault, outcome in outcomes(sweep.state(name)).items():
            _note(unknown, outcome)
            if outcome.effects:
                told.setdefault(fault, []).append((name, outcome.effects))
    groups: dict[tuple[str, Look], list[Fault]] = {}
    for fault, found in told.items():
        groups.setdefault((fault.mode, _look(found)), []).append(fault)
    for faults in groups.values():
        found = told[faults[0]]
        yield Report(tuple(faults), _by_state(found), _worst(found))


def _without_fault(sweep: Sweep, asked: Sequence[str]) -> Iterator[Report]:
    """What is wrong with stopping the engine while nothing has failed."""
    for label, stop in sweep.failing.items():
        if sweep.stopping[label].named not in asked:
            continue
        effects = tuple(Effect(name, "live", "not stopped", 1.0, Category.CATASTROPHIC) for name in stop.goes_on)
        devices = stop.short.damage.opened if stop.short is not None and stop.short.damage is not None else ()
        burns = stop.short is not None and stop.short.burns
        worst = Category.CATASTROPHIC if burns or effects else Category.MARGINAL
        blows = tuple(branch.key for branch in devices)
        yield Report((), (((label,), effects),), worst, blows, (label,) if blows else (), (label,) if burns else ())


def _shorts(
    sweep: Sweep,
    asked: Sequence[str],
    states: Sequence[str],
    protection: Protection,
    progress: Callable[[int], None],
    unknown: _Unknown,
) -> Iterator[Report]:
    """Wires chafed through to ground: the devices before them open, or nothing does, or something comes on.

    What no state feeds is looked for with a control moved, and with two: behind a button, or a relay's contact.
    """
    told: dict[str, list[_Chafed]] = {}
    for done, name in enumerate(states, 1):
        for key, (short, outcome) in sweep.shorts(name, protection).items():
            _note(unknown, outcome)
            if short.follows(outcome):
                told.setdefault(key, []).append(_Chafed(name, short, outcome))
        progress(done)
    sustained_faults = {
        b.key: protection.sustained_faults[b.segment.name]
        for b in sweep.circuit.branches
        if b.segment is not None and b.segment.name in protection.sustained_faults and protection.side(b) != "return"
    }
    quiet: set[str] = {
        key for key, each in sustained_faults.items() if each.devices or not each.protected
    }  # not a machine's alone
    quiet -= {key for key, found in told.items() if any(each.fed for each in found)}
    for key, chafed in _behind(sweep, asked, quiet, protection).items():
        told.setdefault(key, []).append(chafed)
        quiet.discard(key)
    groups: dict[tuple[object, tuple[str, ...] | None], list[Branch]] = {}
    for branch in sweep.circuit.branches:
        if branch.key in told or branch.key in quiet:
            found = told.get(branch.key, [])
            unfed = sustained_faults[branch.key].devices if branch.key in quiet else None
            look = tuple((c.state, c.devices, c.short.burns, c.look) for c in found)
            groups.setdefault((look, unfed), []).append(branch)
    for (_, unfed), branches in groups.items():
        yield _chafed(branches, told.get(branches[0].key, []), unfed)


def _lasting(report: Report, sweep: Sweep, opened: Mapping[str, Category]) -> Report:
    """The report of a short with what its fuses leave dead in other states: a blown one stays open until somebody fits
    another. ``opened``: how severe each branch is that opens by itself.
    """
    parts = sweep.circuit.harness.parts
    melted = [key for key in report.blows if isinstance(part := parts.get(key), Fuse) and part.form != "breaker"]
    worst = min((opened[key] for key in melted if key in opened), default=report.category)
    if report.unfed or worst >= report.category:
        return report
    return replace(report, category=worst, lasting=tuple(key for key in melted if opened.get(key) == worst))


def _chafed(branches: Sequence[Branch], found: Sequence[_Chafed], unfed: tuple[str, ...] | None) -> Report:
    """The report of wires that do the same on ground. ``unfed``: what would open if anything fed them; ``None``:
    something does.
    """
    faults = tuple(Fault(b.key, SHORT) for b in branches)
    effects = [(c.state, c.outcome.effects) for c in found if c.outcome.effects and not c.short.burns]
    fires = tuple(c.state for c in found if c.short.burns)
    blown = tuple(c.state for c in found if c.devices and not c.short.burns)
    blows = dict.fromkeys(name for c in found if not c.short.burns for name in c.devices)
    worst = Category.CATASTROPHIC if fires else _worst(effects)
    return Report(faults, _by_state(effects), worst, tuple(blows) or unfed or (), blown, fires, unfed is not None)


def _behind(sweep: Sweep, states: Sequence[str], wanted: set[str], protection: Protection) -> dict[str, _Chafed]:
    """For each of some wires the first state with a control moved, or two, in which something feeds it. States in
    which nothing can, whatever relays and outputs do, are not solved.
    """
    found: dict[str, _Chafed] = {}
    feeding = Feeding(sweep.operation.network, protection)
    tried: dict[str, OperatingPoint | None] = {}
    starts = [(p.state, p.positions, p.pinned) for p in (sweep.state(name).point for name in states)]
    for first in (True, False):
        moved = []
        for state, positions, pinned in starts if wanted else ():
            joined = "with" if first else "and"
            for _, label, turned in sweep.turned(state, positions, sensed=True, joined=joined):
                moved.append((label, turned, pinned))
                left = wanted - found.keys()
                fed_at_most = feeding.nodes(turned, pinned) if left else set()
                if not any(sweep.circuit.by_key[key].b in fed_at_most for key in left):
                    continue
                path = ((label, turned),) if first else ((state, positions), (label, turned))
                for name, there in path:
                    if name not in tried:
                        if len(tried) >= MOST_MOVES:
                            return found
                        tried[name] = sweep.solved(name, there, pinned)
                    each = tried[name]
                    if each is None or each.shorted:
                        break
                    if name == label:
                        found.update(_fed(sweep, each, left, protection))
        starts = moved if wanted - found.keys() else []
    return found


def _fed(sweep: Sweep, point: OperatingPoint, wanted: set[str], protection: Protection) -> dict[str, _Chafed]:
    """Those of some wires that a source feeds at a point, by key."""
    fed = Shorts(point, protection).fed(wanted)
    if not fed:
        return {}
    sweep.keep(point)
    shorts = sweep.state(point.state).shorts(protection, fed)
    return {key: _Chafed(point.state, *shorts[key]) for key in sorted(fed)}


@dataclass(frozen=True)
class _Chafed:
    """A wire shorted to ground in one state."""

    state: str
    short: Short
    outcome: Outcome

    @property
    def devices(self) -> tuple[str, ...]:
        return tuple(b.key for b in self.short.damage.opened) if self.short.damage is not None else ()

    @property
    def fed(self) -> bool:
        return self.short.fed

    @property
    def look(self) -> tuple[tuple[str, str], ...]:
        return tuple(e.look for e in self.outcome.effects) if not self.short.burns else ()


def _look(told: Sequence[tuple[str, tuple[Effect, ...]]]) -> Look:
    """What tells failure modes apart: what goes how, state by state."""
    return tuple((state, tuple(e.look for e in effects)) for state, effects in told)


def _by_state(
    found: Sequence[tuple[str, tuple[Effect, ...]]],
) -> tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]:
    """States with the same effects together."""
    groups: dict[tuple[tuple[str, str], ...], tuple[list[str], tuple[Effect, ...]]] = {}
    for state, effects in found:
        look = tuple(e.look for e in effects)
        groups.setdefault(look, ([], effects))[0].append(state)
    return tuple((tuple(states), effects) for states, effects in groups.values())


def _worst(found: Sequence[tuple[str, tuple[Effect, ...]]]) -> Category:
    return min((effect.category for _, effects in found for effect in effects), default=Category.MINOR)


def _count(report: Report) -> int:
    """How many things a failure touches at its worst category."""
    return len({e.thing for _, effects in report.effects for e in effects if e.category == report.category})
