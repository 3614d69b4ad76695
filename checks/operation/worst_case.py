"""Which combination asks most of a device: the one in which the rated currents through it add up to most.

Named states miss the worst one, and twenty controls have millions of combinations. But each consumer depends on few
controls. So the sum is maximised one control after the other: what depends on it is added up, its best position is kept
for every position of the others, and it is gone (elimination, as in dynamic programming). Exact, and quick.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition
from ...lang.quantities.ranking import exceeds, largest
from ...lang.records import dataclass
from ..dc.memory import Memory
from ..logic.terms import DIRECT
from .consumer_groups import ConsumerGroups, Group
from .elimination import Factor, maximum, sliced
from .factors import Factors, Short, only

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from ..logic import SwitchingLogic
    from .operating_point import OperatingPoint


MOST_TRIES = 16
"""Combinations that are tried for one device until one settles (ours); each that does not is stated."""

RUNNING_SHARE = 1.1
"""With the alternator running voltages are higher than the battery's, and so are most currents (ours)."""

Positions = dict[str, str]

Shorts = frozenset[int]
"""Dead shorts, each by the place among the network's sources of the one that is shorted."""


@dataclass(frozen=True, slots=True)
class Part:
    """Some of all combinations: those with some variables ``pinned`` in one position, and none in a ``barred`` one."""

    pinned: Mapping[str, int] = field(default_factory=dict)
    barred: Mapping[str, frozenset[int]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Terms:
    """What has no choice, by its place among its positions; the tables of what is ``drawn`` where contacts close; and
    those that bar what is too ``late`` or a dead short.
    """

    fixed: Mapping[str, int]
    drawn: tuple[Factor, ...]
    barred: tuple[Factor, ...]


_NONE: tuple[Positions, float] = ({}, -math.inf)
"""Where no combination is left."""


class WorstCase:
    """The worst combinations of one circuit. ``amps`` is the rated current of each consumer, by key; ``duties`` the
    share of the time, by key, for which some draw it while the engine turns. At a standstill, they draw it all the
    time.
    """

    def __init__(self, logic: SwitchingLogic, amps: Mapping[str, float], duties: Mapping[str, float]) -> None:
        self.logic = logic
        self.circuit = logic.circuit
        self.amps = {key: size for key, size in amps.items() if size > 0.0}
        self.factors = Factors(logic)
        self.groups = ConsumerGroups(logic, self.amps)
        self._turning = {key: size * math.sqrt(duties.get(key, 1.0)) for key, size in self.amps.items()}
        self._known: dict[
            tuple[frozenset[str], InPosition | None, bool, bool, bool, bool, Shorts], tuple[Positions, float]
        ] = {}
        self._added: dict[tuple[frozenset[str], str, str, bool, bool, Shorts], _Terms] = {}
        self._machines = any(s.kind == "machine" for s in self.circuit.supplies)

    def worst(
        self, named: Iterable[OperatingPoint], settles: Callable[[Positions, Memory], bool] | None = None
    ) -> Iterator[tuple[Positions, Memory]]:
        """Combinations to solve besides the ``named`` points: where controls stand, and what remembers.

        One serves many devices; those whose greatest sum a named point already has need none. Where a combination does
        not settle the next-worst is asked for, ``MOST_TRIES`` times. Where it is a dead short by the logic, too, no
        other combination with that short is asked for from then on: there may be thousands, and it is the same one.
        """
        shorts: Shorts = frozenset()
        known = [
            (
                # Only what the search can weigh, too: a state would else outweigh all by what lives behind a resistor.
                frozenset(
                    k for k in self.amps if self.factors.of(k) is not None and p.connectivity.joined(k, series=True)
                ),
                p.momentary,
                bool(p.flow.situation.machines),
                p.flow.situation.turning,
            )
            for p in named
            if not p.shorted and p.engine in ("off", "running")  # cranked or idling, volts and most currents are less
        ]
        for counted, group in itertools.product(self._doubts_both_ways, self.groups.largest_first):
            usable = {key for key in group.consumers if self.factors.of(key) is not None}
            ceiling = max(
                self._sum(usable, charging=on, turning=on) for on in (False, True) if not self._off(group, on)
            )
            for held in (False, True):
                reached = max((self._score(group, k) for k in known if held or not k[1]), default=0.0)
                if reached >= ceiling - 1e-9:
                    continue
                ranked = self._ranked(group, usable, held=held, counted=counted, shorts=shorts)
                for _ in range(MOST_TRIES):
                    positions, score = next(ranked, _NONE)
                    if score <= reached + 1e-9:
                        break
                    controls, memory = self._split(positions)
                    if settles is None or settles(controls, memory):
                        if not counted:  # what works through loads may not, by numbers: it stands for nothing else
                            joined = frozenset(key for key in self.amps if self.factors.joined_at(key, positions))
                            running = positions.get("engine") == "running"
                            known.append((joined, held, running and self._machines, running))
                        yield controls, memory
                        break
                    if not (more := self._shorts_in(positions)) <= shorts:
                        shorts |= more
                        ranked = self._ranked(group, usable, held=held, counted=counted, shorts=shorts)

    def _shorts_in(self, positions: Positions) -> Shorts:
        """The dead shorts in a combination, whatever else may be so that it leaves open."""
        places = {name: self.factors.at(name, position) for name, position in positions.items()}
        return frozenset(at for at, short in self._shorts.items() if sliced(short.shorted, places).values.any())

    @cached_property
    def _shorts(self) -> dict[int, Short]:
        """Where each source is shorted, as far as the logic can go through it."""
        found = ((at, self.factors.short(o)) for at, o in enumerate(self.logic.network.origins_of(DIRECT)))
        return {at: short for at, short in found if short is not None}

    @staticmethod
    def _off(group: Group, running: bool) -> bool:
        return (group.off and running) or (group.running and not running)

    def _score(self, group: Group, known: tuple[frozenset[str], bool, bool, bool]) -> float:
        joined, _, charging, turning = known
        if self._off(group, charging):
            return 0.0
        return self._sum(group.consumers & joined, charging=charging, turning=turning)

    def _sum(self, consumers: Iterable[str], *, charging: bool, turning: bool) -> float:
        """What some consumers draw together, in A; added up in one order, so that it is the same everywhere."""
        return sum(self._draws(key, charging=charging, turning=turning) for key in sorted(consumers))

    def _draws(self, key: str, *, charging: bool, turning: bool) -> float:
        return (self._turning if turning else self.amps)[key] * (RUNNING_SHARE if charging else 1.0)

    def _ranked(
        self, group: Group, usable: set[str], *, held: bool, counted: bool, shorts: Shorts
    ) -> Iterator[tuple[Positions, float]]:
        """All combinations, the worst first (Lawler 1972: after each, the rest is parted by where it first differs).

        A part of the rest is worth no more than the whole of it was: it is searched when that is its turn, and seldom
        comes to it.
        """
        waiting: list[tuple[float, int, Part, Positions | None]] = [(-math.inf, 0, Part(), None)]
        count = 1
        while waiting:
            bound, number, part, positions = heapq.heappop(waiting)
            if positions is None:
                positions, score = self._best(group, usable, part, held=held, counted=counted, shorts=shorts)
                if -score > bound and math.isfinite(score):
                    heapq.heappush(waiting, (-score, number, part, positions))
                    continue
                if not math.isfinite(score):
                    continue
                bound = -score
            yield positions, -bound
            # A signal that is fixed while the engine is off is not while it runs.
            settled = (
                self.factors.fixed(sorted(positions), "running", held=held, counted=counted).keys() | part.pinned.keys()
            )
            pinned = dict(part.pinned)
            for name, position in positions.items():
                size, place = len(self.logic.network.variable(name).positions), self.factors.at(name, position)
                if name == "engine" or size == 1 or name in settled:
                    continue
                barred = {**part.barred, name: part.barred.get(name, frozenset()) | {place}}
                heapq.heappush(waiting, (bound, count, Part(dict(pinned), barred), None))
                count += 1
                pinned[name] = place

    def _best(
        self, group: Group, usable: set[str], part: Part, *, held: bool, counted: bool, shorts: Shorts
    ) -> tuple[Positions, float]:
        """The worst combination of a part of them, and the A that it adds up to.

        Many devices have the same consumers behind them: the worst of all is worked out once for these.
        """
        if part.pinned or part.barred:
            return self._search(group, usable, part, held=held, counted=counted, shorts=shorts)
        guard = self.circuit.by_key[group.via].guard if group.via else None
        contact = guard if isinstance(guard, InPosition) else None
        key = (frozenset(usable), contact, group.off, group.running, held, counted, shorts)
        if key not in self._known:
            self._known[key] = self._search(group, usable, part, held=held, counted=counted, shorts=shorts)
        return self._known[key]

    def _search(
        self, group: Group, usable: set[str], part: Part, *, held: bool, counted: bool, shorts: Shorts
    ) -> tuple[Positions, float]:
        found: list[tuple[Positions, float]] = []
        for engine in ("running", "off") if self._machines else ("off",):
            turning = engine == "running"
            if self._off(group, turning):
                continue
            if found and not exceeds(self._sum(usable, charging=turning, turning=turning), found[0][1]):
                continue  # with all that there is to draw it would be no worse
            terms = self._terms(group, usable, engine, held=held, counted=counted, shorts=shorts)
            # Of the engine's two ways one may settle what the other leaves open.
            if any(terms.fixed.get(name, place) != place for name, place in part.pinned.items()):
                continue
            if any(terms.fixed.get(name) in places for name, places in part.barred.items()):
                continue
            fixed = {**terms.fixed, **part.pinned}
            factors = [sliced(factor, part.pinned) for factor in terms.drawn]
            factors.extend(self.factors.but(name, places) for name, places in part.barred.items() if name not in fixed)
            factors.extend(sliced(factor, part.pinned) for factor in terms.barred)
            self.logic.network.tally.went_through(len(factors))
            positions, total = maximum(factors)
            chosen = {name: self.logic.network.variable(name).positions[at] for name, at in positions.items()}
            chosen |= {name: self.logic.network.variable(name).positions[at] for name, at in fixed.items()}
            chosen["engine"] = engine
            found.append((chosen, total))
        return largest(found, key=lambda pair: pair[1], default=_NONE)

    def _terms(
        self, group: Group, usable: set[str], engine: str, *, held: bool, counted: bool, shorts: Shorts
    ) -> _Terms:
        """What is added up for a group while the engine stands or turns, in every part of all combinations: kept for
        the groups with the same consumers behind the same contact.
        """
        key = (frozenset(usable), group.via, engine, held, counted, shorts)
        if key not in self._added:
            turning = engine == "running"
            joined = [(name, factor) for name in sorted(usable) if (factor := self.factors.of(name)) is not None]
            closed = self.factors.closed(group.via) if group.via else None
            names = {name for _, factor in joined for name in factor.names}
            if closed is not None:
                names.update(closed.names)
            barred = [only(self._shorts[at].sound) for at in sorted(shorts)]
            for factor in barred:
                names.update(factor.names)
            for factor in self.factors.late(names, held=held):
                barred.append(factor)
                names.update(factor.names)
            barred.extend(self.factors.exclusive(names))
            fixed = self.factors.fixed(sorted(names), engine, held=held, counted=counted)
            drawn = []
            for name, factor in joined:  # sliced first: what is left of it is small
                left = sliced(factor, fixed)
                drawn.append(Factor(left.names, left.values * self._draws(name, charging=turning, turning=turning)))
            if closed is not None:
                drawn.append(sliced(closed, fixed))
            self._added[key] = _Terms(fixed, tuple(drawn), tuple(sliced(factor, fixed) for factor in barred))
        return self._added[key]

    @cached_property
    def _doubts_both_ways(self) -> tuple[bool, ...]:
        return (False, True) if self.logic.network.doubts else (False,)

    def _split(self, positions: Mapping[str, str]) -> tuple[Positions, Memory]:
        """Controls, and what remembers, out of one combination of both."""
        conditions = self.logic.network.conditions
        controls = {name: at for name, at in positions.items() if name in self.circuit.controls}
        held: dict[str, set[str]] = {"pulled": set(), "on": set(), "set": set(), "excited": set()}
        for name, at in positions.items():
            condition = conditions.get(name)
            if condition is not None and at == "yes":
                thing = condition.thing
                held[condition.kind].add(thing)
                if condition.kind == "set":
                    controls[thing] = "set"
        pulled, on, set_, excited = (frozenset(held[kind]) for kind in ("pulled", "on", "set", "excited"))
        lasting = frozenset(
            conditions[name].thing
            for name, at in positions.items()
            if at == "yes"
            and (asked := self.factors.asked_for(name)) is not None
            and not self.factors.so(asked, positions)
        )
        return controls, Memory(pulled, on, set_, excited, lasting)
