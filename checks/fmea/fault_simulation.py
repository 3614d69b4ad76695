"""Single faults of a harness in its named states, in those that may be left behind and those that stop the engine."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.model.conditions import BY_ITSELF
from ...lang.records import dataclass
from ..behaviour.histories import said
from ..dc.devices import UnsolvableError
from ..dc.memory import AT_REST
from ..protection.protection import Protection
from .failure_modes import Damage
from .faulted_state import FaultedState
from .outcome import Outcome
from .overheated_wires import Carried
from .shorts import Short, Shorts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.memory import Memory
    from ..operation.operation import OperatingPoint, Operation

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Stop:
    """A position of a control that ought to stop the engine, in a harness without any fault: what it shorts, and the
    ignition parts that go on all the same (once a device has opened).
    """

    state: str
    short: Short | None
    goes_on: tuple[str, ...]


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
        self._states: dict[str, FaultedState] = {}
        self._moved: dict[str, OperatingPoint] = {}

    @cached_property
    def protection(self) -> Protection:
        """What limits faults, and what wires may carry."""
        return self._given or Protection(self.circuit)

    def state(self, name: str) -> FaultedState:
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

    def at(self, point: OperatingPoint) -> FaultedState:
        """Any point of this harness, ready for faults."""
        return self._state(point)

    def keep(self, point: OperatingPoint) -> None:
        """A state with a control moved can be asked for by its name from now on."""
        self._moved[point.state] = point

    def _state(self, point: OperatingPoint) -> FaultedState:
        return FaultedState(self.operation, point, lambda: self._usual, lambda: self._carried)

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
        they are called. Without those that make a dead short, which is a separate finding.
        """
        return {label: each.point for label, each in self._left.items()}

    @cached_property
    def _left(self) -> dict[str, _Varied]:
        found = {}
        for name, first in self.operation.points.items():
            for point in self.operation.left_before.others(name):
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
        for label, each in self.stopping.items():
            if label not in self.failing:
                found.setdefault(each.control, (label, each.point))
        return dict(found.values())

    @cached_property
    def failing(self) -> dict[str, Stop]:
        """Where a control ought to stop the engine of a sound harness, and does not, or by a dead short: by label."""
        found = {}
        for label, each in self.stopping.items():
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
    def stopping(self) -> dict[str, _Varied]:
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
        for control, label, positions in self.turned(point.state, point.positions, sensed=False):
            moved = self.solved(label, positions, point.pinned, point.memory)
            if moved is not None:
                yield control, moved

    def turned(
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

    def solved(
        self, label: str, positions: Mapping[str, str], pinned: frozenset[str], memory: Memory = AT_REST
    ) -> OperatingPoint | None:
        try:
            return self.operation.at(positions, memory, state=label, pinned=pinned)
        except UnsolvableError:
            return None

    def live_in(self, states: Iterable[str]) -> dict[str, frozenset[str]]:
        """For each element, by key, those of some states in which it is live without any fault."""
        found: dict[str, set[str]] = {}
        for name in states:
            for key in self.state(name).live:
                found.setdefault(key, set()).add(name)
        return {key: frozenset(names) for key, names in found.items()}

    def all_states(self, names: Iterable[str]) -> tuple[str, ...]:
        """Some named states, these as they may have been left before, and those in which the engine is stopped from one
        of them.
        """
        named = tuple(names)
        left = (label for label, each in self._left.items() if each.named in named)
        return (*named, *left, *(label for label in self.halted if self.stopping[label].named in named))
