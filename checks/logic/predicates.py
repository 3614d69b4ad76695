"""What can be asked of every combination: each question knows what its answer depends on, and its table in a scope."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from ...lang.model.conditions import All, Not, Test
from ...lang.model.conditions import AnyOf as Any_
from ...lang.model.parts import Load, Unit
from ...lang.records import dataclass
from .terms import ANY, DIRECT, NOTHING, Reach, on

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.circuit.branch import Branch
    from ...lang.model.conditions import Condition as Expression
    from ...lang.model.conditions import Pair
    from ...lang.model.parts import Part, UnitOutput
    from .state_space import StateSpace
    from .switching_network import SwitchingNetwork
    from .terms import Given, Graph, Kind, Need, Origin
    from .truth_tables import Table


class Question(Protocol):
    """Something that holds or does not in each combination."""

    def needs(self, network: SwitchingNetwork, /) -> Need: ...

    def table(self, scope: StateSpace, /) -> Table: ...


@dataclass(frozen=True, slots=True)
class Joined:
    """An element, by its branch's key, is connected to one and the same source of these kinds on both sides."""

    key: str
    kinds: frozenset[Kind] = ANY

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.joined_needs(network.circuit.by_key[self.key], self.kinds)

    def table(self, scope: StateSpace) -> Table:
        return scope.joined(scope.network.circuit.by_key[self.key], self.kinds)


@dataclass(frozen=True, slots=True)
class JoinedInSeries:
    """An element is joined, or gets more than its dead share through what is made to be in series with others
    (resistor, field, sensor): there the volts decide, as far as ratings are known.
    """

    key: str
    kinds: frozenset[Kind] = ANY
    graph: Graph = "series"

    def needs(self, network: SwitchingNetwork) -> Need:
        branch = network.circuit.by_key[self.key]
        needs = network.joined_needs(branch, self.kinds)
        return needs if self.graph == "nets" else needs | network.through_needs(branch, self.graph, self.kinds)

    def table(self, scope: StateSpace) -> Table:
        branch = scope.network.circuit.by_key[self.key]
        table = scope.joined(branch, self.kinds)
        if self.graph == "nets":
            return table
        series = scope.joined_through(branch, self.graph, self.kinds)
        return table | scope.enough_in_series(branch, self.graph, series & (series ^ table))


@dataclass(frozen=True, slots=True)
class ThroughLoads:
    """Something reaches an element both ways when every consumer conducts, past nets that are no rails.

    ``given``: controls that are asked about in some positions only (``implied``); the table holds for these alone.
    """

    key: str
    kinds: frozenset[Kind] = ANY
    given: Given = ()

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.through_needs(network.circuit.by_key[self.key], "wide", self.kinds, self.given)

    def table(self, scope: StateSpace) -> Table:
        return scope.joined_through(scope.network.circuit.by_key[self.key], "wide", self.kinds)


@dataclass(frozen=True, slots=True)
class AtPole:
    """A terminal is connected to the feed pole (``feed``), else to the return pole, of a source of these kinds."""

    node: str
    feed: bool
    kinds: frozenset[Kind] = DIRECT

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.pole_needs(self.node, self.feed, self.kinds)

    def table(self, scope: StateSpace) -> Table:
        return scope.at_pole(self.node, self.feed, self.kinds)


@dataclass(frozen=True, slots=True)
class AtPoleThroughLoads:
    """A terminal is led to the feed pole (``feed``), else to the return pole, of a source of these kinds when every
    consumer conducts, past nets that are no rails, and by copper to no opposite pole.
    """

    node: str
    feed: bool
    kinds: frozenset[Kind] = DIRECT

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.pole_through_needs(self.node, self.feed, self.kinds)

    def table(self, scope: StateSpace) -> Table:
        return scope.at_pole_through(self.node, self.feed, self.kinds)


@dataclass(frozen=True, slots=True)
class Linked:
    """Current can get from one terminal to another by what is joined, sources left aside."""

    start: str
    end: str

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.reach_needs(Reach(network.net(self.start), True), network.net(self.end)) or NOTHING

    def table(self, scope: StateSpace) -> Table:
        return scope.reached(Reach(scope.network.net(self.start), True), scope.network.net(self.end))


@dataclass(frozen=True, slots=True)
class Driven:
    """One and the same source drives current between two terminals in one of the given senses, each as where it enters
    and where it leaves.
    """

    a: str
    b: str
    senses: tuple[tuple[str, str], ...]

    def needs(self, network: SwitchingNetwork) -> Need:
        ends = (network.net(self.a), network.net(self.b))
        needs = NOTHING
        for origin in network.origins_of(ANY):
            for reach in (network.feeds(origin), network.returns(origin)):
                for net in ends:
                    needs |= network.reach_needs(reach, net) or NOTHING
            needs |= network.active_needs(origin)
        return needs

    def table(self, scope: StateSpace) -> Table:
        network = scope.network
        senses = [(network.net(enter), network.net(leave)) for enter, leave in self.senses]
        table = 0
        for origin in network.origins_of(ANY):
            table |= scope.driven(origin, senses) & scope.active(origin)
        return table


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


@dataclass(frozen=True, slots=True)
class In:
    """A control is in one of these positions."""

    control: str
    positions: tuple[str, ...]

    def needs(self, _network: SwitchingNetwork) -> Need:
        return frozenset({self.control})

    def table(self, scope: StateSpace) -> Table:
        table = 0
        for position in self.positions:
            table |= scope.at(self.control, position)
        return table


@dataclass(frozen=True, slots=True)
class Holds:
    """A condition of the language holds."""

    expression: Expression

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.expression_needs(None, self.expression)

    def table(self, scope: StateSpace) -> Table:
        return scope.holds(self.expression)


@dataclass(frozen=True, slots=True)
class AskedFor:
    """What an output of a unit follows holds now, whatever it still does from before."""

    unit: Unit
    output: UnitOutput

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.test_needs(self.unit, self.output)

    def table(self, scope: StateSpace) -> Table:
        return scope.full if self.output.when is None else scope.holds(self.output.when, self.unit)


@dataclass(frozen=True, slots=True)
class Shows:
    """A condition, by its name, holds: a relay pulled, an output on, a latch set, a machine excited."""

    name: str

    def needs(self, _network: SwitchingNetwork) -> Need:
        return frozenset({self.name})

    def table(self, scope: StateSpace) -> Table:
        return scope.condition(self.name)


@dataclass(frozen=True, slots=True)
class Shorted:
    """The + of a source is connected to its own -."""

    origin: Origin

    def needs(self, network: SwitchingNetwork) -> Need:
        found = network.reach_needs(network.feeds(self.origin), self.origin.minus)
        return NOTHING if found is None else found | network.active_needs(self.origin)

    def table(self, scope: StateSpace) -> Table:
        network = scope.network
        reach = network.feeds(self.origin)
        if self.origin.minus not in network.can(reach):
            return 0
        return scope.reached(reach, self.origin.minus) & scope.active(self.origin)


@dataclass(frozen=True, slots=True)
class Active:
    """A source is one: a machine turns, is excited and has its phases joined."""

    origin: Origin

    def needs(self, network: SwitchingNetwork) -> Need:
        return network.active_needs(self.origin)

    def table(self, scope: StateSpace) -> Table:
        return scope.active(self.origin)


@dataclass(frozen=True, slots=True)
class AnyOf:
    """One of several questions holds."""

    questions: tuple[Question, ...]

    def needs(self, network: SwitchingNetwork) -> Need:
        return NOTHING.union(*(question.needs(network) for question in self.questions))

    def table(self, scope: StateSpace) -> Table:
        table = 0
        for question in self.questions:
            table |= question.table(scope)
        return table


@dataclass(frozen=True, slots=True)
class AllOf:
    """All of several questions hold."""

    questions: tuple[Question, ...]

    def needs(self, network: SwitchingNetwork) -> Need:
        return NOTHING.union(*(question.needs(network) for question in self.questions))

    def table(self, scope: StateSpace) -> Table:
        table = scope.full
        for question in self.questions:
            table &= question.table(scope)
        return table


def implied(question: Question, network: SwitchingNetwork) -> Given:
    """The positions that controls must be in for a question to hold, as far as its form tells."""
    found = _implied(question, network)
    return tuple(sorted((control, positions) for control, positions in found.items()))


def _implied(question: object, network: SwitchingNetwork) -> dict[str, frozenset[str]]:
    match question:
        case In(control, positions):
            return {control: frozenset(positions)}
        case AllOf(questions):
            return _every(_implied(one, network) for one in questions)
        case Holds(expression):
            return _implied(expression, network)
        case All(terms):
            return _every(_implied(term, network) for term in terms)
        case Any_(terms):
            each = [_implied(term, network) for term in terms]
            shared = set.intersection(*(set(one) for one in each)) if each else set()
            return {name: frozenset().union(*(one[name] for one in each)) for name in shared}
        case Test(name, position) if network.latch_named(name) is None:
            control, meant = network.positions_meant(name, position)
            return {control: meant}
        case Not(Test(name, position)) if network.latch_named(name) is None:
            control, meant = network.positions_meant(name, position)
            return {control: frozenset(network.variable(control).positions) - meant}
        case _:
            return {}


def _every(each: Iterable[dict[str, frozenset[str]]]) -> dict[str, frozenset[str]]:
    found: dict[str, frozenset[str]] = {}
    for one in each:
        for name, positions in one.items():
            found[name] = found[name] & positions if name in found else positions
    return found


# --- parts by what they are
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
