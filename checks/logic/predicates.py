"""What can be asked of every combination: each question knows what its answer depends on, and its table in a scope."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from ...lang.model.conditions import All, Not, Test
from ...lang.model.conditions import AnyOf as Any_
from ...lang.records import dataclass
from .terms import ANY, DIRECT, NOTHING, Reach

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.model.conditions import Condition as Expression
    from ...lang.model.parts import Unit, UnitOutput
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
class FirstCurrent:
    """A field, by its branch's key, gets current from a battery through other loads alone, as by a charge lamp; and
    ``node``, where one is named, is connected to no pole meanwhile.
    """

    key: str
    node: str = ""

    def needs(self, network: SwitchingNetwork) -> Need:
        field = network.circuit.by_key[self.key]
        needs = network.field_needs(field) | network.joined_needs(field, ANY)
        poles = (network.pole_needs(self.node, feed, DIRECT) for feed in ((True, False) if self.node else ()))
        return needs.union(*poles)

    def table(self, scope: StateSpace) -> Table:
        field = scope.network.circuit.by_key[self.key]
        other = scope.joined(field, ANY)
        if self.node:
            other |= scope.at_pole(self.node, True, DIRECT) | scope.at_pole(self.node, False, DIRECT)
        led = scope.fed_past_consumers(field)
        return led & (led ^ other)


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
