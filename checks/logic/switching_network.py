"""What the logic works on: nets, the edges between them with what moves each, sources, and conditions with memory.

Nothing here depends on a combination; ``scope.Scope`` evaluates it over all of them, ``settling`` over a single one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from copy import copy
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal

from ...lang.circuit.branch import InPosition, On, Pulled
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End, Role, field_of, inside, unit_supply
from ...lang.model.parts import Relay, Source, Switch, Unit
from ...lang.records import dataclass
from ...lang.search.cones import Cones
from .truth_tables import Variable

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Edge, Net
    from ...lang.model.parts import UnitOutput

Kind = Literal["battery", "machine", "winding"]
Given = tuple[tuple[str, frozenset[str]], ...]
"""Controls, each with the only positions in which it is asked about."""
Graph = Literal["nets", "ballast", "series", "wide"]
"""What conducts besides nets and switches: nothing; resistors; what is made to stand in series; every consumer."""
ALSO: dict[Graph, tuple[BranchType, ...]] = {
    "nets": (),
    "ballast": (BranchType.RESISTOR,),
    "series": tuple(branch_type for branch_type in BranchType if branch_type.in_series),
    "wide": tuple(branch_type for branch_type in BranchType if branch_type.consumes),
}
BATTERY: frozenset[Kind] = frozenset({"battery"})
MACHINE: frozenset[Kind] = frozenset({"machine"})
DIRECT: frozenset[Kind] = frozenset({"battery", "machine"})
ANY: frozenset[Kind] = frozenset({"battery", "machine", "winding"})

JOINED, OPEN = "joined", "open"
YES, NO = "yes", "no"
LEFT_OUT, COUNTED = "left out", "counted"

Steps = dict[int, list[tuple[int, int]]]
"""For each net, the nets that a step leads to, and the numbers of the edges that it takes."""

Need = frozenset[str]
"""Names of controls, joints and conditions that an answer can depend on."""
NOTHING: Need = frozenset()


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a source gives current (``plus``) and takes it back (``minus``), as nets.

    A winding has one for each ordered pair of its terminals, since its current runs both ways; batteries in series have
    one for each stretch of the string beside their own.
    """

    supply: Supply
    plus: Net
    minus: Net
    plus_node: End
    minus_node: End

    @property
    def kind(self) -> Kind:
        return self.supply.kind


@dataclass(frozen=True, slots=True)
class Reach:
    """A question to the net graph: what current reaches from ``start`` (``forward``), or from where it reaches
    ``start``, never running through the net ``wall``.
    """

    start: Net
    forward: bool
    wall: Net | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """Something that a relay, a unit or a machine remembers or shows: ``name`` reads as a statement that holds or not.

    ``pulled``: the relay's coil is joined. ``on``: a unit's output. ``set``: a latch. ``excited``: a field machine.
    """

    name: str
    kind: Literal["pulled", "on", "set", "excited"]
    part: str
    item: str = ""

    @property
    def thing(self) -> str:
        """What it is about: a relay, a machine, or an output or latch of a unit (``CTRL.horn``)."""
        return inside(self.part, self.item, _ROLES[self.kind]) if self.item else self.part


_ROLES: Final = {"on": Role.OUTPUT, "set": Role.LATCH}


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing that may work on what comes to it through other loads, and may not: ``name`` is the variable that
    counts it or does not.

    ``part`` is a relay, a unit or the source of a field, ``item`` an input. ``why``: whether it is weak could not be
    decided, and why. ``free``: what it depends on through loads is too much to go through; counted, it may work at any
    time.
    """

    name: str
    kind: Literal["relay", "supply", "input", "field"]
    part: str
    item: str = ""
    why: str = ""
    free: bool = False


def relay_doubt(relay: str) -> str:
    return f"{relay} through loads"


def supply_doubt(unit: str) -> str:
    return f"{unit} supply through loads"


def input_doubt(unit: str, name: str) -> str:
    return f"{unit}.{name} through loads"


def field_doubt(supply: str) -> str:
    return f"{supply} field through loads"


def pulled(relay: str) -> str:
    return f"{relay} pulled"


def on(unit: str, output: str) -> str:
    return f"{unit}.{output} on"


def latched(unit: str, latch: str) -> str:
    return f"{unit}.{latch} set"


def excited(supply: str) -> str:
    return f"{supply} excited"


class SwitchingNetwork:
    """The static side of the logic of one circuit."""

    def __init__(self, circuit: Circuit, doubts: Mapping[str, Doubt] | None = None) -> None:
        """``doubts``: what may work on what comes through other loads (``weak``); nothing where left out."""
        self.circuit = circuit
        self.doubts = dict(doubts or {})
        self.forced: frozenset[str] = NOTHING
        self.harness = circuit.harness
        self.nets = circuit.nets
        self.edges: tuple[Edge, ...] = self.nets.switched
        self.labels = (*(self._label(e.branch) for e in self.edges), *(NOTHING for _ in self.nets.consumers))
        self.moved: dict[str, list[int]] = {}
        """The switched edges that each control, joint or condition moves; nothing moves those of the empty name."""
        for i in range(len(self.edges)):
            self.moved.setdefault(next(iter(self.labels[i]), ""), []).append(i)
        self.joints = {branch.key: branch for branch in circuit.branches if not branch.reliable}
        self.conditions = {condition.name: condition for condition in self._conditions()}
        self.variables = {variable.name: variable for variable in self._variables()}
        self.positions = {name: len(variable.positions) for name, variable in self.variables.items()}
        """How many each variable has; a bit of what remembers has two."""
        self.positions |= dict.fromkeys(self.conditions, 2)
        self.place = {name: i for i, name in enumerate((*self.variables, *self.conditions))}
        self.balances: dict[tuple[object, ...], tuple[dict[int, float] | None, int]] = {}
        """The volts of islands that were worked out, and in how many steps."""
        self._beside: dict[Graph, dict[Net, list[tuple[Net, int]]]] = {}
        self._steps: dict[tuple[bool, Graph], Steps] = {}
        self._cones: dict[tuple[Net, Net | None, Graph, frozenset[int]], Cones] = {}
        self._alternators: dict[str, tuple[Source, ...]] = {}
        self._rail_needs: dict[tuple[Net, frozenset[int]], Need] = {}
        self._can: dict[Reach, frozenset[Net]] = {}
        self._joined: dict[tuple[str, frozenset[Kind]], Need] = {}
        self._through: dict[tuple[str, Graph, frozenset[Kind], frozenset[int]], Need] = {}
        self._origins_of: dict[frozenset[Kind], tuple[Origin, ...]] = {}

    def forcing(self, names: frozenset[str]) -> SwitchingNetwork:
        """The same, where these conditions get a bit of their own whether or not they depend on themselves."""
        if names <= self.remembers:
            return self
        other = copy(self)
        other.forced = names
        for settled in ("remembers", "in_order"):
            other.__dict__.pop(settled, None)
        return other

    def doubting(self, doubts: Mapping[str, Doubt]) -> SwitchingNetwork:
        """The same, where these things may work on what comes to them through other loads."""
        return self if self._depend(doubts) == self._depend(self.doubts) else SwitchingNetwork(self.circuit, doubts)

    @staticmethod
    def _depend(doubts: Mapping[str, Doubt]) -> dict[str, bool]:
        """What decides how things depend on one another: which doubts there are, and which are free."""
        return {name: doubt.free for name, doubt in doubts.items()}

    def net(self, node: str) -> Net:
        return self.nets.of[node]

    # --- what moves
    def _label(self, branch: Branch) -> Need:
        if not branch.reliable:
            return frozenset({branch.key})
        match branch.guard:
            case InPosition(control):
                return frozenset({control})
            case Pulled(relay):
                return frozenset({pulled(relay)})
            case On(unit, output):
                return frozenset({on(unit, output)})
            case None:
                return NOTHING

    def _variables(self) -> Iterable[Variable]:
        """Controls with the position at rest first, joints that nobody should rely on, and what remembers."""
        for control in self.circuit.controls.values():
            others = [position for position in control.positions if position != control.rest]
            yield Variable(control.name, (control.rest, *others))
        for joint in self.joints:
            yield Variable(joint, (JOINED, OPEN))
        for doubt in self.doubts:
            yield Variable(doubt, (LEFT_OUT, COUNTED))

    def _conditions(self) -> Iterable[Condition]:
        for part in self.harness.parts.values():
            match part:
                case Relay():
                    yield Condition(pulled(part.name), "pulled", part.name)
                case Unit():
                    for output in part.outputs:
                        yield Condition(on(part.name, output.name), "on", part.name, output.name)
                    for latch in part.latches:
                        yield Condition(latched(part.name, latch.name), "set", part.name, latch.name)
                case _:
                    pass
        for supply in self.circuit.supplies:
            if supply.field_keys:
                yield Condition(excited(supply.name), "excited", supply.name)

    @cached_property
    def free(self) -> tuple[str, ...]:
        """Controls that have no position of their own while the engine turns, joints that nobody relies on, and what
        may or may not work through other loads.
        """
        return (*(name for name, control in self.circuit.controls.items() if control.free), *self.joints, *self.doubts)

    def positions_meant(self, name: str, position: str) -> tuple[str, frozenset[str]]:
        """The control, and those of its positions, that a test such as ``NEUTRAL in-gear`` means.

        A test names a switch or the quantity that it senses; two switches of one quantity may name its positions
        differently.
        """
        part = self.harness.parts.get(name)
        if isinstance(part, Switch) and part.positions:
            control = part.control
            own = [p.name for p in part.positions]
            others = [other for other in own if other != "neutral"]
            meant = {
                shared
                for shared in self.circuit.controls[control].positions
                if (shared if shared in own else (others[0] if others else "")) == position
            }
            return control, frozenset(meant)
        return name, frozenset({position})

    # --- sources
    @cached_property
    def origins(self) -> tuple[Origin, ...]:
        found = []
        for supply in self.circuit.supplies:
            if supply.kind == "winding":
                ends = (*supply.plus, supply.minus)
                found += [self._origin(supply, a, b) for a in ends for b in ends if a != b]
            else:
                found += [self._origin(supply, plus, supply.minus) for plus in supply.plus]
        batteries = [o for o in found if o.kind == "battery"]
        strings = [[battery] for battery in batteries]
        while strings:
            longer = [[*s, b] for s in strings for b in batteries if b.plus == s[-1].minus and b not in s]
            found += [
                Origin(s[0].supply, s[0].plus, s[-1].minus, s[0].plus_node, s[-1].minus_node)
                for s in longer
                if s[0].plus != s[-1].minus
            ]
            strings = longer
        return tuple(o for o in found if o.plus != o.minus or o.kind != "winding")

    def _origin(self, supply: Supply, plus: End, minus: End) -> Origin:
        return Origin(supply, self.net(plus), self.net(minus), plus, minus)

    def origins_of(self, kinds: frozenset[Kind]) -> tuple[Origin, ...]:
        """The origins of some kinds of source; one that a battery does the work of in every combination is left out."""
        found = [o for o in self.origins if o.kind in kinds]
        always = {(o.plus, o.minus) for o in found if o.kind == "battery"}
        return tuple(o for o in found if o.kind == "battery" or (o.plus, o.minus) not in always)

    def alternators(self, supply: Supply) -> tuple[Source, ...]:
        """The alternators that a rectifier's phases can be joined to."""
        if supply.name not in self._alternators:
            self._alternators[supply.name] = tuple(self._find_alternators(supply))
        return self._alternators[supply.name]

    def _find_alternators(self, supply: Supply) -> Iterator[Source]:
        for part in self.harness.parts.values():
            if isinstance(part, Source) and part.name not in self.circuit.removed:
                ends = self.stator(part)
                if any(self.can(Reach(self.net(p), True)) & ends for p in supply.phases):
                    yield part

    def stator(self, part: Source) -> frozenset[Net]:
        """The nets at which an alternator gives alternating current."""
        nodes = [*part.phases, *(terminal for winding in part.windings for terminal in winding.terminals)]
        return frozenset(self.net(End(part.name, node)) for node in nodes)

    def field_keys(self, supply: Supply) -> tuple[str, ...]:
        """The fields of which one must be fed first; none where the machine excites itself."""
        if not supply.phases:
            return supply.field_keys
        machines = self.alternators(supply)
        if any(machine.field_winding is None for machine in machines):
            return ()
        return tuple(field_of(machine.name) for machine in machines)

    # --- reaching
    @cached_property
    def wide_edges(self) -> tuple[Edge, ...]:
        """The switched edges, by the same numbers, and the consumers."""
        return (*self.edges, *self.nets.consumers)

    def edges_of(self, graph: Graph) -> Iterable[int]:
        """The numbers of the edges of a graph."""
        first = len(self.edges)
        yield from range(first)
        for i, edge in enumerate(self.nets.consumers, first):
            if edge.branch.branch_type in ALSO[graph]:
                yield i

    def near(self, graph: Graph) -> dict[Net, list[tuple[Net, int]]]:
        """For each net, the nets beside it in a graph, by which edge; whichever way current runs."""
        if graph not in self._beside:
            near: dict[Net, list[tuple[Net, int]]] = {}
            for i in self.edges_of(graph):
                edge = self.wide_edges[i]
                near.setdefault(edge.a, []).append((edge.b, i))
                near.setdefault(edge.b, []).append((edge.a, i))
            self._beside[graph] = near
        return self._beside[graph]

    def steps(self, forward: bool, graph: Graph = "nets") -> Steps:
        """For each net, where current goes from it (or comes to it from), by which edge."""
        key = (forward, graph)
        if key not in self._steps:
            self._steps[key] = self.steps_along(self.edges_of(graph), forward)
        return self._steps[key]

    def steps_along(self, edges: Iterable[int], forward: bool) -> Steps:
        """The same along some edges only."""
        steps: Steps = {}
        for i in edges:
            edge = self.wide_edges[i]
            tail, head = (edge.a, edge.b) if forward else (edge.b, edge.a)
            steps.setdefault(tail, []).append((head, i))
            if edge.both:
                steps.setdefault(head, []).append((tail, i))
        return steps

    def can(self, reach: Reach) -> frozenset[Net]:
        """Every net that is reached when all that may close is closed."""
        found = self._can.get(reach)
        if found is None:
            steps = self.steps(reach.forward)
            met = {reach.start}
            stack = [reach.start]
            while stack:
                net = stack.pop()
                if net == reach.wall:
                    continue
                for other, _ in steps.get(net, ()):
                    if other not in met:
                        met.add(other)
                        stack.append(other)
            found = self._can[reach] = frozenset(met)
        return found

    def shut_out(self, given: Given) -> frozenset[int]:
        """The edges that conduct in none of the positions that controls are known to stand in."""
        return frozenset(
            i
            for control, allowed in given
            for i in self.moved.get(control, ())
            if isinstance(guard := self.edges[i].branch.guard, InPosition) and not guard.positions & allowed
        )

    def cones(
        self, start: Net, wall: Net | None, graph: Graph = "nets", without: frozenset[int] = frozenset()
    ) -> Cones:
        """The cones from a net in a graph, edges ``without`` left out."""
        key = (start, wall, graph, without)
        found = self._cones.get(key)
        if found is None:
            near = self.near(graph)
            if without:
                near = {net: [step for step in steps if step[1] not in without] for net, steps in near.items()}
            found = self._cones[key] = Cones(near, self.labels, start, wall)
        return found

    def reach_needs(self, reach: Reach, net: Net, without: frozenset[int] = frozenset()) -> Need | None:
        """What being reached depends on directly; ``None`` where it cannot be."""
        if net not in self.can(reach):
            return None
        return self.cones(reach.start, None if net == reach.wall else reach.wall, "nets", without).of(net)

    # --- elements
    def senses_of(self, branch: Branch, origin: Origin) -> tuple[tuple[Net, Net], ...]:
        """The pairs (where current enters, where it leaves) in which an element can be joined to a source."""
        sources, drains = self.feeds(origin), self.returns(origin)
        return tuple(
            (enter, leave)
            for enter, leave in self._ways(branch)
            if enter != leave and enter in self.can(sources) and leave in self.can(drains)
        )

    @staticmethod
    def feeds(origin: Origin) -> Reach:
        """F: what is joined from the + of a source."""
        return Reach(origin.plus, True, origin.minus)

    @staticmethod
    def returns(origin: Origin) -> Reach:
        """G: what is joined to the - of a source."""
        return Reach(origin.minus, False, origin.plus)

    def joined_needs(self, branch: Branch, kinds: frozenset[Kind]) -> Need:
        key = (branch.key, kinds)
        found = self._joined.get(key)
        if found is None:
            needs: set[str] = set()
            for origin in self.origins_of(kinds):
                for enter, leave in self.senses_of(branch, origin):
                    needs |= self.reach_needs(self.feeds(origin), enter) or NOTHING
                    needs |= self.reach_needs(self.returns(origin), leave) or NOTHING
                    needs |= self.active_needs(origin)
            found = self._joined[key] = frozenset(needs)
        return found

    def pole_needs(self, node: str, feed: bool, kinds: frozenset[Kind]) -> Need:
        """What being joined to the feed (or return) pole of a source depends on."""
        net = self.net(node)
        needs: set[str] = set()
        for origin in self.origins_of(kinds):
            found = self.reach_needs(self.pole_reach(origin, feed), net)
            if found is not None:
                needs |= found | self.active_needs(origin)
        return frozenset(needs)

    def pole_through_needs(self, node: str, feed: bool, kinds: frozenset[Kind]) -> Need:
        """What being led to the feed (or return) pole of a source through consumers depends on."""
        net = self.net(node)
        needs: set[str] = set()
        for origin in self.origins_of(kinds):
            reach, opposite = self.pole_reach(origin, feed), self.pole_reach(origin, not feed)
            cones = self.cones(reach.start, reach.wall, "wide", frozenset())
            found = self._cone_needs(cones, net, opposite, "wide", frozenset())
            if found is not None:
                needs |= found | (self.reach_needs(opposite, net) or NOTHING) | self.active_needs(origin)
        return frozenset(needs)

    def pole_reach(self, origin: Origin, feed: bool) -> Reach:
        """The reach that tells whether a net is joined to the feed or the return pole of a source.

        The return pole is the one that the system grounds; current runs from + to - whichever that is.
        """
        feed_is_plus = self.circuit.return_sign == "-"
        return self.feeds(origin) if feed == feed_is_plus else self.returns(origin)

    def active_needs(self, origin: Origin) -> Need:
        """What a source's being one depends on."""
        if origin.kind == "battery":
            return NOTHING
        if origin.kind == "winding":
            return frozenset({"engine"}) | (self.reach_needs(self.feeds(origin), origin.minus) or NOTHING)
        return self._machine_needs[origin.supply.name]

    @cached_property
    def _machine_needs(self) -> dict[str, Need]:
        found = {}
        for supply in self.circuit.supplies:
            if supply.kind == "machine":
                needs = {"engine"} | self.phase_needs(supply)
                if self.field_keys(supply):
                    needs.add(excited(supply.name))
                found[supply.name] = frozenset(needs)
        return found

    def phase_needs(self, supply: Supply) -> Need:
        needs: set[str] = set()
        for machine in self.alternators(supply) if supply.phases else ():
            for phase in supply.phases:
                for end in self.stator(machine):
                    needs |= self.reach_needs(Reach(self.net(phase), True), end) or NOTHING
        return frozenset(needs)

    # --- conditions
    def condition_needs(self, condition: Condition) -> Need:
        """What a condition depends on directly."""
        return self._condition_needs[condition.name]

    @cached_property
    def _condition_needs(self) -> dict[str, Need]:
        return {condition.name: self._direct_needs(condition) for condition in self.conditions.values()}

    def _direct_needs(self, condition: Condition) -> Need:
        if condition.kind == "excited":
            supply = next(s for s in self.circuit.supplies if s.name == condition.part)
            needs = {"engine", condition.name} if self.field_keys(supply) else {"engine"}
            for key in self.field_keys(supply):
                if (branch := self.circuit.by_key.get(key)) is not None:
                    doubt = self.doubts.get(field_doubt(supply.name))
                    if doubt is None or not doubt.free:
                        needs |= self.field_needs(branch)
                    if doubt is not None:
                        needs |= self.joined_needs(branch, BATTERY) | {doubt.name}
            return frozenset(needs)
        if condition.kind == "pulled":
            coil = self.circuit.coil_of(condition.part)
            if coil is None:
                return NOTHING
            needs = set(self.joined_needs(coil, DIRECT))
            if (doubt := self.doubts.get(relay_doubt(condition.part))) is not None:
                held = NOTHING if doubt.free else self.through_needs(coil, "wide", DIRECT) | {condition.name}
                needs |= held | {doubt.name}
            return frozenset(needs)
        unit = self.harness.parts[condition.part]
        if not isinstance(unit, Unit) or unit.name in self.circuit.removed:
            return NOTHING
        needs = set(self.powered_needs(unit))
        if condition.kind == "on":
            output = next(o for o in unit.outputs if o.name == condition.item)
            needs |= self.test_needs(unit, output)
            if unit.stop_lead:
                needs |= self.stopped_needs(unit.name, unit.stop_lead)
            if output.is_timed:
                needs.add(condition.name)
        else:
            latch = next(x for x in unit.latches if x.name == condition.item)
            needs |= self.expression_needs(unit, latch.set_when) | self.expression_needs(unit, latch.cleared_when)
            needs.add(condition.name)
        return frozenset(needs)

    def field_needs(self, field: Branch) -> Need:
        """What a field's being fed from a battery depends on, consumers on the way included."""
        return self.through_needs(field, "wide", BATTERY)

    def through_needs(self, branch: Branch, graph: Graph, kinds: frozenset[Kind], given: Given = ()) -> Need:
        """What an element's being joined depends on when the consumers of a graph conduct too.

        ``given`` tells of controls that are asked about in some positions only: contacts that are open in all of these
        lie on no path, so a proof of a stop asks little of what the stop switch cuts off.
        """
        without = self.shut_out(given)
        key = (branch.key, graph, kinds, without)
        known = self._through.get(key)
        if known is not None:
            return known
        needs: set[str] = set()
        for origin in self.origins_of(kinds):
            sources, drains = self.feeds(origin), self.returns(origin)
            reached = False
            for enter, leave in self._ways(branch):
                to = self._wide_needs(branch, sources, enter, drains, graph, without)
                back = self._wide_needs(branch, drains, leave, sources, graph, without)
                if to is not None and back is not None:
                    needs |= to | back
                    reached = True
            if reached:
                needs |= self.active_needs(origin)
        found = self._through[key] = frozenset(needs)
        return found

    def past_itself(
        self, branch: Branch, reach: Reach, net: Net, graph: Graph, without: frozenset[int] = frozenset()
    ) -> Cones:
        """The cones in which an element is asked what reaches its end ``net``: without the element itself, since what
        comes through it does not come to it.
        """
        return self.cones(reach.start, reach.wall, graph, without).but(self._numbers.get(branch.key), net)

    @cached_property
    def _numbers(self) -> dict[str, int]:
        """The number of each consumer's edge."""
        return {edge.branch.key: i for i, edge in enumerate(self.nets.consumers, len(self.edges))}

    def _wide_needs(
        self, branch: Branch, reach: Reach, net: Net, opposite: Reach, graph: Graph, without: frozenset[int]
    ) -> Need | None:
        """What being reached through consumers depends on: paths pass nets that are no rail of the other pole."""
        return self._cone_needs(self.past_itself(branch, reach, net, graph, without), net, opposite, graph, without)

    def _cone_needs(
        self, cones: Cones, net: Net, opposite: Reach, graph: Graph, without: frozenset[int]
    ) -> Need | None:
        """What it depends on that ``net`` is reached in some cones."""
        if net not in cones:
            return None
        needs = set(cones.of(net))
        passed = cones.passed(net)
        for other in passed & self.can(opposite):
            needs |= self.reach_needs(opposite, other, without) or NOTHING
        if graph == "wide":
            needs |= self.rail_needs(passed, without)
        return frozenset(needs)

    def rail_needs(self, nets: Iterable[Net], without: frozenset[int] = frozenset()) -> Need:
        """What it depends on which of some nets are rails of any source."""
        return frozenset().union(*(self._rail_needs_of(net, without) for net in nets))

    def _rail_needs_of(self, net: Net, without: frozenset[int]) -> Need:
        """The same of one net, which lies on many ways: kept."""
        found = self._rail_needs.get((net, without))
        if found is None:
            needs: set[str] = set()
            for origin in self.origins_of(DIRECT):
                for reach in (self.feeds(origin), self.returns(origin)):
                    if net in self.can(reach):
                        needs |= self.reach_needs(reach, net, without) or NOTHING
                        needs |= self.active_needs(origin)
            found = self._rail_needs[net, without] = frozenset(needs)
        return found

    def led_to(self, branch: Branch) -> bool:
        """Whether anything leads to both ends of an element from the two poles of one source, and by some consumer."""
        first = len(self.edges)
        for origin in self.origins_of(DIRECT):
            sources, drains = self.feeds(origin), self.returns(origin)
            for enter, leave in self._ways(branch):
                to = self.past_itself(branch, sources, enter, "wide")
                back = self.past_itself(branch, drains, leave, "wide")
                if enter in to and leave in back:
                    passed = to.edges(enter) | back.edges(leave)
                    if any(i >= first for i in passed):
                        return True
        return False

    def between_sources(self, branch: Branch) -> bool:
        """Whether the two ends of an element can be joined to like poles of different sources."""
        origins = [o for o in self.origins if o.kind in DIRECT]
        a, b = self.net(branch.a), self.net(branch.b)
        return any(
            a in self.can(reach(one)) and b in self.can(reach(other))
            for reach in (self.feeds, self.returns)
            for one in origins
            for other in origins
            if reach(one).start != reach(other).start
        )

    def own_support(self, needs: Iterable[str]) -> frozenset[str]:
        """The things named, and the engine where a sensor's pulses are among them: nothing that decides these."""
        names = frozenset(needs)
        return names | {"engine"} if any(self.is_signal(name) for name in names) else names

    def _ways(self, branch: Branch) -> tuple[tuple[Net, Net], ...]:
        a, b = self.net(branch.a), self.net(branch.b)
        return ((a, b), (b, a)) if branch.branch_type.as_load is Direction.BOTH else ((a, b),)

    def powered_needs(self, unit: Unit) -> Need:
        branch = self.supply_branch(unit)
        if branch is None:
            return NOTHING
        needs = self.joined_needs(branch, DIRECT)
        if (doubt := self.doubts.get(supply_doubt(unit.name))) is not None:
            led = NOTHING if doubt.free else self.through_needs(branch, "wide", DIRECT)
            needs |= led | {doubt.name}
        return needs

    def supply_branch(self, unit: Unit) -> Branch | None:
        """The branch of a unit's first supply, which its logic lives on."""
        first = unit.supplies[0] if unit.supplies else None
        if first is None:
            return None
        return self.circuit.by_key.get(unit_supply(unit, first))

    def test_needs(self, unit: Unit, output: UnitOutput) -> Need:
        return NOTHING if output.when is None else self.expression_needs(unit, output.when)

    def expression_needs(self, unit: Unit | None, expression: object) -> Need:
        """What a condition of the language depends on; of a unit's inputs and latches where ``unit`` is given."""
        from ...lang.model.conditions import All, AnyOf, Not, Test

        match expression:
            case Test(name, position):
                return self._test_needs(unit, name, position)
            case Not(term):
                return self.expression_needs(unit, term)
            case All(terms) | AnyOf(terms):
                return NOTHING.union(*(self.expression_needs(unit, term) for term in terms))
        raise TypeError(f"no condition: {expression!r}")

    def _test_needs(self, unit: Unit | None, name: str, position: str) -> Need:
        if unit is not None:
            for given in unit.inputs:
                if given.name == name:
                    return self.input_needs(unit, given.name)
            return frozenset({latched(unit.name, name)})
        if latch := self.latch_named(name):
            return frozenset({latch})
        return frozenset({self.positions_meant(name, position)[0]})

    def latch_named(self, name: str) -> str | None:
        """The condition of a latch that a test outside its unit names as ``UNIT.latch``."""
        return self._latches.get(name)

    @cached_property
    def _latches(self) -> dict[str, str]:
        """The condition of each latch, by ``UNIT.latch``."""
        return {each.thing: name for name, each in self.conditions.items() if each.kind == "set"}

    def input_needs(self, unit: Unit, name: str) -> Need:
        given = next(i for i in unit.inputs if i.name == name)
        node = End(unit.name, given.terminal)
        if given.mode == "signal":
            return frozenset({f"{unit.name}.{name}", "engine"})
        if given.mode == "fed":
            needs = self.pole_needs(node, True, DIRECT)
        else:
            ground = self.unit_ground(unit)
            needs = NOTHING if ground is None else self.reach_needs(Reach(ground, False), self.net(node)) or NOTHING
        if (doubt := self.doubts.get(input_doubt(unit.name, name))) is not None:
            led = NOTHING if doubt.free else self.led_to_input(unit, name) or NOTHING
            needs |= led | {doubt.name}
        return needs

    def led_to_input(self, unit: Unit, name: str) -> Need | None:
        """What an input's being reached from its pole through consumers depends on; ``None`` where none leads there."""
        given = next(i for i in unit.inputs if i.name == name)
        net = self.net(End(unit.name, given.terminal))
        needs: set[str] = set()
        led = False
        for origin in self.origins_of(DIRECT):
            reach = self.pole_reach(origin, given.mode == "fed")
            opposite = self.pole_reach(origin, given.mode != "fed")
            cones = self.cones(reach.start, reach.wall, "wide")
            if net not in cones or not any(i >= len(self.edges) for i in cones.edges(net)):
                continue
            led = True
            needs |= cones.of(net) | self.rail_needs(cones.passed(net)) | self.active_needs(origin)
            needs |= self.reach_needs(opposite, net) or NOTHING
        return frozenset(needs) if led else None

    def unit_ground(self, unit: Unit) -> Net | None:
        return self.net(End(unit.name, unit.supplies[0].minus)) if unit.supplies else None

    def stopped_needs(self, part: str, lead: tuple[str, str]) -> Need:
        """What a stop lead's being joined to its own return depends on, both ways."""
        start, back = (self.net(End(part, terminal)) for terminal in lead)
        each = (self.reach_needs(Reach(back, forward), start) or NOTHING for forward in (False, True))
        return NOTHING.union(*each)

    # --- dependence among conditions
    @cached_property
    def remembers(self) -> frozenset[str]:
        """The conditions that depend on themselves, straight or round a circle: each needs a bit of its own."""
        return frozenset(name for name in self.conditions if name in self._beyond[name] or name in self.forced)

    @cached_property
    def _beyond(self) -> dict[str, frozenset[str]]:
        """For each condition, every control and condition that it depends on in the end."""
        found: dict[str, frozenset[str]] = {}
        for name in self.conditions:
            met: set[str] = set()
            stack = list(self._condition_needs[name])
            while stack:
                need = stack.pop()
                if need not in met:
                    met.add(need)
                    stack.extend(self._condition_needs.get(need, ()))
            found[name] = frozenset(met)
        return found

    def all_needs(self, needs: Iterable[str]) -> tuple[str, ...]:
        """Everything that is depended on in the end, conditions of every sort among it, in a fixed order."""
        met: set[str] = set()
        for need in needs:
            met |= {need} | self._beyond.get(need, NOTHING)
        return tuple(sorted(met, key=self.place.__getitem__))

    def support(self, needs: Iterable[str]) -> frozenset[str]:
        """The variables that decide: controls, joints, and conditions that remember."""
        met: set[str] = set()
        for need in needs:
            met.add(need)
            if need in self.conditions:
                met |= self._beyond[need]
        if any(
            (control := self.circuit.controls.get(name)) is not None and self.is_signal(control.name) for name in met
        ):
            met.add("engine")
        return frozenset(name for name in met if name in self.variables or name in self.remembers)

    def is_signal(self, name: str) -> bool:
        """Whether a control is a unit's input from a sensor, which gives nothing while the engine stands."""
        control = self.circuit.controls.get(name)
        return control is not None and control.free and not control.switches

    @cached_property
    def in_order(self) -> dict[str, frozenset[str]]:
        """The conditions that do not depend on themselves, each after those it depends on, with the variables that
        decide it.
        """
        plain = [name for name in self.conditions if name not in self.remembers]
        plain.sort(key=lambda name: (len(self._depth(name)), self.place[name]))
        return {name: self.support((name,)) for name in plain}

    def _depth(self, name: str) -> frozenset[str]:
        return frozenset(need for need in self._beyond[name] if need in self.conditions)

    def variable(self, name: str) -> Variable:
        """The variable of a name in a support."""
        return self.variables.get(name) or Variable(name, (NO, YES))
