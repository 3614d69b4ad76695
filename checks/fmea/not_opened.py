"""What single openings say nothing of: what carries nothing in any state that was gone through, what carries none of
the current that it is there for, and what does nothing where it opens.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.paths import steps_over
from ...lang.records import dataclass
from ...lang.search.walks import reachable
from ..operation.load_status import load_status
from .failure_modes import opens

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import End
    from .fault_simulation import Sweep
    from .faulted_state import FaultedState

SMALL = 1e-3
"""A through what has no standing, a resistor or a sensor, from which it counts as on (ours)."""


@dataclass(frozen=True, slots=True)
class NotOpened:
    """Branches by key, each once, in the order of the text; none of them has an effect.

    ``idle``: nothing flows there, so that it was not opened. ``unloaded``: opened only where all that it feeds is off,
    with what comes through other loads. ``doubled``: opened, and something else joins its ends. ``harmless``: opened,
    and nothing follows that is judged. ``phases``: of an alternator, whose opening is not solved.
    """

    idle: tuple[str, ...] = ()
    unloaded: tuple[str, ...] = ()
    doubled: tuple[str, ...] = ()
    harmless: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()


def not_opened(sweep: Sweep, states: Iterable[str]) -> NotOpened:
    """What ``fault_reports`` of these states leaves out of the openings, and why."""
    heres = [sweep.state(name) for name in states]
    told = {key for here in heres for key, outcome in here.opens.items() if outcome.effects or outcome.problem}
    nets = sweep.circuit.nets
    phases = {nets.of.get(phase) for supply in sweep.circuit.supplies for phase in supply.phases}
    busy: dict[str, list[FaultedState]] = {}
    for here in heres:
        for branch in here.busy:
            busy.setdefault(branch.key, []).append(here)
    found: dict[str, list[str]] = {"idle": [], "unloaded": [], "doubled": [], "harmless": [], "phases": []}
    for branch in opens(sweep.circuit):
        if branch.key not in told:
            of_phase = nets.of.get(branch.a) in phases
            found[_why(branch, busy.get(branch.key, []), of_phase=of_phase)].append(branch.key)
    return NotOpened(**{why: tuple(keys) for why, keys in found.items()})


def _why(branch: Branch, busy: list[FaultedState], *, of_phase: bool) -> str:
    if of_phase:
        return "phases"
    if not busy:
        return "idle"
    loaded = [here for here in busy if _is_loaded(here, branch)]
    if not loaded:
        return "unloaded"
    return "doubled" if all(_bypassed(here, branch) for here in loaded) else "harmless"


def _is_loaded(here: FaultedState, branch: Branch) -> bool:
    """Whether a branch carries in a state what it is there for: it tells something by what it joins, something that it
    feeds or grounds is on, or it lies between sources.
    """
    if branch.key in here.propagation.watched:
        return True
    sides = [_beyond(here, branch, end) for end in (branch.a, branch.b)]
    poles = {pole for s in here.point.connectivity.sources for pole in (*s.plus, s.minus)}
    away = [side for side in sides if poles.isdisjoint(side)]
    if not away:
        return True
    return any(_is_on(here, load) for side in away for load in _loads(here, side))


def _beyond(here: FaultedState, branch: Branch, end: End) -> frozenset[End]:
    """What copper and contacts join to an end of a branch past the others."""

    def passes(step: Branch) -> bool:
        joins = step.branch_type.joined is not Direction.NEVER and step.key != branch.key
        return joins and here.point.connectivity.conducts(step)

    return frozenset(reachable([end], steps_over(here.point.circuit, passes)))


def _bypassed(here: FaultedState, branch: Branch) -> bool:
    return branch.b in _beyond(here, branch, branch.a)


def _loads(here: FaultedState, nodes: frozenset[End]) -> Iterator[Branch]:
    at = here.point.circuit.at
    return (b for node in sorted(nodes) for b in at.get(node, ()) if b.branch_type.joined is Direction.NEVER)


def _is_on(here: FaultedState, load: Branch) -> bool:
    """Whether a load gets enough to be dim at least; one without a standing, whether it carries any current."""
    status = load_status(here.point, load.key)
    return status.word != "dead" if status is not None else abs(here.point.amps(load.key)) > SMALL
