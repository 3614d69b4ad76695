"""Bad joints: copper and metal on metal with some ohms too many, solved from nearly sound to nearly open."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from ...lang.circuit.branch import On, Pulled
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import owner_of
from ...lang.records import dataclass
from ..ac.harmonics import rms_between, stacked, swing_rows
from ..dc.memory import Memory
from ..tables.meter import meter_figures
from .failure_modes import Damage, inner_nodes, series_groups

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from .after import After
    from .faulted_state import FaultedState
    from .outcome import Outcome

    Floats = NDArray[np.float64]

JOINTS = (0.02, 0.06, 0.12, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.94, 0.98)
"""Where a bad joint is solved between open (0) and sound (1), by the share of the volts that it leaves to all else
while nothing moves (ours).
"""

FARTHER = 8.0
"""Times the most ohms so far, where these are still far from open: what dropped out has left something of more ohms
(ours).
"""

APART, NEAR, ROUNDS = 0.08, 1.02, 4
"""Of the system's volts, how far apart two solved cases of a joint may be; times the ohms of the first, how near each
other they need not come; and how often more are put between (ours).
"""

MOST_ROUNDS = 10
"""How often, where something moves between two cases and no straight line leads from one to the other (ours): 7 come
near from any two of ``JOINTS``.
"""

BETWEEN, CHATTER = 3, 8
"""This many places on the straight line from each of them to the next: no further apart than a tolerance; and from one
moment to the next of what keeps switching: a meter shows anything between (ours).
"""

BAD = (BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.FUSE, BranchType.CONTACT, BranchType.METER)
"""What corrodes, works loose or burns and still conducts: copper, and metal pressed on metal."""

NO_CURRENT = 1e-6


@dataclass(frozen=True, slots=True)
class Rows:
    """A bad joint with more and more ohms: ``stacks`` of all nodes, see ``ac.harmonics``, ``shares`` of all elements,
    what it takes from its first end to its second (``across``), with what swings of that. ``unsteady``: that is no
    operating point, but a moment of what keeps switching, or between two of these. ``stops``: it stops the engine.
    ``earlier``: it was there before relays were in and machines excited. ``ohms``: how many too many. By case in the
    first axis.
    """

    stacks: Floats = field(repr=False)
    shares: Floats = field(repr=False)
    across: Floats = field(repr=False)
    unsteady: NDArray[np.bool_] = field(repr=False)
    stops: NDArray[np.bool_] = field(repr=False)
    earlier: NDArray[np.bool_] = field(repr=False)
    ohms: Floats = field(repr=False)


@dataclass(frozen=True, slots=True)
class BadJoint:
    """What a bad joint may show: ``stacks`` of all nodes, see ``ac.harmonics``, and ``shares`` of all elements, by
    case in the first axis. ``unsteady``: the cases that are no operating point, since ``chatters`` keep switching: a
    meter may show anything between them, and nothing in particular. ``stops``: those in which the engine stops.
    ``earlier``: those of a joint that was bad before relays were in and machines excited. ``ohms``: how many too many
    each has.
    """

    stacks: Floats = field(repr=False)
    shares: Floats = field(repr=False)
    unsteady: NDArray[np.bool_] = field(repr=False)
    chatters: tuple[str, ...]
    stops: NDArray[np.bool_] = field(repr=False)
    earlier: NDArray[np.bool_] = field(repr=False)
    ohms: Floats = field(repr=False)


@dataclass(frozen=True, slots=True)
class _Solved:
    """The ``rows`` of the first branch of each series; those of which some ohms were not solved (``partly``); the parts
    that some ohms keep switching (``chatters``).
    """

    rows: Mapping[str, list[Rows]]
    partly: frozenset[str]
    chatters: Mapping[str, tuple[str, ...]]


class Joints:
    """The bad joints of one solved state.

    ``outcomes``: each opening by branch key, and ``still`` what those show that stop the engine, once it has stopped.
    """

    def __init__(
        self,
        state: FaultedState,
        outcomes: Mapping[str, Outcome],
        still: Mapping[str, Outcome] | None = None,
    ) -> None:
        self._state = state
        self._outcomes = outcomes
        self._still = still or {}
        self._nominal = state.point.circuit.harness.volts

    def of(self, outcome: Outcome) -> BadJoint | None:
        """What a bad joint shows where ``outcome`` is open; ``None``: nothing follows from one.

        What lies in series with a branch before it shows the same outside, and between the two the volts that are lost
        in the joint.
        """
        import numpy as np

        key = outcome.fault.key
        first = self._series.get(key, key)
        rows = self._solved.rows.get(first)
        if not rows:
            return None
        stacks = np.concatenate([each.stacks for each in rows])
        between, sign = self._between.get(key, ((), 1.0))
        stacks[:, :, between] += sign * np.concatenate([each.across for each in rows])[:, :, None]
        return BadJoint(
            stacks,
            np.concatenate([each.shares for each in rows]),
            np.concatenate([each.unsteady for each in rows]),
            self._solved.chatters.get(first, ()),
            np.concatenate([each.stops for each in rows]),
            np.concatenate([each.earlier for each in rows]),
            np.concatenate([each.ohms for each in rows]),
        )

    @cached_property
    def _between(self) -> Mapping[str, tuple[tuple[int, ...], float]]:
        """The nodes that lie between each branch and the first of its series, and by what the volts that are lost are
        counted there when they are lost in it instead of in the first: 1 behind the first, -1 before it.
        """
        circuit, index = self._state.point.circuit, self._state.point.flow.network.index
        series = self._series
        inner = inner_nodes(circuit, self._may_conduct)
        found: dict[str, tuple[tuple[int, ...], float]] = {}
        for first in dict.fromkeys(series.values()):
            branch = circuit.by_key[first]
            for node, sign in ((branch.b, 1.0), (branch.a, -1.0)):
                passed: tuple[int, ...] = ()
                known, at = {first}, node
                while at in inner:
                    step = next((b for b in inner[at] if b.key not in known and series[b.key] == first), None)
                    if step is None:
                        break
                    passed = (*passed, index[at])
                    found.setdefault(step.key, (passed, sign))
                    known.add(step.key)
                    at = step.b if step.a == at else step.a
        return found

    def _may_conduct(self, branch: Branch) -> bool:
        """Whether a branch conducts in this state, or would when a relay or an output moves: what meets others there
        parts a series then.
        """
        return isinstance(branch.guard, Pulled | On) or self._state.point.connectivity.conducts(branch)

    @cached_property
    def _series(self) -> Mapping[str, str]:
        """For each branch that can open, the first of those in series with it, however relays and outputs move, that
        can be a bad joint: a diode or an output may be before it. Itself where none can.
        """
        circuit = self._state.point.circuit
        series = series_groups(circuit, self._may_conduct)
        first: dict[str, str] = {}
        for key, group in series.items():
            if circuit.by_key[key].branch_type in BAD:
                first.setdefault(group, key)
        return {key: first.get(group, key) for key, group in series.items()}

    def partly(self, key: str) -> bool:
        """Whether a bad joint shows more than ``of`` says: with some ohms it was not solved."""
        return self._series.get(key, key) in self._solved.partly

    @cached_property
    def _solved(self) -> _Solved:
        """For the first branch of each series: from relays and machines as they were, from rest, and where the engine
        has stopped.
        """
        import numpy as np

        circuit = self._state.point.circuit
        opened: dict[str, Floats | None] = {}
        for key in dict.fromkeys(self._series.values()):
            branch, outcome = circuit.by_key[key], self._outcomes.get(key)
            flows = abs(self._state.point.amps(key)) >= NO_CURRENT  # more ohms where nothing flows change nothing
            if branch.branch_type in BAD and outcome is not None and flows:
                opened[key] = outcome.stack
        source_ohms = self._source_ohms(opened)
        partly = {key for key, ohms in source_ohms.items() if ohms is None}
        asked = [(key, ohms * (1.0 - s) / s) for key, ohms in source_ohms.items() if ohms is not None for s in JOINTS]
        memory = self._state.point.memory
        found: dict[str, list[Rows]] = {}
        chatters: dict[str, set[str]] = {}
        stalling: dict[str, float] = {}
        now: set[str] = set()  # what stalls the engine that runs already
        for start in dict.fromkeys((memory, Memory(latched=memory.latched))):
            for key, cases in self._refined(self._state, opened, asked, start).items():
                partly.update([key] if any(case.unsolved for case in cases) else [])
                stalls = [case.ohms for case in cases if case.stalls]
                if stalls:
                    stalling[key] = min(*stalls, stalling.get(key, math.inf))
                    now.update([key] if start == memory else [])
                chatters.setdefault(key, set()).update(name for case in cases for name in case.chatters)
                if any(case.stack is not None or case.moments for case in cases):
                    found.setdefault(key, []).append(_drawn(cases, earlier=start != memory))
        halted = self._state.halting.at_rest
        if halted is None:
            partly.update(stalling)  # what it shows once the engine has stopped is not known
        else:
            opened = {key: self._still[key].stack if key in self._still else None for key in stalling}
            more = [(key, ohms) for key, ohms in asked if key in stalling and ohms >= stalling[key]]
            more.extend(stalling.items())
            for key, cases in self._refined(halted, opened, more, halted.point.memory).items():
                partly.update([key] if any(case.unsolved for case in cases) else [])
                chatters.setdefault(key, set()).update(name for case in cases for name in case.chatters)
                if any(case.stack is not None or case.moments for case in cases):
                    rows = _drawn(cases, earlier=key not in now)
                    found.setdefault(key, []).append(replace(rows, stops=np.ones_like(rows.stops)))
        return _Solved(found, frozenset(partly), {key: tuple(sorted(names)) for key, names in chatters.items()})

    def _source_ohms(self, opened: Mapping[str, Floats | None]) -> dict[str, float | None]:
        """The ohms of all else, seen from a branch: the V across its open ends while relays, outputs and machines are
        still as they were, over its A. Where these V are not solved, those of ``opened``, after all that has moved;
        ``None`` where neither are.

        What drops out may take the volts across the open ends away, so those say nothing of the ohms at which it drops
        out. Left out are the branches across which next to nothing is when they open, before and after.
        """
        circuit, index = self._state.point.circuit, self._state.point.flow.network.index
        first = self._state.propagation.at_first([Damage((circuit.by_key[key],)) for key in opened])
        found: dict[str, float | None] = {}
        for (key, after), before in zip(opened.items(), first, strict=True):
            branch = circuit.by_key[key]
            cases = [stack for stack in (None if before is None else before[None, :], after) if stack is not None]
            across = [float(rms_between(stack, index[branch.a], index[branch.b])) for stack in cases]
            telling = [volts for volts in across if volts >= meter_figures().reading_floor * self._nominal]
            if telling:
                found[key] = telling[0] / abs(self._state.point.amps(key))
            elif after is None:
                found[key] = None
        return found

    def _refined(
        self,
        state: FaultedState,
        opened: Mapping[str, Floats | None],
        asked: Sequence[tuple[str, float]],
        start: Memory,
    ) -> dict[str, list[_Case]]:
        """Some (branch key, ohms) solved, and more between those that are too far apart; by rising ohms. One that finds
        no solution is among them without numbers. ``opened``: V of all nodes with the branch open, where they are
        known.
        """
        import numpy as np

        circuit, index = state.point.circuit, state.point.flow.network.index
        rows = swing_rows(state.point.flow.network)
        found: dict[str, list[_Case]] = {key: [] for key, _ in asked}
        wanted: Sequence[tuple[str, float]] = asked
        for turn in range(1, MOST_ROUNDS + 1):
            if not wanted:
                break
            damages = [Damage(resisting=((circuit.by_key[key], more),)) for key, more in wanted]
            afters = state.propagation.of(damages, start)
            shares = state.elements.after(afters)

            def case(key: str, ohms: float, after: After, share: Floats) -> _Case:
                branch = circuit.by_key[key]
                if after.volts is None:
                    raise TypeError(f"{key} has no numbers")
                stack = stacked(after.volts, after.swings, rows)
                across = stack[:, index[branch.a]] - stack[:, index[branch.b]]
                now = replace(state.sound, shares=share, stopped=after.stopped)
                return _Case(ohms, stack, share, across, after.memory, state.halting.stops(now))

            for (key, ohms), after, share in zip(wanted, afters, shares, strict=True):
                if after.volts is not None and np.isfinite(share).all():
                    found[key].append(case(key, ohms, after, share))
                    continue
                told = list(zip(after.moments, state.elements.after(after.moments), strict=True))
                moments = tuple(case(key, ohms, each, part) for each, part in told if np.isfinite(part).all())
                lost = not told or len(moments) < len(told)
                stalls = any(moment.stalls for moment in moments)
                names = tuple(owner_of(name) for name in after.restless) if moments else ()
                found[key].append(_Case(ohms, stalls=stalls, moments=moments, chatters=names, unsolved=lost))
            wanted = [(key, more) for key in found for more in self._wanting(found[key], opened[key], turn)]
        return found

    def _wanting(self, cases: list[_Case], opened: Floats | None, turn: int) -> Iterator[float]:
        """The ohms between solved cases of one joint, put in order, that are too far apart: something moved between
        them, or a law has its knee there, which a few turns come near enough. And more ohms than any, while these are
        too far from what it shows ``opened``.
        """
        import numpy as np

        def far_apart(one: Floats, other: Floats) -> bool:
            return turn < ROUNDS and float(np.abs(one - other).max()) > APART * self._nominal

        cases.sort(key=lambda case: case.ohms)
        tried = {case.ohms for case in cases}
        last = cases[-1].stack
        if last is not None and opened is not None and far_apart(last, opened):
            yield FARTHER * cases[-1].ohms
        for one, other in pairwise(case for case in cases if case.stack is not None):
            if one.stack is None or other.stack is None:
                continue  # left out above
            far = far_apart(one.stack, other.stack)
            middle = math.sqrt(one.ohms * other.ohms)  # where that keeps switching, no other is looked for
            if (far or one.memory != other.memory) and other.ohms > NEAR * one.ohms and middle not in tried:
                yield middle


@dataclass(frozen=True, slots=True)
class _Case:
    """A bad joint of some ``ohms``, solved; where it keeps parts switching (``chatters``), the ``moments`` of that.
    ``across``: what it takes; ``stalls``: no ignition runs any more; ``unsolved``: neither its ``stack`` nor all of
    its moments could be solved.
    """

    ohms: float
    stack: Floats | None = None
    shares: Floats | None = None
    across: Floats | None = None
    memory: Memory = field(default_factory=Memory)
    stalls: bool = False
    moments: tuple[_Case, ...] = ()
    chatters: tuple[str, ...] = ()
    unsolved: bool = False


def _drawn(cases: Sequence[_Case], *, earlier: bool) -> Rows:
    """Solved cases of one joint by rising ohms, with those on the straight lines between two in which the same has
    moved, and between the moments of what keeps switching. ``earlier``: as in ``Rows``, of all of them.
    """
    import numpy as np

    solved = sorted((case for case in cases if case.stack is not None), key=lambda case: case.ohms)
    lines = [(one, other, BETWEEN, False) for one, other in pairwise(solved) if one.memory == other.memory]
    for case in cases:
        lines.extend((one, other, CHATTER, True) for one, other in pairwise((*case.moments, *case.moments[:1])))
    rows = [(*_figures(case), False, case.stalls) for case in solved]
    for one, other, steps, unsteady in lines:
        (ohms, stack, shares, across), end = _figures(one), _figures(other)
        rows.extend(
            (
                ohms + part * (end[0] - ohms),
                stack + part * (end[1] - stack),
                shares + part * (end[2] - shares),
                across + part * (end[3] - across),
                unsteady,
                one.stalls and other.stalls,
            )
            for part in (step / steps for step in range(1, steps))
        )
    rows.extend((*_figures(moment), True, moment.stalls) for case in cases for moment in case.moments)
    rows.sort(key=lambda row: row[0])
    more, *columns = (np.array([row[column] for row in rows], dtype=float) for column in (0, 1, 2, 3))
    restless, stalled = (np.array([row[column] for row in rows], dtype=bool) for column in (4, 5))
    return Rows(columns[0], columns[1], columns[2], restless, stalled, np.full_like(stalled, earlier), more)


def _figures(case: _Case) -> tuple[float, Floats, Floats, Floats]:
    """Ohms, stack, shares and what is across it of a case. Raises ``TypeError`` for one that keeps switching."""
    if case.stack is None or case.shares is None or case.across is None:
        raise TypeError(f"{case.ohms} ohm has no numbers")
    return case.ohms, case.stack, case.shares, case.across
