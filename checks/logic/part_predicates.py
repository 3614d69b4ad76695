"""Whether a part runs, is stopped or is live: what that asks of its branches, and which branches these are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.model.parts import Load, Unit
from ...lang.records import dataclass
from .predicates import JoinedInSeries
from .terms import ANY, NOTHING, on

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.model.conditions import Pair
    from ...lang.model.parts import Part
    from .predicates import Question
    from .state_space import StateSpace
    from .switching_network import SwitchingNetwork
    from .terms import Graph, Kind, Need
    from .truth_tables import Table


@dataclass(frozen=True, slots=True)
class Runs:
    """An ignition part runs: its feed is joined (``graph``: through a ballast resistor too) to a source of these kinds
    and its kill wire is not connected to its own return; without a feed, the engine turns and it is not stopped.

    A unit that drives coils runs where one of these is joined by an output that is on, whatever its own supply does.
    """

    part: str
    kinds: frozenset[Kind] = ANY
    graph: Graph = "ballast"

    def needs(self, network: SwitchingNetwork) -> Need:
        part = network.harness.parts[self.part]
        lead = stop_lead(part)
        needs = network.stopped_needs(self.part, lead) if lead else NOTHING
        driven = driven_coils(network, part)
        if driven:
            each = (JoinedInSeries(key, self.kinds, self.graph).needs(network) | {output} for output, key in driven)
            return needs.union(*each)
        keys = feed_keys(network, part)
        if not keys:
            return needs | {"engine"}
        return needs.union(*(JoinedInSeries(key, self.kinds, self.graph).needs(network) for key in keys))

    def table(self, scope: StateSpace) -> Table:
        part = scope.network.harness.parts[self.part]
        lead = stop_lead(part)
        keys = feed_keys(scope.network, part)
        if driven := driven_coils(scope.network, part):
            table = 0
            for output, key in driven:
                table |= scope.condition(output) & JoinedInSeries(key, self.kinds, self.graph).table(scope)
        elif keys:
            table = 0
            for key in keys:
                table |= JoinedInSeries(key, self.kinds, self.graph).table(scope)
        elif lead:
            table = scope.full ^ scope.at("engine", "off")
        else:
            table = 0
        return table & (table ^ scope.stopped(self.part, lead)) if lead else table


@dataclass(frozen=True, slots=True)
class Stopped:
    """The kill wire of an ignition part is connected to its own return."""

    part: str

    def needs(self, network: SwitchingNetwork) -> Need:
        lead = stop_lead(network.harness.parts[self.part])
        return network.stopped_needs(self.part, lead) if lead else NOTHING

    def table(self, scope: StateSpace) -> Table:
        lead = stop_lead(scope.network.harness.parts[self.part])
        return scope.stopped(self.part, lead) if lead else 0


@dataclass(frozen=True, slots=True)
class Live:
    """A part, or one element of it, is live as far as joined paths decide: an ignition part runs, another has an
    element joined.
    """

    part: str
    element: str | None = None

    def _asked(self, network: SwitchingNetwork) -> tuple[Question, ...]:
        part = network.harness.parts.get(self.part)
        if part is not None and self.element is None and is_ignition(part):
            return (Runs(self.part),)
        return tuple(JoinedInSeries(key) for key in consumer_keys(network, self.part, self.element))

    def needs(self, network: SwitchingNetwork) -> Need:
        return NOTHING.union(*(asked.needs(network) for asked in self._asked(network)))

    def table(self, scope: StateSpace) -> Table:
        table = 0
        for asked in self._asked(scope.network):
            table |= asked.table(scope)
        return table


def is_ignition(part: Part) -> bool:
    return isinstance(part, (Load, Unit)) and part.is_ignition


def stop_lead(part: Part) -> Pair | None:
    return part.stop_lead if isinstance(part, (Load, Unit)) else None


def feed_keys(network: SwitchingNetwork, part: Part) -> tuple[str, ...]:
    """The branches through which an ignition part is fed: its ignition elements, else all; a unit's first supply."""
    if isinstance(part, Load):
        fed = [e for e in part.elements if not e.points]  # a magneto's primary feeds itself
        chosen = [e for e in fed if e.what == "ignition"] or fed
        keys = [f"{part.name}.{element.name}" for element in chosen]
    elif isinstance(part, Unit):
        branch = network.supply_branch(part)
        keys = [branch.key] if branch else []
    else:
        keys = []
    return tuple(key for key in keys if key in network.circuit.by_key)


def driven_coils(network: SwitchingNetwork, part: Part) -> tuple[tuple[str, str], ...]:
    """The outputs of an ignition unit that drive coils: the condition of each, and the branch of the coil."""
    if not isinstance(part, Unit) or not part.is_ignition:
        return ()
    outputs = [on(part.name, output.name) for output in part.outputs]
    if not outputs:
        return ()
    found = []
    for other in network.harness.parts.values():
        if isinstance(other, Load) and other.is_ignition:
            for key in feed_keys(network, other):
                needs = JoinedInSeries(key, graph="ballast").needs(network)
                found += [(output, key) for output in outputs if output in needs]
    return tuple(found)


def consumer_keys(network: SwitchingNetwork, part: str, element: str | None) -> tuple[str, ...]:
    """The branches of a part's consumers; of one element where it is named."""
    branches: tuple[Branch, ...] = network.circuit.of_part.get(part, ())
    consumers = [b.key for b in branches if b.branch_type.consumes]
    if element is None:
        return tuple(consumers)
    wanted = f"{part}.{element}"
    if wanted in consumers:
        return (wanted,)
    named = [key for key in consumers if key in (f"{part} {element}",)]
    return tuple(named)
