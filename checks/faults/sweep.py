"""Every single fault of a harness in its named states, worst first."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import Law
from ...lang.model import BY_ITSELF
from ..dc.elements import UnsolvableError
from .aftermath import Aftermath
from .effects import OVERCHARGE, WORDS, Category, Effect, Elements, category, ignitions
from .modes import SHORT, Damage, Fault, chains, opens
from .shorts import Short, Shorts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit import Branch
    from ..dc.operating import Operation, Point
    from ..protection import Protection
    from .aftermath import After

    Floats = NDArray[np.float64]

Look = tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
"""What tells failure modes apart: by state, what goes how."""

CHARGED = 0.02
"""A into a battery, from which it counts as charged (ours)."""


@dataclass(frozen=True)
class Outcome:
    """One fault in one state. ``volts`` are those of all nodes, in the order of the network; ``stopped`` the ignition
    parts whose stop lead is joined; ``problem`` where it could not be solved.
    """

    fault: Fault
    state: str
    effects: tuple[Effect, ...] = ()
    volts: Floats | None = field(default=None, repr=False, compare=False)
    shares: Floats | None = field(default=None, repr=False, compare=False)
    stopped: frozenset[str] = frozenset()
    problem: str = ""


@dataclass(frozen=True)
class Report:
    """A failure mode with its end effects: ``faults`` that nobody can tell apart by them, in the order of the text.

    ``effects`` by state, states alike together: (names of states, effects). ``category`` is that of the gravest.
    ``blows``: the devices that a short to ground opens; ``burns``: nothing opens at all.
    """

    faults: tuple[Fault, ...]
    effects: tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]
    category: Category
    blows: tuple[str, ...] = ()
    burns: bool = False


class Sweep:
    """The faults of one harness. What a state costs is paid when it is first asked for."""

    def __init__(self, operation: Operation) -> None:
        self.operation = operation
        self.circuit = operation.circuit
        self._states: dict[str, _State] = {}

    def state(self, name: str) -> _State:
        """A named state, or one of ``halted``, ready for faults. Raises ``UnsolvableError``."""
        if name not in self._states:
            point = self.operation.state(name) if name in self.circuit.harness.states else self.halted[name]
            self._states[name] = self._state(point)
        return self._states[name]

    def _state(self, point: Point) -> _State:
        return _State(self.operation, point, lambda: self._usual)

    @cached_property
    def _usual(self) -> Floats:
        """Which way current goes through each element in the first named state in which it gets some; in none of them,
        from the feed to the end that nothing parts from ground, 0 where there is no such end.
        """
        import numpy as np

        usual = np.zeros(0)
        for name in self.operation.points:
            here = self.state(name).directions
            usual = here if not usual.size else np.where(usual == 0.0, here, usual)
        nets = self.circuit.nets
        ground = nets.of.get(self.circuit.ground)
        onward = 1.0 if self.circuit.return_sign == "-" else -1.0
        for i, branch in enumerate(next(iter(self._states.values())).elements.branches if usual.size else ()):
            if usual[i] == 0.0:
                usual[i] = onward * ((nets.of[branch.b] == ground) - (nets.of[branch.a] == ground))
        return usual

    def outcomes(self, state: str, *, exact: bool = False) -> dict[str, Outcome]:
        """What each opening does in a state, by branch key. Raises ``UnsolvableError`` for the sound state.

        Without ``exact``, what lies in series is solved once: the effects are the same, the volts inside the chain are
        those of its first fault.
        """
        return self.state(state).exact if exact else self.state(state).opens

    def shorts(self, state: str, protection: Protection) -> dict[str, tuple[Short, Outcome]]:
        """What each wire does in a state that chafes through to ground, by branch key; without those that burn."""
        return self.state(state).shorts(protection)

    def element(self, state: str, key: str) -> Outcome:
        """What happens when a load itself fails open in a state."""
        return self.state(state).solved({key: Damage((self.circuit.by_key[key],))})[key]

    # --- stopping the engine -----------------------------------------------------------------------------------------
    @cached_property
    def halted(self) -> dict[str, Point]:
        """States that no one names and everyone needs: the engine still turning, one control after the other moved to
        where it stops the ignition. A fault that keeps it alive shows there alone.
        """
        found: dict[str, Point] = {}
        for name, point in self.operation.points.items():
            sound = self.state(name)
            if point.engine not in BY_ITSELF or not sound.running:
                continue
            for control in self.circuit.controls.values():
                if control.sensed or control.name == "engine":
                    continue
                for position in control.positions:
                    label = f"{name} with {control.name} {position}"
                    if position == point.positions[control.name]:
                        continue
                    try:
                        moved = self.operation.at(
                            {**point.positions, control.name: position},
                            point.memory,
                            state=label,
                            pinned=point.pinned,
                        )
                    except UnsolvableError:
                        continue
                    if not moved.shorted and not self._state(moved).running:
                        found[label] = moved
                        break
            break
        return found

    def all_states(self, names: Iterable[str]) -> tuple[str, ...]:
        """Some named states, and those in which the engine is stopped from one of them."""
        named = tuple(names)
        return (*named, *(label for label in self.halted if label.partition(" with ")[0] in named))

    # --- the report --------------------------------------------------------------------------------------------------
    def reports(self, states: Iterable[str], protection: Protection | None = None) -> tuple[Report, ...]:
        """Everything that a single fault does in these states, worst first; alike ones together.

        Where the engine runs in one of them, it is stopped as well (``halted``). With ``protection``, shorts of wires
        to ground too: what opens then, and what goes with it.
        """
        names = self.all_states(states)
        by_key: dict[str, list[tuple[str, tuple[Effect, ...]]]] = {}
        for name in names:
            for key, outcome in self.outcomes(name).items():
                if outcome.effects:
                    by_key.setdefault(key, []).append((name, outcome.effects))
        groups: dict[Look, list[str]] = {}
        for branch in opens(self.circuit):
            if branch.key in by_key:
                groups.setdefault(_look(by_key[branch.key]), []).append(branch.key)
        found = [
            Report(tuple(Fault(key) for key in keys), _by_state(by_key[keys[0]]), _worst(by_key[keys[0]]))
            for keys in groups.values()
        ]
        if protection is not None:
            found.extend(self._shorts(names, protection))
        order = {branch.key: i for i, branch in enumerate(self.circuit.branches)}
        return tuple(sorted(found, key=lambda r: (r.category, not r.burns, -_count(r), order[r.faults[0].key])))

    def _shorts(self, states: Sequence[str], protection: Protection) -> Iterator[Report]:
        """Wires chafed through to ground: the devices before them open, or nothing does, or something comes to life."""
        by_key: dict[str, list[tuple[str, tuple[Effect, ...]]]] = {}
        burning: list[Branch] = []
        for name in states:
            for key, (short, outcome) in self.shorts(name, protection).items():
                if short.burns:
                    burning.append(short.wire)
                elif outcome.effects:
                    by_key.setdefault(key, []).append((name, outcome.effects))
        burnt = {branch.key for branch in burning}
        if burnt:
            faults = tuple(Fault(b.key, SHORT) for b in self.circuit.branches if b.key in burnt)
            yield Report(faults, (), Category.CATASTROPHIC, (), burns=True)
        groups: dict[tuple[tuple[str, ...], Look], list[Branch]] = {}
        for branch in self.circuit.branches:
            exposure = protection.exposures.get(branch.piece.name) if branch.piece is not None else None
            devices = exposure.devices if exposure is not None and protection.side(branch) != "return" else ()
            told = by_key.get(branch.key, [])
            if branch.key not in burnt and (devices or told):
                groups.setdefault((devices, _look(told)), []).append(branch)
        for (devices, _), branches in groups.items():
            told = by_key.get(branches[0].key, [])
            faults = tuple(Fault(b.key, SHORT) for b in branches)
            yield Report(faults, _by_state(told), _worst(told), devices)


class _State:
    """One state before and after faults."""

    def __init__(self, operation: Operation, point: Point, usual: Callable[[], Floats]) -> None:
        """``usual`` gives the directions of the currents through the elements of the sound machine."""
        self.point = point
        self.aftermath = Aftermath(operation, point)
        self._usual = usual

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
        return Outcome(Fault(""), self.point.state, (), self.point.flow.volts, self._shares, self._stopped)

    @cached_property
    def running(self) -> frozenset[str]:
        """The ignition parts that run in the sound state."""
        return self._running(self._shares, self._stopped)

    def _running(self, shares: Floats, stopped: frozenset[str]) -> frozenset[str]:
        alternating = self.aftermath.operation.alternating
        return frozenset(ignitions(self.point, self.elements, shares, stopped, alternating))

    # --- faults ------------------------------------------------------------------------------------------------------
    @cached_property
    def opens(self) -> dict[str, Outcome]:
        """Each opening; of what lies in series the first."""
        return self._opened(self._chains)

    @cached_property
    def exact(self) -> dict[str, Outcome]:
        """Each opening for itself."""
        return self._opened({})

    @cached_property
    def _chains(self) -> dict[str, str]:
        return chains(self.point.circuit)

    def _opened(self, chain: Mapping[str, str]) -> dict[str, Outcome]:
        circuit = self.point.circuit
        candidates = [b for b in opens(circuit) if self.point.joins.conducts(b)]
        busy = [b for b in candidates if not self.aftermath.idle(b)]
        first: dict[str, Branch] = {}
        for branch in busy:
            first.setdefault(chain.get(branch.key, branch.key), branch)
        found = self.solved({name: Damage((branch,)) for name, branch in first.items()})
        told = {b.key: replace(found[chain.get(b.key, b.key)], fault=Fault(b.key)) for b in busy}
        return {b.key: told.get(b.key) or replace(self.sound, fault=Fault(b.key)) for b in candidates}

    def shorts(self, protection: Protection) -> dict[str, tuple[Short, Outcome]]:
        """Each wire that chafes through to ground."""
        shorts = list(Shorts(self.point, protection).all())
        damages = {short.like: short.damage for short in reversed(shorts) if short.damage is not None}
        found = self.solved(damages)
        return {
            short.wire.key: (
                short,
                replace(
                    found.get(short.like, self.sound) if short.damage else self.sound,
                    fault=Fault(short.wire.key, SHORT),
                ),
            )
            for short in shorts
        }

    def solved(self, damages: Mapping[str, Damage]) -> dict[str, Outcome]:
        """What follows some damages, by any name."""
        found = self.aftermath.of(list(damages.values()))
        shares = self.elements.after(found)
        words, before = self.elements.words(shares), self.elements.words(self._shares[None, :])[0]
        outcomes = {}
        for i, (name, after) in enumerate(zip(damages, found, strict=True)):
            fault = Fault(name)
            if after.volts is None:
                restless = tuple(
                    Effect(part, "at rest", "restless", 0.0, Category.MARGINAL) for part in sorted(after.restless)
                )
                outcomes[name] = Outcome(fault, self.point.state, restless, problem=after.problem)
                continue
            effects = list(self._stood(before, words[i], shares[i]))
            effects.extend(self._reversed(after.volts, shares[i]))
            effects.extend(self._stops(after, shares[i]))
            effects.extend(self._sparks(after))
            effects.extend(self._batteries(after.volts))
            effects.sort(key=lambda effect: (effect.category, effect.thing))
            outcomes[name] = Outcome(fault, self.point.state, tuple(effects), after.volts, shares[i], after.stopped)
        return outcomes

    # --- effects -----------------------------------------------------------------------------------------------------
    def _stood(self, before: NDArray[np.intp], now: NDArray[np.intp], shares: Floats) -> Iterator[Effect]:
        """The elements that stand otherwise than before."""
        for i in (before != now).nonzero()[0]:
            branch = self.elements.branches[i]
            grave = category(self.point, branch, int(before[i]), int(now[i]))
            yield Effect(branch.key, WORDS[before[i]], WORDS[now[i]], float(shares[i]), grave)

    def _reversed(self, volts: Floats, shares: Floats) -> Iterator[Effect]:
        """The elements that are fed backwards and were not: current comes to them through their return."""
        now = self.elements.directions(volts[None, :], shares[None, :])[0]
        for i in (now * self._usual() < 0.0).nonzero()[0]:
            branch = self.elements.branches[i]
            turns = branch.law in (Law.MOTOR, Law.PUMP)  # and turns the other way round
            grave = Category.MARGINAL if turns else Category.MINOR
            yield Effect(branch.key, "as wired", "backwards", float(shares[i]), grave)

    @cached_property
    def directions(self) -> Floats:
        """Which way current goes through each element of the sound state."""
        found: Floats = self.elements.directions(self.point.flow.volts[None, :], self._shares[None, :])[0]
        return found

    def _sparks(self, after: After) -> Iterator[Effect]:
        """The ignition coils whose current nothing interrupts any more."""
        for key in sorted(after.unbroken):
            grave = Category.CRITICAL if self.point.engine in BY_ITSELF else Category.MARGINAL
            yield Effect(key, "interrupted", "unbroken", 1.0, grave)

    def _stops(self, after: After, shares: Floats) -> Iterator[Effect]:
        """The ignition parts whose stop lead stands otherwise, and that stop or run on by it."""
        if self.point.engine == "off" or after.stopped == self._stopped:
            return
        running = self._running(shares, after.stopped)
        for name in sorted(after.stopped ^ self._stopped):
            if (name in running) is not (name in self.running):
                lives = name in running
                turning = self.point.engine in BY_ITSELF
                grave = Category.MARGINAL if not turning else Category.CATASTROPHIC if lives else Category.CRITICAL
                yield Effect(name, *(("dead", "live", 1.0) if lives else ("live", "dead", 0.0)), grave)

    @cached_property
    def _stopped(self) -> frozenset[str]:
        return self.aftermath.stopped(self.point.flow)

    def _batteries(self, volts: Floats) -> Iterator[Effect]:
        """What a fault does to the charge of the batteries while the engine turns."""
        if self.point.engine not in BY_ITSELF:
            return
        point, network = self.point, self.point.flow.network
        for supply, curve in network.batteries:
            across = float(volts[network.index[supply.plus[0]]] - volts[network.index[supply.minus]])
            if -point.amps(supply.name) > CHARGED and curve.amps(across) < CHARGED:
                yield Effect(supply.name, "charged", "not charged", across, Category.MARGINAL)
            elif across > OVERCHARGE * network.regulated[""] > point.across(supply.name):
                yield Effect(supply.name, "charged", "overcharged", across, Category.CRITICAL)


def _look(told: Sequence[tuple[str, tuple[Effect, ...]]]) -> Look:
    """What tells failure modes apart: what goes how, state by state."""
    return tuple((state, tuple((e.thing, e.now) for e in effects)) for state, effects in told)


def _by_state(
    found: Sequence[tuple[str, tuple[Effect, ...]]],
) -> tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]:
    """States with the same effects together."""
    groups: dict[tuple[tuple[str, str], ...], tuple[list[str], tuple[Effect, ...]]] = {}
    for state, effects in found:
        look = tuple((e.thing, e.now) for e in effects)
        groups.setdefault(look, ([], effects))[0].append(state)
    return tuple((tuple(states), effects) for states, effects in groups.values())


def _worst(found: Sequence[tuple[str, tuple[Effect, ...]]]) -> Category:
    return min((effect.category for _, effects in found for effect in effects), default=Category.MINOR)


def _count(report: Report) -> int:
    """How many things a failure touches at its worst category."""
    return len({e.thing for _, effects in report.effects for e in effects if e.category == report.category})
