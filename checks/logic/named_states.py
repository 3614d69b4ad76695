"""Named states: which combinations and memories are meant by one, and whether it can come about at all.

A state is the set of memories that settle with its controls where it says and all others at rest. A latch that it does
not name is cleared, as at rest, unless its own condition sets it there; relays and machines stand as they may have been
left. Of these memories the one that comes from rest is reported first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.model.parts import Unit
from ...lang.records import dataclass
from .predicates import Shows

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from .analysis import SwitchingLogic
    from .state_space import StateSpace
    from .switching_network import SwitchingNetwork
    from .terms import Given
    from .truth_tables import Table

MOST_MEMORIES = 16
"""This many memories of one named state are followed (ours)."""

Settings = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class InState:
    """Every control is as a named state says, the rest at rest; what nobody sets is left free, timers are over."""

    settings: Settings

    def needs(self, network: SwitchingNetwork) -> frozenset[str]:
        latches = {latch for name, _ in self.settings if (latch := network.latch_named(name)) is not None}
        return frozenset(latches | {name for name, _ in self.settings if name in network.variables})

    def given(self, network: SwitchingNetwork) -> Given:
        """Every control in its one position, what nobody sets left aside."""
        named = dict(self.settings)
        return tuple(
            (name, frozenset({named.get(name, variable.positions[0])}))
            for name, variable in network.variables.items()
            if name in named or name not in network.free
        )

    def table(self, scope: StateSpace) -> Table:
        network = scope.network
        named = dict(self.settings)
        table = scope.lasting
        for name in scope.visible:
            if name in named or name not in network.free:
                table &= scope.at(name, named.get(name, network.variables[name].positions[0]))
        told = set()
        for name, position in named.items():
            if (latch := network.latch_named(name)) is not None:
                told.add(latch)
                held = scope.condition(latch)
                table &= held if position == "set" else scope.full ^ held
        return table & cleared(scope, told)


def cleared(scope: StateSpace, named: Collection[str]) -> Table:
    """The combinations in which no latch is set but those ``named`` by a state, and where its own condition sets it."""
    table = scope.full
    for name, sets in _set_here(scope):
        if name not in named:
            held = scope.condition(name)
            table &= scope.full ^ (held & (held ^ sets))
    return table


def _set_here(scope: StateSpace) -> Iterator[tuple[str, Table]]:
    """Every latch that a scope decides, with where its own condition sets it."""
    for name in scope.decided:
        condition = scope.network.conditions[name]
        unit = scope.network.harness.parts[condition.part]
        if condition.kind == "set" and isinstance(unit, Unit):
            latch = next(x for x in unit.latches if x.name == condition.item)
            yield name, scope.holds(latch.set_when, unit)


def contradiction(logic: SwitchingLogic, settings: Settings) -> tuple[str, ...] | None:
    """The latches and signals of a state that cannot be as it says, as ``UNIT.latch``; ``None`` where the state can
    come about.

    Empty where none by itself is to blame. Raises ``TooWideError``.
    """
    asked = asked_of_units(logic.network, settings)
    if not asked or _comes_about(logic, settings):
        return None
    without = {name: tuple(pair for pair in settings if pair[0] != name) for name in asked}
    return tuple(name for name, rest in without.items() if _comes_about(logic, rest))


def asked_of_units(network: SwitchingNetwork, settings: Settings) -> tuple[str, ...]:
    """The latches and signals that a state names: what else stands as it says may not let them."""
    return tuple(name for name, _ in settings if network.latch_named(name) is not None or network.is_signal(name))


def _comes_about(logic: SwitchingLogic, settings: Settings) -> bool:
    asked = InState(settings)
    scope = logic.scope(asked)
    return bool(asked.table(scope) & scope.occurring)


def memories(logic: SwitchingLogic, settings: Settings) -> tuple[tuple[frozenset[str], ...], bool]:
    """The memories that settle in a state, each as the conditions that hold; at most ``MOST_MEMORIES``, and whether
    these are all.

    Asked of each condition first, and of all that may be either way together. Raises ``TooWideError``.
    """
    network = logic.network
    asked = InState(settings)
    either: list[str] = []
    always: set[str] = set()
    for name in sorted(network.remembers, key=network.place.__getitem__):
        scope = logic.scope(asked, Shows(name))
        table = asked.table(scope) & scope.counted
        held = table & scope.condition(name)
        if held and held != table and scope.some(held, scope.bits) & scope.some(table ^ held, scope.bits):
            either.append(name)
        elif held == table:
            always.add(name)
    if not either:
        return (), True
    scope = logic.scope(asked, *(Shows(name) for name in either))
    table = asked.table(scope) & scope.counted
    found: dict[frozenset[str], None] = {}
    while table and len(found) < MOST_MEMORIES:
        index = scope.nearest(table, scope.visible)
        held_here = frozenset(name for name in either if (scope.condition(name) >> index) & 1)
        found[held_here | always] = None
        alike = scope.full
        for name in either:
            held = scope.condition(name)
            alike &= held if name in held_here else scope.full ^ held
        table &= table ^ alike
    return tuple(sorted(found, key=lambda held: (len(held), _named(network, held)))), not table


def _named(network: SwitchingNetwork, names: Iterable[str]) -> list[int]:
    return sorted(network.place[name] for name in names)
