"""What faults do to the charge of batteries once the engine has been stopped and started again with them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from ...lang.model.conditions import BY_ITSELF
from .effects import NEXT_START, NOT_CHARGED
from .halting import ENGINE, in_order

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from ..dc.memory import Memory
    from ..operation.operation import OperatingPoint
    from .earlier import Earlier
    from .effects import Effect
    from .failure_modes import Damage
    from .outcome import Outcome


class Stopping(Protocol):
    """What stops the engine of a state, as ``Halting`` has it."""

    def stops(self, outcome: Outcome) -> bool: ...


class State(Protocol):
    """One state before and after faults, as ``FaultedState`` has it."""

    @property
    def point(self) -> OperatingPoint: ...
    @property
    def earlier(self) -> Earlier: ...
    @property
    def halting(self) -> Stopping: ...
    def solved(self, damages: Mapping[str, Damage], *, start: Memory | None = None) -> dict[str, Outcome]: ...


def uncharged(here: State, damages: Mapping[str, Damage]) -> dict[str, tuple[Effect, ...]]:
    """By name, what damages do that leave a battery not charged once the engine has been started with them; nothing
    of those with which it does not run.
    """
    if here.earlier.start is None or here.point.engine not in BY_ITSELF:
        return {}
    return {
        name: tuple(replace(effect, now=NEXT_START) for effect in outcome.effects if effect.now == NOT_CHARGED)
        for name, outcome in here.solved(here.earlier.hindering(damages), start=here.earlier.start).items()
        if not here.halting.stops(outcome)
    }


def with_next_start(outcome: Outcome, lost: Sequence[Effect]) -> Outcome:
    """A fault with what it does after the next start besides: nothing that it does at once, and nothing where it stops
    the engine.
    """
    at_once = {effect.thing for effect in outcome.effects if effect.now == NOT_CHARGED}
    if any(effect.thing == ENGINE for effect in outcome.effects):
        return outcome
    more = [effect for effect in lost if effect.thing not in at_once]
    return replace(outcome, effects=in_order([*outcome.effects, *more])) if more else outcome
