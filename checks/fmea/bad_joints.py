"""Bad joints: copper and metal on metal with some ohms too many, solved from nearly sound to nearly open."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.records import dataclass
from ..dc.relay_fixed_point import Memory
from ..diagnosis.tolerance import FLOOR
from .failure_modes import Damage

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .fault_simulation import Outcome, _State
    from .propagation import After

    Floats = NDArray[np.float64]

JOINTS = (0.02, 0.06, 0.12, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.94, 0.98)
"""Where a bad joint is solved between open (0) and sound (1), by the share of the volts that it leaves to all else
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
"""So many places on the straight line from each of them to the next: no further apart than a tolerance; and from one
moment to the next of what keeps switching: a meter shows anything between (ours).
"""

BAD = (BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.FUSE, BranchType.CONTACT, BranchType.METER)
"""What corrodes, works loose or burns and still conducts: copper, and metal pressed on metal."""

NO_CURRENT = 1e-6


@dataclass(frozen=True, slots=True)
class Rows:
    """A bad joint with more and more ohms: ``volts`` of all nodes, ``shares`` of all elements, the share of its open
    volts that it takes (``lost``). ``halted``: it has stopped the engine. By case in the first axis.
    """

    volts: Floats = field(repr=False)
    shares: Floats = field(repr=False)
    lost: Floats = field(repr=False)
    halted: bool = False


@dataclass(frozen=True, slots=True)
class _Solved:
    """The ``rows`` of the first branch of each series; those of which some ohms were not solved (``partly``); what
    openings show with the engine stopped.
    """

    rows: Mapping[str, list[Rows]]
    partly: frozenset[str]
    still: Mapping[str, Outcome]


class Joints:
    """The bad joints of one solved state.

    ``outcomes``: each opening by branch key; ``series``: of each branch the first in series with it; ``halted`` is the
    state with the engine stopped, if it stops without ignition, and ``still`` what openings show there that stop it;
    ``halts``: it does stop so.
    """

    def __init__(
        self,
        state: _State,
        outcomes: Mapping[str, Outcome],
        series: Mapping[str, str],
        halted: _State | None = None,
        still: Mapping[str, Outcome] | None = None,
        *,
        halts: bool = False,
    ) -> None:
        self._state = state
        self._outcomes = outcomes
        self._series = series
        self._halted = halted
        self._still = still or {}
        self._halts = halts
        self._nominal = state.point.circuit.harness.volts

    def of(self, outcome: Outcome) -> tuple[Floats, Floats] | None:
        """Volts of all nodes and shares of all elements with a bad joint where ``outcome`` is open; ``None``: nothing
        follows from one.

        What lies in series with a branch before it shows the same outside, and between the two the volts that are lost
        in the joint.
        """
        import numpy as np

        key = outcome.fault.key
        first = self._series.get(key, key)
        volts, shares = [], []
        for rows in self._solved.rows.get(first, ()):
            known = self._solved.still if rows.halted else self._outcomes
            own, lead = known.get(key), known.get(first)
            if own is None or lead is None or own.volts is None or lead.volts is None:
                continue  # not solved as an open one: told as not weighed
            volts.append(rows.volts + rows.lost[:, None] * (own.volts - lead.volts))
            shares.append(rows.shares)
        return (np.concatenate(volts), np.concatenate(shares)) if volts else None

    def partly(self, key: str) -> bool:
        """Whether a bad joint shows more than ``of`` says: with some ohms it was not solved."""
        return self._series.get(key, key) in self._solved.partly

    @cached_property
    def _solved(self) -> _Solved:
        """For the first branch of each series: from relays and machines as they were, from rest, and where the engine
        has stopped.
        """
        circuit, index = self._state.point.circuit, self._state.point.flow.network.index
        asked: list[tuple[str, float]] = []
        partly: set[str] = set()
        for key in dict.fromkeys(self._series.values()):
            branch, outcome = circuit.by_key[key], self._outcomes.get(key)
            amps = self._state.point.amps(key)
            if branch.branch_type not in BAD or outcome is None or abs(amps) < NO_CURRENT:
                continue  # more ohms where nothing flows change nothing
            if outcome.volts is None:
                partly.add(key)
                continue
            across = float(outcome.volts[index[branch.a]] - outcome.volts[index[branch.b]])
            if abs(across) >= FLOOR * self._nominal:
                asked.extend((key, abs(across / amps) * (1.0 - s) / s) for s in JOINTS)
        memory = self._state.point.memory
        found: dict[str, list[Rows]] = {}
        stalling: dict[str, float] = {}
        for start in dict.fromkeys((memory, Memory(latched=memory.latched))):
            for key, cases in self._refined(self._state, self._outcomes, asked, start).items():
                partly.update([key] if any(case.unsolved for case in cases) else [])
                stalls = [case.ohms for case in cases if case.stalls]
                if stalls:
                    stalling[key] = min(*stalls, stalling.get(key, math.inf))
                if any(case.volts is not None or case.moments for case in cases):
                    found.setdefault(key, []).append(_drawn(cases))
        still = dict(self._still)
        if self._halted is not None:
            others = {key: self._series.get(key, key) for key in self._outcomes if key not in still}
            others = {key: first for key, first in others.items() if first in stalling}  # open, they do not stop it
            still.update(self._halted.solved({key: Damage((circuit.by_key[key],)) for key in others}))
            partly.update(first for key, first in others.items() if still[key].volts is None)
        known = [key for key in stalling if key in still and still[key].volts is not None]
        if self._halts:
            partly.update(stalling.keys() - known)  # what it shows once the engine has stopped is not known
        if self._halted is not None:
            more = [(key, ohms) for key, ohms in asked if key in known and ohms >= stalling[key]]
            more.extend((key, stalling[key]) for key in known)
            for key, cases in self._refined(self._halted, still, more, self._halted.point.memory).items():
                partly.update([key] if any(case.unsolved for case in cases) else [])
                if any(case.volts is not None or case.moments for case in cases):
                    found.setdefault(key, []).append(replace(_drawn(cases), halted=True))
        return _Solved(found, frozenset(partly), still)

    def _refined(
        self, state: _State, opened: Mapping[str, Outcome], asked: Sequence[tuple[str, float]], start: Memory
    ) -> dict[str, list[_Case]]:
        """Some (branch key, ohms) solved, and more between those that are too far apart; by rising ohms. One that finds
        no solution is among them without numbers.
        """
        import numpy as np

        circuit, index = state.point.circuit, state.point.flow.network.index
        found: dict[str, list[_Case]] = {key: [] for key, _ in asked}
        wanted: Sequence[tuple[str, float]] = asked
        for turn in range(1, MOST_ROUNDS + 1):
            if not wanted:
                break
            damages = [Damage(resisting=((circuit.by_key[key], more),)) for key, more in wanted]
            afters = state.propagation.of(damages, start)
            shares = state.elements.after(afters)

            def case(key: str, ohms: float, after: After, share: Floats) -> _Case:
                branch, most = circuit.by_key[key], opened[key].volts
                if most is None or after.volts is None:
                    raise TypeError(f"{key} has no numbers")
                across, whole = (float(v[index[branch.a]] - v[index[branch.b]]) for v in (after.volts, most))
                lost = across / whole if abs(whole) >= FLOOR * self._nominal else 0.0
                now = replace(state.sound, shares=share, stopped=after.stopped)
                stalls = bool(state.running) and not state.goes_on(now)
                return _Case(ohms, after.volts, share, lost, after.memory, stalls)

            for (key, ohms), after, share in zip(wanted, afters, shares, strict=True):
                if after.volts is not None and np.isfinite(share).all():
                    found[key].append(case(key, ohms, after, share))
                    continue
                told = list(zip(after.moments, state.elements.after(after.moments), strict=True))
                moments = tuple(case(key, ohms, each, part) for each, part in told if np.isfinite(part).all())
                lost = not told or len(moments) < len(told)
                stalls = any(moment.stalls for moment in moments)
                found[key].append(_Case(ohms, stalls=stalls, moments=moments, unsolved=lost))
            wanted = [(key, more) for key in found for more in self._wanting(found[key], turn)]
        return found

    def _wanting(self, cases: list[_Case], turn: int) -> Iterator[float]:
        """The ohms between solved cases of one joint, put in order, that are too far apart: something moved between
        them, or a law has its knee there, which a few turns come near enough.
        """
        import numpy as np

        cases.sort(key=lambda case: case.ohms)
        for one, other in pairwise(case for case in cases if case.volts is not None):
            if one.volts is None or other.volts is None:
                continue  # left out above
            far = turn < ROUNDS and float(np.abs(one.volts - other.volts).max()) > APART * self._nominal
            if (far or one.memory != other.memory) and other.ohms > NEAR * one.ohms:
                yield math.sqrt(one.ohms * other.ohms)


@dataclass(frozen=True, slots=True)
class _Case:
    """A bad joint of some ``ohms``, solved; where it keeps something switching the ``moments`` of that instead.
    ``lost``: the share of its open volts that it takes; ``stalls``: no ignition runs any more; ``unsolved``: neither
    its volts nor all of its moments could be solved.
    """

    ohms: float
    volts: Floats | None = None
    shares: Floats | None = None
    lost: float = 0.0
    memory: Memory = field(default_factory=Memory)
    stalls: bool = False
    moments: tuple[_Case, ...] = ()
    unsolved: bool = False


def _drawn(cases: Sequence[_Case]) -> Rows:
    """Solved cases of one joint by rising ohms, with those on the straight lines between two in which the same has
    moved, and between the moments of what keeps switching.
    """
    import numpy as np

    solved = sorted((case for case in cases if case.volts is not None), key=lambda case: case.ohms)
    lines = [(one, other, BETWEEN) for one, other in pairwise(solved) if one.memory == other.memory]
    for case in cases:
        lines.extend((one, other, CHATTER) for one, other in pairwise((*case.moments, *case.moments[:1])))
    rows = [_figures(case) for case in solved]
    for one, other, steps in lines:
        for part in (step / steps for step in range(1, steps)):
            (volts, shares, lost), ends = _figures(one), _figures(other)
            rows.append(
                (volts + part * (ends[0] - volts), shares + part * (ends[1] - shares), lost + part * (ends[2] - lost))
            )
    rows.extend(_figures(moment) for case in cases for moment in case.moments)
    rows.sort(key=lambda row: row[2])
    return Rows(
        np.array([row[0] for row in rows]), np.array([row[1] for row in rows]), np.array([row[2] for row in rows])
    )


def _figures(case: _Case) -> tuple[Floats, Floats, float]:
    """Volts, shares and what is lost of a case. Raises ``TypeError`` for one that keeps switching."""
    if case.volts is None or case.shares is None:
        raise TypeError(f"{case.ohms} ohm has no numbers")
    return case.volts, case.shares, case.lost
