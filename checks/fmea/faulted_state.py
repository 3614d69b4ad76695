"""One state before and after faults: what differs then, and how severe that is."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from itertools import islice
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import Load, Source, Unit
from ..ac.harmonics import stack_of, stacked, swing_rows
from ..dc.devices import UnsolvableError
from ..operation.coils_of_units import coils_of_units
from ..operation.most_charged import most_charged
from ..protection.protection import Protection
from .earlier import Earlier
from .effects import LIVE, NOT_CHARGED, WORDS, Category, Effect, Elements, category, ignitions
from .failure_modes import SHORT, Damage, Fault, opens, series_groups
from .fields import unexcited, weak_fields
from .halting import Halting
from .lost_batteries import LostBatteries
from .next_start import uncharged, with_next_start
from .outcome import Outcome
from .overheated_wires import Carried
from .overvolted import overvolted
from .plain import struck
from .propagation import Propagation
from .shorts import Short, Shorts
from .stators import more_in_leads, weaker

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch, Supply
    from ..dc.memory import Memory
    from ..operation.operation import OperatingPoint, Operation
    from .after import After

    Floats = NDArray[np.float64]


CHARGED = 0.02
"""A into a battery, from which it counts as charged (ours)."""

UNREGULATED = 1.2
"""Of the regulated volts, from which the voltage is a bound of the model and no result (ours)."""

NEAR = 0.1
"""Of the way from the regulated voltage to the most that a battery may have, from which its mean is worked out (ours):
a mean is never so far above what it has while coils draw.
"""


def joining(point: OperatingPoint) -> list[Branch]:
    """What may fail open and joins its ends. Where it carries nothing and is not watched, its opening does nothing."""
    return [branch for branch in opens(point.circuit) if point.connectivity.conducts(branch)]


class FaultedState:
    """One state before and after faults."""

    def __init__(
        self, operation: Operation, point: OperatingPoint, usual: Callable[[], Floats], carried: Callable[[], Carried]
    ) -> None:
        """``usual`` gives the directions of the currents through the elements of the sound machine, ``carried`` what
        its wires may carry.
        """
        self.point = point
        self.propagation = Propagation(operation, point)
        self._lost_batteries = LostBatteries(self.propagation)
        self._usual = usual
        self._carried = carried

    @cached_property
    def elements(self) -> Elements:
        return Elements(self.point)

    @cached_property
    def _shares(self) -> Floats:
        found: Floats = self.elements.at(self.point)[0]
        return found

    @cached_property
    def sound(self) -> Outcome:
        """The state without any fault."""
        flow = self.point.flow
        stack = stack_of(flow)
        return Outcome(Fault(""), self.point.state, (), flow.volts, self._shares, self._stopped, stack=stack)

    @cached_property
    def live(self) -> frozenset[str]:
        """The elements that are live in the sound state, by key."""
        words = self.elements.words(self._shares[None, :])[0]
        return frozenset(b.key for b, word in zip(self.elements.branches, words, strict=True) if word == LIVE)

    @cached_property
    def running(self) -> frozenset[str]:
        """The ignition parts that run in the sound state."""
        return self._running(self._shares, self._stopped)

    def _running(self, shares: Floats, stopped: frozenset[str]) -> frozenset[str]:
        operation = self.propagation.operation
        alternating = operation.on_windings.untold(self.point)
        return ignitions(self.point, self.elements, shares, stopped, alternating, coils_of_units(operation))

    @cached_property
    def busy(self) -> tuple[Branch, ...]:
        """What is opened here: what may fail open, and carries something or is watched."""
        return tuple(branch for branch in joining(self.point) if not self.propagation.idle(branch))

    # --- faults ------------------------------------------------------------------------------------------------------
    @cached_property
    def opens(self) -> dict[str, Outcome]:
        """Each opening, its effects alone, an engine that it stops having stopped; of what lies in series the first."""
        return self._opened(series_groups(self.point.circuit), report=True)

    @cached_property
    def exact(self) -> dict[str, Outcome]:
        """Each opening for itself, with an engine that turns on."""
        return self._opened({}, report=False)

    def _opened(self, chain: Mapping[str, str], *, report: bool) -> dict[str, Outcome]:
        candidates, busy = joining(self.point), self.busy
        first: dict[str, Branch] = {}
        for branch in busy:
            first.setdefault(chain.get(branch.key, branch.key), branch)
        damages = {name: Damage((branch,)) for name, branch in first.items()}
        found = self.solved(damages, whole=not report, halting=report)
        told = {b.key: replace(found[chain.get(b.key, b.key)], fault=Fault(b.key)) for b in busy}
        every: dict[str, Outcome] = {
            b.key: told.get(b.key) or replace(self.sound, fault=Fault(b.key)) for b in candidates
        }
        if not report:
            return every
        starting = (b for b in candidates if b.key in told or self.earlier.carries(b))
        lost = uncharged(self, {chain.get(b.key, b.key): Damage((b,)) for b in starting})
        return {key: with_next_start(outcome, lost.get(chain.get(key, key), ())) for key, outcome in every.items()}

    def shorts(self, protection: Protection, wanted: Collection[str] | None = None) -> dict[str, tuple[Short, Outcome]]:
        """Each wire that chafes through to ground, or those of them that are ``wanted``, by key, with its effects
        alone, an engine that it stops having stopped; what follows one that burns is not worked out.
        """
        every = list(Shorts(self.point, protection).all())
        shorts = [short for short in every if wanted is None or short.key in wanted]
        asked = {short.like for short in shorts}
        found = self.solved(
            {s.like: s.damage for s in reversed(every) if s.damage is not None and not s.burns and s.like in asked},
            whole=False,
            halting=True,
        )
        lost = uncharged(self, {s.like: s.damage for s in shorts if s.damage is not None and not s.burns})
        return {
            short.key: (
                short,
                replace(
                    with_next_start(found.get(short.like, self.sound), lost.get(short.like, ()))
                    if short.damage and not short.burns
                    else self.sound,
                    fault=Fault(short.key, SHORT),
                ),
            )
            for short in shorts
        }

    def solved(
        self, damages: Mapping[str, Damage], *, whole: bool = True, halting: bool = False, start: Memory | None = None
    ) -> dict[str, Outcome]:
        """What follows some damages, by any name; unless ``whole``, without the volts and shares of all. ``halting``:
        an engine that one stops has stopped; else it turns on. ``start``: how what remembers was before them; as it is
        in this state if left out.
        """
        names = list(damages)
        outcomes: dict[str, Outcome | None] = dict.fromkeys(names)
        coming = self.propagation.each(list(damages.values()), start)
        while turn := list(islice(coming, self.propagation.turn)):
            told = self._told([names[number] for number, _ in turn], [after for _, after in turn])
            stopping: dict[str, Outcome] = {}
            for (number, _), outcome in zip(turn, told, strict=True):
                if halting and self.halting.stops(outcome):
                    stopping[names[number]] = outcome
                outcomes[names[number]] = outcome if whole else replace(outcome, volts=None, shares=None, stack=None)
            outcomes.update(self.halting.after(damages, stopping, whole=whole))
        return {name: outcome for name, outcome in outcomes.items() if outcome is not None}

    @cached_property
    def halting(self) -> Halting[FaultedState]:
        """What stops the engine, and what that shows."""
        operation, usual, carried = self.propagation.operation, self._usual, self._carried
        return Halting(self, lambda point: FaultedState(operation, point, usual, carried))

    @cached_property
    def earlier(self) -> Earlier:
        """What faults do that were there before this state was reached from rest."""
        return Earlier(self.propagation)

    def changes(self, shares: Floats) -> Iterator[Effect]:
        """What stands otherwise with some ``shares`` than without any fault."""
        before, now = self.elements.words(self._shares[None, :])[0], self.elements.words(shares[None, :])[0]
        return _stood(self.point, self.elements.branches, before, now, shares)

    def _told(self, names: Sequence[str], found: Sequence[After]) -> Iterator[Outcome]:
        """What some damages do, each by its name and what follows it."""
        import numpy as np

        shares = self.elements.after(found)
        words, before = self.elements.words(shares), self.elements.words(self._shares[None, :])[0]
        volts = np.array([self.point.flow.volts if after.volts is None else after.volts for after in found])
        backwards = self.elements.backwards(self._usual(), volts, shares)
        carried = self._carried().amps(volts, found)
        hot = self._carried().hot(self.point, carried)
        for i, (name, after) in enumerate(zip(names, found, strict=True)):
            fault = Fault(name)
            if after.volts is None:
                restless = tuple(
                    Effect(part, "at rest", "restless", 0.0, Category.MARGINAL) for part in sorted(after.restless)
                )
                yield Outcome(fault, self.point.state, restless, problem=after.problem)
                continue
            effects = list(_stood(self.point, self.elements.branches, before, words[i], shares[i]))
            effects.extend(self._reversed(backwards[i], shares[i]))
            effects.extend(overvolted(self.point, self.elements.branches, self._shares, shares[i]))
            effects.extend(self._stops(after, shares[i]))
            effects.extend(_sparks(self.point, after))
            charge = list(self._batteries(after))
            effects.extend(charge)
            if self._engine_runs:
                effects.extend(self._lost_batteries.effects(after))
                effects.extend(() if charge else weak_fields(self.point, after))
                effects.extend((*weaker(self.point, after), *more_in_leads(self.point, after)))
            if not self.running or self._running(shares[i], after.stopped):  # else it does not start anyway
                effects.extend(unexcited(self.point, after))
            effects.extend(self._carried().overheated(self.point, after, carried[i], hot[i]))
            effects.sort(key=lambda effect: (effect.category, effect.thing))
            stack = stacked(after.volts, after.swings, swing_rows(self.point.flow.network))
            yield Outcome(fault, self.point.state, tuple(effects), after.volts, shares[i], after.stopped, stack=stack)

    # --- effects -----------------------------------------------------------------------------------------------------
    def _reversed(self, backwards: NDArray[np.bool_], shares: Floats) -> Iterator[Effect]:
        """The elements that are fed backwards and were not: current comes to them through their return."""
        for i in backwards.nonzero()[0]:
            branch = self.elements.branches[i]
            if branch.key in self.propagation.operation.alternating:
                continue  # current goes through it both ways as it is
            turns = branch.branch_type in (BranchType.MOTOR, BranchType.PUMP)  # and turns the other way round
            severe = Category.MARGINAL if turns else Category.MINOR
            yield Effect(branch.key, "as wired", "backwards", float(shares[i]), severe)

    @cached_property
    def directions(self) -> Floats:
        """Which way current goes through each element of the sound state."""
        found: Floats = self.elements.directions(self.point.flow.volts[None, :], self._shares[None, :])[0]
        return found

    def _stops(self, after: After, shares: Floats) -> Iterator[Effect]:
        """The ignition parts whose kill wire differs, and that stop or run on by it."""
        if self.point.engine == "off" or after.stopped == self._stopped:
            return
        running = self._running(shares, after.stopped)
        for name in sorted(after.stopped ^ self._stopped):
            if (name in running) is not (name in self.running):
                lives = name in running
                turning = self.point.engine in BY_ITSELF
                severe = Category.MARGINAL if not turning else Category.CATASTROPHIC if lives else Category.CRITICAL
                yield Effect(name, *(("dead", "live", 1.0) if lives else ("live", "dead", 0.0)), severe)

    @cached_property
    def _stopped(self) -> frozenset[str]:
        return self.propagation.ignition.stopped(self.point.flow)

    def _batteries(self, after: After) -> Iterator[Effect]:
        """What a fault does to the charge of the batteries while the engine runs."""
        if not self._engine_runs or after.volts is None:
            return
        point, network = self.point, self.point.flow.network
        harness = point.circuit.harness
        for supply, curve in network.batteries:
            volts, part = after.volts, harness.parts.get(supply.name)
            across = float(volts[network.index[supply.plus[0]]] - volts[network.index[supply.minus]])
            if -point.amps(supply.key) > CHARGED and curve.amps(across) < CHARGED:
                yield Effect(supply.key, "charged", NOT_CHARGED, across, Category.MARGINAL)
            elif isinstance(part, Source):
                most, _ = most_charged(part, harness.volts)
                mean = self._mean_across(after, supply, across, most)
                if mean > most >= point.mean_across(supply.key):
                    unregulated = mean > UNREGULATED * network.regulated[""]
                    now = "unregulated" if unregulated else "overcharged"
                    yield Effect(supply.key, "charged", now, mean, Category.CRITICAL)

    def _mean_across(self, after: After, battery: Supply, closed: float, most: float) -> float:
        """V of a battery after a fault, averaged over the time that the circuits of coils are closed and open. Where it
        comes nowhere near the ``most`` that it may have, or is a bound of the model: V while they are ``closed``.
        """
        network = self.point.flow.network
        held = network.regulated[""]
        if not network.ripple or not held + NEAR * (most - held) < closed <= UNREGULATED * held:
            return closed
        try:
            return struck(self.propagation.operation, self.point, after.damage).mean_across(battery.key)
        except UnsolvableError:
            return closed

    @cached_property
    def _engine_runs(self) -> bool:
        """Whether the engine turns by itself, and goes on to: in a state that stops it nothing is charged for long."""
        ignition = any(isinstance(p, Load | Unit) and p.is_ignition for p in self.point.circuit.harness.parts.values())
        return self.point.engine in BY_ITSELF and (not ignition or bool(self.running))

    def goes_on(self, outcome: Outcome) -> tuple[str, ...]:
        """The ignition parts that run after something."""
        if outcome.shares is None:
            return ()
        return tuple(sorted(self._running(outcome.shares, outcome.stopped)))


def _stood(
    point: OperatingPoint, branches: Sequence[Branch], before: NDArray[np.intp], now: NDArray[np.intp], shares: Floats
) -> Iterator[Effect]:
    """The elements that differ from before."""
    for i in (before != now).nonzero()[0]:
        branch = branches[i]
        severe = category(point, branch, int(before[i]), int(now[i]))
        yield Effect(branch.key, WORDS[before[i]], WORDS[now[i]], float(shares[i]), severe)


def _sparks(point: OperatingPoint, after: After) -> Iterator[Effect]:
    """The ignition coils whose current nothing interrupts any more."""
    for key in sorted(after.unbroken):
        severe = Category.CRITICAL if point.engine in BY_ITSELF else Category.MARGINAL
        yield Effect(key, "interrupted", "unbroken", 1.0, severe)
