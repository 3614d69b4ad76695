"""Engines that a fault stops. What is seen and measured then is a motorcycle whose engine does not turn: its machines
deliver nothing, and its oil pressure is gone.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import owner_of
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import Unit
from ..dc.devices import UnsolvableError
from .effects import Category, Effect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.circuit import Circuit
    from ..operation.operation import OperatingPoint
    from .failure_modes import Damage
    from .outcome import Outcome
    from .propagation import Propagation

    Floats = NDArray[np.float64]

ENGINE = "engine"
"""The thing of the effect that the engine stops."""

_STOPS = Effect(ENGINE, "runs", "stops", 0.0, Category.CRITICAL)

LASTING = frozenset({"backwards", "overheated", "melted", "restless"})
"""What may be so with the engine at rest besides how elements stand. All else there is of machines or of the start."""


class State(Protocol):
    """One state before and after faults, as ``FaultedState`` has it."""

    @property
    def point(self) -> OperatingPoint: ...
    @property
    def propagation(self) -> Propagation: ...
    @property
    def running(self) -> frozenset[str]: ...
    def goes_on(self, outcome: Outcome) -> tuple[str, ...]: ...
    def changes(self, shares: Floats) -> Iterator[Effect]: ...
    def solved(self, damages: Mapping[str, Damage]) -> dict[str, Outcome]: ...


S = TypeVar("S", bound=State)


class Halting(Generic[S]):
    """What stops the engine of one state, and what that shows then."""

    def __init__(self, here: S, beside: Callable[[OperatingPoint], S]) -> None:
        """``beside`` makes another point of the same motorcycle ready for faults."""
        self._here, self._beside = here, beside

    @property
    def runs(self) -> bool:
        """Whether the engine turns by itself and by its ignition, without any fault."""
        return self._here.point.engine in BY_ITSELF and bool(self._here.running)

    @cached_property
    def sparks(self) -> frozenset[str]:
        """The ignition parts that keep it running. A unit that works coils by its outputs gives no spark without them;
        where nothing else is stated, it stands for them.
        """
        running, parts = self._here.running, self._here.point.circuit.harness.parts
        working = {name for name in running if isinstance(part := parts[name], Unit) and part.outputs}
        return running - working or running

    def stops(self, outcome: Outcome) -> bool:
        """Whether the engine stops with a fault: nothing gives a spark any more of what did."""
        if not self.runs or outcome.shares is None:
            return False
        return self.sparks.isdisjoint(set(self._here.goes_on(outcome)) - self._silent(outcome))

    def _silent(self, outcome: Outcome) -> set[str]:
        """The parts all of whose coils carry a current that nothing interrupts any more."""
        unbroken = {effect.thing for effect in outcome.effects if effect.now == "unbroken"}
        of_part = self._here.point.circuit.of_part
        return {
            part
            for part in map(owner_of, unbroken)
            if unbroken >= {b.key for b in of_part[part] if b.branch_type is BranchType.IGNITION}
        }

    @cached_property
    def at_rest(self) -> S | None:
        """The state with the engine stopped and the controls as they were; ``None``: it does not run, nothing settles
        then, or sources are shorted only then.
        """
        point, operation = self._here.point, self._here.propagation.operation
        if not self.runs:
            return None
        try:
            halted = operation.at(stopped(point.circuit, point.positions), point.memory)
        except UnsolvableError:
            return None
        return None if halted.shorted and not point.shorted else self._beside(halted)

    def after(
        self, damages: Mapping[str, Damage], turning: Mapping[str, Outcome], *, whole: bool = True
    ) -> dict[str, Outcome]:
        """What damages that stop the engine show once it has stopped, by name. ``turning``: what they do while it still
        turns.
        """
        if not turning:
            return {}
        if self.at_rest is None:
            return {name: self._untold(each) for name, each in turning.items()}
        still = self.at_rest.solved({name: damages[name] for name in turning})
        told = {name: self._told(each, still[name]) for name, each in turning.items()}
        return told if whole else {n: replace(each, volts=None, shares=None, stack=None) for n, each in told.items()}

    def _told(self, turning: Outcome, still: Outcome) -> Outcome:
        """A fault that stops the engine: how everything stands then, against how it stood while the engine ran."""
        effects = [_STOPS, *self._of_ignition(turning)]
        changed = self._here.changes(still.shares) if still.shares is not None else ()
        lasting = (effect for effect in still.effects if effect.now in LASTING)
        effects += (e for e in (*changed, *lasting) if owner_of(e.thing) not in self._here.running)
        return replace(still, fault=turning.fault, state=turning.state, effects=in_order(effects))

    def _untold(self, turning: Outcome) -> Outcome:
        """The same where nothing is known of the engine at rest: what is dead stays so while machines deliver less."""
        dead = [e for e in turning.effects if e.now == "dead" and owner_of(e.thing) not in self._here.running]
        effects = in_order([_STOPS, *self._of_ignition(turning), *dead])
        return replace(turning, effects=effects, volts=None, shares=None, stack=None)

    def _of_ignition(self, turning: Outcome) -> Iterator[Effect]:
        """What happens to what kept the engine running; with the engine at rest nothing of that can be seen."""
        return (effect for effect in turning.effects if owner_of(effect.thing) in self._here.running)


def in_order(effects: Iterable[Effect]) -> tuple[Effect, ...]:
    """The worst first, then by name."""
    return tuple(sorted(effects, key=lambda effect: (effect.category, effect.thing)))


def stopped(circuit: Circuit, positions: Mapping[str, str]) -> dict[str, str]:
    """Positions of controls, the engine stopped and no oil pressure with it."""
    oil = {name: c.positions[0] for name, c in circuit.controls.items() if c.sensed == "oil-pressure"}
    return {**positions, **oil, "engine": "off"}
