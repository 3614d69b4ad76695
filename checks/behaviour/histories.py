"""Named states and where they come from: one memory from rest, others as relays and machines may have been left."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...lang.circuit.ids import owner_of
from ...lang.records import dataclass
from ..dc.devices import UnsolvableError
from ..dc.memory import Memory
from ..findings.facts import as_facts
from ..findings.wording import filled
from ..logic.analysis import TooWideError
from ..logic.named_states import MOST_MEMORIES, asked_of_units, contradiction, memories

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..findings.facts import Fact
    from ..logic import SwitchingLogic
    from ..logic.named_states import Settings
    from ..logic.switching_network import SwitchingNetwork


class ImpossibleStateError(UnsolvableError):
    """A named state cannot come about: ``part`` is what it asks in vain, the message says why."""


@dataclass(frozen=True, slots=True)
class Impossible:
    """What a state asks in vain: ``asked`` are conditions as ``CTRL.on set``, ``controls`` positions that rule out that
    all of them come about; none where it is every control at rest. ``part`` is that of the first condition.
    """

    part: str
    asked: tuple[str, ...]
    controls: tuple[str, ...]

    @property
    def facts(self) -> dict[str, Fact | float]:
        return {"asked": self.asked, "controls": self.controls or ("every control at rest",)}

    def __str__(self) -> str:
        return filled(NEVER, as_facts(self.facts))


NEVER: Final = "{asked:condition} never {asked:occurs|occur together} with {controls}"
"""Why a state cannot come about."""


def why_impossible(logic: SwitchingLogic, settings: Settings) -> Impossible | None:
    """What a state asks in vain, where it cannot come about; ``None`` where it can. Raises ``TooWideError``."""
    blamed = contradiction(logic, settings)
    if blamed is None:
        return None
    named = dict(settings)
    blamed = blamed or asked_of_units(logic.network, settings)
    variables = logic.network.variables
    return Impossible(
        part=_part_of(logic.network, blamed[0]),
        asked=tuple(f"{name} {named[name]}" for name in blamed),
        controls=tuple(f"{name} {at}" for name, at in named.items() if name in variables and name not in blamed),
    )


def _part_of(network: SwitchingNetwork, name: str) -> str:
    """The unit of a latch or a signal that a state names."""
    latch = network.latch_named(name)
    return owner_of(network.circuit.controls[name].name) if latch is None else network.conditions[latch].part


def refuse_impossible(logic: SwitchingLogic, settings: Settings) -> None:
    """Raises ``ImpossibleStateError`` for a state that cannot come about."""
    if not asked_of_units(logic.network, settings):
        return
    try:
        found = why_impossible(logic, settings)
    except TooWideError:
        return  # not known to be impossible: the numbers then show what they settle at
    if found is not None:
        raise ImpossibleStateError(found.part, f"it is impossible: {found}")


@dataclass(frozen=True, slots=True)
class Histories:
    """The memories that numbers should start a state from besides rest; none where there is one only.

    ``untold``: why others are left out; logic then still asks each claim of all of them.
    """

    memories: tuple[Memory, ...] = ()
    untold: str = ""


def histories(logic: SwitchingLogic, settings: Settings) -> Histories:
    """The memories of a named state, as numbers know them."""
    try:
        found, all_told = memories(logic, settings)
    except TooWideError as wide:
        return Histories(untold=f"it {wide}, more than are searched")
    untold = "" if all_told else f"relays, latches and alternators can be left in more than {MOST_MEMORIES} ways"
    return Histories(tuple(memory_of(logic.network, held) for held in found), untold)


def memory_of(network: SwitchingNetwork, held: Iterable[str]) -> Memory:
    """Conditions that hold, as numbers know them."""
    kinds: dict[str, set[str]] = {"pulled": set(), "on": set(), "set": set(), "excited": set()}
    for name in held:
        condition = network.conditions[name]
        kinds[condition.kind].add(condition.thing)
    pulled, on, latched, excited = (frozenset(kinds[kind]) for kind in ("pulled", "on", "set", "excited"))
    return Memory(pulled, on, latched, excited)


def said(first: Memory, other: Memory) -> str:
    """How a memory differs from the one from rest: ``K-IGN still in, if it was riding before``."""
    words = [f"{name} still in" for name in sorted(other.pulled - first.pulled)]
    words += [f"{name} not in" for name in sorted(first.pulled - other.pulled)]
    words += [f"{name} still set" for name in sorted(other.latched - first.latched)]
    words += [f"{name} still cleared" for name in sorted(first.latched - other.latched)]
    words += [f"{name} still on" for name in sorted(other.on - first.on)]
    words += [f"{name} off" for name in sorted(first.on - other.on)]
    words += [f"{name} already charging" for name in sorted(other.excited - first.excited)]
    words += [f"{name} not charging" for name in sorted(first.excited - other.excited)]
    return ", ".join(words)
