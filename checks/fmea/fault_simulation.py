"""Every single fault of a harness in its named states, worst first."""

from __future__ import annotations

from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import Source
from ...lang.records import dataclass
from ..behaviour.histories import said
from ..dc.devices import UnsolvableError
from ..dc.relay_fixed_point import AT_REST
from ..protection.protection import Protection
from .effects import OVERCHARGE, WORDS, Category, Effect, Elements, category, ignitions
from .failure_modes import SHORT, Damage, Fault, opens, series_groups
from .faulted_circuit import FaultedCircuit
from .overheated_wires import Carried
from .propagation import Propagation
from .shorts import Feeding, Short, Shorts

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch, Supply
    from ..dc.relay_fixed_point import Memory
    from ..operation.operation import OperatingPoint, Operation
    from .propagation import After

    Floats = NDArray[np.float64]

Look = tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
"""What tells failure modes apart: by state, what goes how."""

CHARGED = 0.02
"""A into a battery, from which it counts as charged (ours)."""

HELD = 0.5
"""Of its regulated volts, what a machine must still have to run away without its battery: one in a short does not
(ours).
"""

MOST_MOVES = 400
"""So many states with controls moved are solved to find one that feeds a wire (ours)."""


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
    """A failure mode with its end effects: ``faults`` that nobody can tell apart by them, in the order of the text;
    none for what the controls do in a harness without any fault.

    ``effects`` by state, states alike together: (names of states, effects). ``category`` is that of the worst.
    ``blows``: the devices that a short to ground opens, in the states ``blown``; ``fires``: the states in which a
    battery feeds it past no device. ``unfed``: no state that was gone through feeds it, nor one with a control or two
    moved: ``blows`` then are what would open, none where nothing would.
    """

    faults: tuple[Fault, ...]
    effects: tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]
    category: Category
    blows: tuple[str, ...] = ()
    blown: tuple[str, ...] = ()
    fires: tuple[str, ...] = ()
    unfed: bool = False

    @property
    def burns(self) -> bool:
        """Whether no device opens somewhere."""
        return bool(self.fires)


@dataclass(frozen=True, slots=True)
class _Varied:
    """A ``point`` that no one names: the state ``named`` as it was left before, with a ``control`` moved, or both."""

    named: str
    point: OperatingPoint
    control: str = ""


class Sweep:
    """The faults of one harness. What a state costs is paid when it is first asked for."""

    def __init__(self, operation: Operation, protection: Protection | None = None) -> None:
        """``protection`` says what wires may carry; by the default profile if left out."""
        self.operation = operation
        self.circuit = operation.circuit
        self._given = protection
        self._states: dict[str, _State] = {}
        self._moved: dict[str, OperatingPoint] = {}

    @cached_property
    def protection(self) -> Protection:
        """What limits faults, and what wires may carry."""
        return self._given or Protection(self.circuit)

    def state(self, name: str) -> _State:
        """A named state, from rest or as it may have been left before (``left``), one of ``halted``, or one with a
        control moved that was asked for, ready for faults.

        Raises ``UnsolvableError``.
        """
        if name not in self._states:
            if name in self.circuit.harness.states:
                point = self.operation.state(name)
            else:
                point = self._moved.get(name) or self.left.get(name) or self.halted[name]
            self._states[name] = self._state(point)
        return self._states[name]

    def at(self, point: OperatingPoint) -> _State:
        """Any point of this harness, ready for faults."""
        return self._state(point)

    def _state(self, point: OperatingPoint) -> _State:
        return _State(self.operation, point, lambda: self._usual, lambda: self._carried)

    @cached_property
    def _carried(self) -> Carried:
        return Carried(self.protection, self.operation.network)

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

    # --- as it was left before ---------------------------------------------------------------------------------------
    @cached_property
    def left(self) -> dict[str, OperatingPoint]:
        """The named states as they stay where relays, latches and machines were left otherwise than at rest, by what
        they are called. Without those that make a dead short, which is a finding of its own.
        """
        return {label: each.point for label, each in self._left.items()}

    @cached_property
    def _left(self) -> dict[str, _Varied]:
        found = {}
        for name, first in self.operation.points.items():
            for point in self.operation.others(name):
                if not point.shorted:
                    label = f"{name} as left before ({said(first.memory, point.memory)})"
                    found[label] = _Varied(name, replace(point, state=label))
        return found

    # --- stopping the engine -----------------------------------------------------------------------------------------
    @cached_property
    def halted(self) -> dict[str, OperatingPoint]:
        """States that no one names and everyone needs: the engine still turning, one control after the other moved to
        where it stops the ignition. A fault that keeps it alive shows there alone.
        """
        found: dict[str, tuple[str, OperatingPoint]] = {}  # one position a control
        for label, each in self._stopping.items():
            if label not in self._failing:
                found.setdefault(each.control, (label, each.point))
        return dict(found.values())

    @cached_property
    def _failing(self) -> dict[str, Stop]:
        """Where a control ought to stop the engine of a sound harness, and does not, or by a dead short: by label."""
        found = {}
        for label, each in self._stopping.items():
            point = each.point
            short = Shorts(point, self.protection).own() if point.shorted else None
            state = self._state(point)
            if short is not None:
                damage = short.damage or Damage()
                (after,) = state.solved({label: damage}).values()
                found[label] = Stop(label, short, state.goes_on(after))
            elif state.running:
                found[label] = Stop(label, None, tuple(sorted(state.running)))
        return found

    @cached_property
    def _stopping(self) -> dict[str, _Varied]:
        """From the first named state in which the engine runs, from rest or else as it may have been left before, each
        position of a control that stops it: by itself, by a dead short, or it would if it had not been running (a relay
        holds itself that never pulls in from rest).
        """
        found: dict[str, _Varied] = {}
        for label, each in self._varied():
            point = each.point
            if point.engine not in BY_ITSELF or point.shorted or not self.state(label).running:
                continue
            for control, moved in self._moves(point):
                if moved.shorted or not self._state(moved).running or not self._runs_from_rest(moved):
                    found[moved.state] = _Varied(each.named, moved, control)
            break
        return found

    def _varied(self) -> Iterator[tuple[str, _Varied]]:
        """The named states, then these as they may have been left before, worked out only where it comes to them."""
        for name, point in self.operation.points.items():
            yield name, _Varied(name, point)
        yield from self._left.items()

    def _runs_from_rest(self, point: OperatingPoint) -> bool:
        """Whether the ignition is live with these positions when all that remembers starts at rest."""
        try:
            rested = self.operation.at(point.positions, state=f"{point.state}, from rest", pinned=point.pinned)
            return bool(self._state(rested).running)
        except UnsolvableError:
            return True

    def _moves(self, point: OperatingPoint) -> Iterator[tuple[str, OperatingPoint]]:
        """A point with one control after the other, and that control, in each other position, but what is sensed; what
        remembers starts as it is there. Those without a solution are left out: what never settles is a finding of its
        own.
        """
        for control, label, positions in self._turned(point.state, point.positions, sensed=False):
            moved = self._solved(label, positions, point.pinned, point.memory)
            if moved is not None:
                yield control, moved

    def _turned(
        self, state: str, positions: Mapping[str, str], *, sensed: bool, joined: str = "with"
    ) -> Iterator[tuple[str, str, dict[str, str]]]:
        """One control after the other, what the state is called with it in each other position, and these positions;
        those that are sensed too if ``sensed``, never the engine's.
        """
        for control in self.circuit.controls.values():
            if (control.sensed and not sensed) or control.name == "engine":
                continue
            for position in control.positions:
                if position != positions[control.name]:
                    moved = {**positions, control.name: position}
                    yield control.name, f"{state} {joined} {control.name} {position}", moved

    def _solved(
        self, label: str, positions: Mapping[str, str], pinned: frozenset[str], memory: Memory = AT_REST
    ) -> OperatingPoint | None:
        try:
            return self.operation.at(positions, memory, state=label, pinned=pinned)
        except UnsolvableError:
            return None

    def all_states(self, names: Iterable[str]) -> tuple[str, ...]:
        """Some named states, these as they may have been left before, and those in which the engine is stopped from one
        of them.
        """
        named = tuple(names)
        left = (label for label, each in self._left.items() if each.named in named)
        return (*named, *left, *(label for label in self.halted if self._stopping[label].named in named))

    # --- the report --------------------------------------------------------------------------------------------------
    def reports(self, states: Iterable[str], protection: Protection | None = None) -> tuple[Report, ...]:
        """Everything that a single fault does in these states, worst first; alike ones together.

        Where the engine runs in one of them, it is stopped as well (``halted``). With ``protection``, shorts of wires
        to ground too: what opens then, and what goes with it.
        """
        asked = tuple(states)
        names = self.all_states(asked)
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
            found.extend(self._shorts(asked, names, protection))
            found.extend(self._without_fault(asked))
        order: dict[str, int] = {branch.key: i for i, branch in enumerate(self.circuit.branches)}

        def place(report: Report) -> tuple[object, ...]:
            first = order[report.faults[0].key] if report.faults else -1
            return report.category, bool(report.faults), not report.burns, -_count(report), first

        return tuple(sorted(found, key=place))

    def _without_fault(self, asked: Sequence[str]) -> Iterator[Report]:
        """What is wrong with stopping the engine while nothing has failed."""
        for label, stop in self._failing.items():
            if self._stopping[label].named not in asked:
                continue
            effects = tuple(Effect(name, "live", "not stopped", 1.0, Category.CATASTROPHIC) for name in stop.goes_on)
            devices = stop.short.damage.opened if stop.short is not None and stop.short.damage is not None else ()
            burns = stop.short is not None and stop.short.burns
            worst = Category.CATASTROPHIC if burns or effects else Category.MARGINAL
            blows = tuple(branch.key for branch in devices)
            yield Report((), (((label,), effects),), worst, blows, (label,) if blows else (), (label,) if burns else ())

    def _shorts(self, asked: Sequence[str], states: Sequence[str], protection: Protection) -> Iterator[Report]:
        """Wires chafed through to ground: the devices before them open, or nothing does, or something comes on.

        What no state feeds is looked for with a control moved, and with two: behind a button, or a relay's contact.
        """
        told: dict[str, list[_Chafed]] = {}
        for name in states:
            for key, (short, outcome) in self.shorts(name, protection).items():
                if short.follows(outcome):
                    told.setdefault(key, []).append(_Chafed(name, short, outcome))
        sustained_faults = {
            b.key: protection.sustained_faults[b.segment.name]
            for b in self.circuit.branches
            if b.segment is not None
            and b.segment.name in protection.sustained_faults
            and protection.side(b) != "return"
        }
        quiet: set[str] = {
            key for key, each in sustained_faults.items() if each.devices or not each.protected
        }  # not a machine's alone
        quiet -= {key for key, found in told.items() if any(each.fed for each in found)}
        for key, chafed in self._behind(asked, quiet, protection).items():
            told.setdefault(key, []).append(chafed)
            quiet.discard(key)
        groups: dict[tuple[object, tuple[str, ...] | None], list[Branch]] = {}
        for branch in self.circuit.branches:
            if branch.key in told or branch.key in quiet:
                found = told.get(branch.key, [])
                unfed = sustained_faults[branch.key].devices if branch.key in quiet else None
                look = tuple((c.state, c.devices, c.short.burns, c.look) for c in found)
                groups.setdefault((look, unfed), []).append(branch)
        for (_, unfed), branches in groups.items():
            yield self._chafed(branches, told.get(branches[0].key, []), unfed)

    @staticmethod
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

    def _behind(self, states: Sequence[str], wanted: set[str], protection: Protection) -> dict[str, _Chafed]:
        """For each of some wires the first state with a control moved, or two, in which something feeds it. States in
        which nothing can, whatever relays and outputs do, are not solved.
        """
        found: dict[str, _Chafed] = {}
        feeding = Feeding(self.operation.network, protection)
        tried: dict[str, OperatingPoint | None] = {}
        starts = [(p.state, p.positions, p.pinned) for p in (self.state(name).point for name in states)]
        for first in (True, False):
            moved = []
            for state, positions, pinned in starts if wanted else ():
                joined = "with" if first else "and"
                for _, label, turned in self._turned(state, positions, sensed=True, joined=joined):
                    moved.append((label, turned, pinned))
                    left = wanted - found.keys()
                    fed_at_most = feeding.nodes(turned, pinned) if left else set()
                    if not any(self.circuit.by_key[key].b in fed_at_most for key in left):
                        continue
                    path = ((label, turned),) if first else ((state, positions), (label, turned))
                    for name, there in path:
                        if name not in tried:
                            if len(tried) >= MOST_MOVES:
                                return found
                            tried[name] = self._solved(name, there, pinned)
                        each = tried[name]
                        if each is None or each.shorted:
                            break
                        if name == label:
                            found.update(self._fed(each, left, protection))
            starts = moved if wanted - found.keys() else []
        return found

    def _fed(self, point: OperatingPoint, wanted: set[str], protection: Protection) -> dict[str, _Chafed]:
        """Those of some wires that a source feeds at a point, by key."""
        fed = Shorts(point, protection).fed(wanted)
        if not fed:
            return {}
        self._moved[point.state] = point
        shorts = self.state(point.state).shorts(protection, fed)
        return {key: _Chafed(point.state, *shorts[key]) for key in sorted(fed)}


@dataclass(frozen=True)
class _Chafed:
    """A wire on ground in one state."""

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
        return tuple((e.thing, e.now) for e in self.outcome.effects) if not self.short.burns else ()


@dataclass(frozen=True)
class Stop:
    """A position of a control that ought to stop the engine, in a harness without any fault: what it shorts, and the
    ignition parts that go on all the same (once a device has opened).
    """

    state: str
    short: Short | None
    goes_on: tuple[str, ...]


class _State:
    """One state before and after faults."""

    def __init__(
        self, operation: Operation, point: OperatingPoint, usual: Callable[[], Floats], carried: Callable[[], Carried]
    ) -> None:
        """``usual`` gives the directions of the currents through the elements of the sound machine, ``carried`` what
        its wires may carry.
        """
        self.point = point
        self.propagation = Propagation(operation, point)
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
        return Outcome(Fault(""), self.point.state, (), self.point.flow.volts, self._shares, self._stopped)

    @cached_property
    def running(self) -> frozenset[str]:
        """The ignition parts that run in the sound state."""
        return self._running(self._shares, self._stopped)

    def _running(self, shares: Floats, stopped: frozenset[str]) -> frozenset[str]:
        alternating = self.propagation.operation.alternating
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
        return series_groups(self.point.circuit)

    def _opened(self, chain: Mapping[str, str]) -> dict[str, Outcome]:
        circuit = self.point.circuit
        candidates = [b for b in opens(circuit) if self.point.connectivity.conducts(b)]
        busy = [b for b in candidates if not self.propagation.idle(b)]
        first: dict[str, Branch] = {}
        for branch in busy:
            first.setdefault(chain.get(branch.key, branch.key), branch)
        found = self.solved({name: Damage((branch,)) for name, branch in first.items()})
        told = {b.key: replace(found[chain.get(b.key, b.key)], fault=Fault(b.key)) for b in busy}
        return {b.key: told.get(b.key) or replace(self.sound, fault=Fault(b.key)) for b in candidates}

    def shorts(self, protection: Protection, wanted: Collection[str] | None = None) -> dict[str, tuple[Short, Outcome]]:
        """Each wire that chafes through to ground, or those of them that are ``wanted``, by key; what follows one that
        burns is not worked out.
        """
        every = list(Shorts(self.point, protection).all())
        shorts = [short for short in every if wanted is None or short.key in wanted]
        asked = {short.like for short in shorts}
        found = self.solved(
            {s.like: s.damage for s in reversed(every) if s.damage is not None and not s.burns and s.like in asked}
        )
        return {
            short.key: (
                short,
                replace(
                    found.get(short.like, self.sound) if short.damage and not short.burns else self.sound,
                    fault=Fault(short.key, SHORT),
                ),
            )
            for short in shorts
        }

    def solved(self, damages: Mapping[str, Damage]) -> dict[str, Outcome]:
        """What follows some damages, by any name."""
        found = self.propagation.of(list(damages.values()))
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
            effects.extend(self._machines(after))
            effects.extend(self._carried().overheated(self.point, after))
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
            turns = branch.branch_type in (BranchType.MOTOR, BranchType.PUMP)  # and turns the other way round
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
        return self.propagation.stopped(self.point.flow)

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

    def _machines(self, after: After) -> Iterator[Effect]:
        """The alternators that give on while no battery holds their voltage any more, and one did."""
        if self.point.engine not in BY_ITSELF or after.volts is None:
            return
        network = self.point.flow.network
        sound = FaultedCircuit(self.propagation.ways, self.point.flow.situation, Damage())
        hurt = FaultedCircuit(self.propagation.ways, after.situation, after.damage)
        parts = self.point.circuit.harness.parts
        for machine in after.situation.machines:
            supply = next(s for s in self.point.circuit.supplies if s.name == machine.supply)
            part = parts.get(supply.name)
            if isinstance(part, Source) and part.what != "alternator":
                continue
            index = network.index
            across = float(after.volts[index[supply.plus[0]]] - after.volts[index[supply.minus]])
            held = across >= HELD * network.regulated[supply.name]
            if held and self._holds(sound, supply) and not self._holds(hurt, supply):
                yield Effect(supply.name, "with its battery", "without battery", across, Category.CRITICAL)

    def _holds(self, faulted_circuit: FaultedCircuit, supply: Supply) -> bool:
        """Whether a battery is joined to a machine at both poles."""
        conducting = faulted_circuit.situation.conducting
        return any(
            faulted_circuit.leads(supply.plus[0], battery.plus, conducting)
            and faulted_circuit.leads(battery.minus, (supply.minus,), conducting)
            for battery, _ in self.point.flow.network.batteries
        )

    def goes_on(self, outcome: Outcome) -> tuple[str, ...]:
        """The ignition parts that run after something."""
        if outcome.shares is None:
            return ()
        return tuple(sorted(self._running(outcome.shares, outcome.stopped)))


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
