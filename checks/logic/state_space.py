"""The logic of a network over every combination of some of its variables, as truth tables.

A scope holds all that its variables decide: what a source reaches, which conditions hold, and which of their
combinations can come about. An answer read from it is exact where everything that the answer depends on is in the scope
(``Network.support``); edges that anything else moves lie on no path that matters and count as open.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, On, Pulled
from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import End
from ...lang.model.conditions import BY_ITSELF, All, AnyOf, Not, Test
from ...lang.model.parts import Relay, Unit
from ...lang.vocabulary.words import KEY_OUT
from ..tables.device_constants import shares
from .terms import (
    ANY,
    BATTERY,
    COUNTED,
    DIRECT,
    JOINED,
    YES,
    Reach,
    field_doubt,
    input_doubt,
    latched,
    on,
    pulled,
    relay_doubt,
    supply_doubt,
)
from .truth_tables import Space, Table, Variable

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.graphs import Net
    from ...lang.model.conditions import Condition as Expression
    from ...lang.model.parts import UnitInput, UnitOutput
    from .switching_network import SwitchingNetwork
    from .terms import Condition, Graph, Kind, Origin, Steps


UNIT_KINDS = ("on", "set")
"""Conditions inside a solid-state unit, which settle faster than anything else."""


class StateSpace(Space):
    """Every combination of some controls, joints and remembering conditions (``bits``, the slowest variables)."""

    def __init__(
        self,
        network: SwitchingNetwork,
        names: Iterable[str],
        *,
        before: StateSpace | None = None,
        fixed: Mapping[str, str] | None = None,
    ) -> None:
        """``names`` must hold, of each condition that remembers, all that it depends on (``Network.support``).

        ``before`` is the same space of the harness that this one comes from by taking something out: things then start
        from its conditions instead of rest. ``fixed`` holds controls that stand in one position only.
        """
        ordered = sorted(names, key=network.place.__getitem__)
        held = fixed or {}
        super().__init__(Variable(name, (held[name],)) if name in held else network.variable(name) for name in ordered)
        self.network = network
        self.bits = tuple(name for name in ordered if name in network.remembers)
        self.free = tuple(name for name in network.free if name in self)
        self.visible = tuple(name for name in ordered if name not in network.remembers)
        self._before = before
        self._flows: dict[Reach, dict[Net, Table]] = {}
        self._guards: dict[int, Table] = {}
        self._known: dict[str, Table] = {}
        self._wide: dict[tuple[Reach, Graph], dict[Net, Table]] = {}
        self._coming: dict[tuple[Net, str, Reach, Graph], Table] = {}
        self._joined: dict[tuple[str, frozenset[Kind]], Table] = {}
        self._through: dict[str, Table] = {}
        self._active: dict[Origin, Table] = {}
        self._ready = False
        self._work_out()
        self._ready = True

    # --- the edges
    def _work_out(self) -> None:
        """Put the conditions in one after the other, each once all that it depends on is there."""
        network = self.network
        for name in self.bits:
            self._known[name] = self.at(name, YES)
        for name in ("", *self.by_name):
            for i in network.moved.get(name, ()):
                self._guards[i] = self._guard(network.edges[i].branch)
        for name, support in network.in_order.items():
            if support <= self.stride.keys():
                self._known[name] = self._expression(network.conditions[name])
                self._open_up(network.moved.get(name, ()))

    def _open_up(self, edges: Iterable[int]) -> None:
        """Let paths run over edges that have become known, in every flow that was begun before."""
        for i in edges:
            self._guards[i] = self._guard(self.network.edges[i].branch)
        self._wide.clear()  # what led through consumers as far as it was known
        self._coming.clear()
        for reach, values in self._flows.items():
            tails = []
            for i in edges:
                edge = self.network.edges[i]
                tails += [edge.a, edge.b]
            self._spread(reach, values, [net for net in dict.fromkeys(tails) if values.get(net)])

    def _guard(self, branch: Branch) -> Table:
        if not branch.reliable:
            return self.at(branch.key, JOINED)
        match branch.guard:
            case InPosition(control, positions):
                table = 0
                for position in positions:
                    table |= self.at(control, position)
                return table
            case Pulled(relay, state):
                table = self._known[pulled(relay)]
                return table if state else self.full ^ table
            case On(unit, output):
                return self._known[on(unit, output)]
            case None:
                return self.full

    # --- what is reached
    def reached(self, reach: Reach, net: Net) -> Table:
        """Where a net is reached."""
        values = self._flows.get(reach)
        if values is None:
            values = self._flows[reach] = {reach.start: self.full}
            self._spread(reach, values, [reach.start])
        return values.get(net, 0)

    def _spread(self, reach: Reach, values: dict[Net, Table], changed: Iterable[Net]) -> None:
        """Carry on from nets that have been reached in more combinations, a wave of all of them at a time.

        Waves run as far as the longest of the shortest ways; following one way to its end first would do the rest of
        the graph over and over.
        """
        steps = self.network.steps(reach.forward)
        guards = self._guards
        wave = {net: values[net] for net in changed}
        while wave:
            following: dict[Net, Table] = {}
            for net, come in wave.items():
                if net == reach.wall:
                    continue
                for other, i in steps.get(net, ()):
                    guard = guards.get(i)
                    if guard is None:
                        continue
                    new = come & guard
                    if not new:
                        continue
                    old = values.get(other, 0)
                    new &= new ^ old
                    if new:
                        values[other] = old | new
                        following[other] = following.get(other, 0) | new
            wave = following

    def through_consumers(self, reach: Reach, opposite: Reach, graph: Graph) -> dict[Net, Table]:
        """Where nets are reached when the consumers of a graph conduct too, in each combination only past nets that are
        no rail of the other pole.
        """
        key = (reach, graph)
        if key not in self._wide:
            self._wide[key] = self._past_rails(reach, opposite, self.network.steps(reach.forward, graph))
        return self._wide[key]

    def _past_rails(self, reach: Reach, opposite: Reach, steps: Steps) -> dict[Net, Table]:
        first = len(self.network.edges)
        values = {reach.start: self.full}
        wave = dict(values)
        while wave:
            following: dict[Net, Table] = {}
            for net, come in wave.items():
                if net == reach.wall:
                    continue
                if net != reach.start:
                    come &= come ^ self.reached(opposite, net)
                for other, i in steps.get(net, ()):
                    guard = self._guards.get(i) if i < first else self.full
                    if guard is None:
                        continue
                    old = values.get(other, 0)
                    new = come & guard
                    new &= new ^ old
                    if new:
                        values[other] = old | new
                        following[other] = following.get(other, 0) | new
            wave = following
        return values

    # --- sources
    def active(self, origin: Origin) -> Table:
        """Where a source is one."""
        if not self._ready:
            return self._activity(origin)
        found = self._active.get(origin)
        if found is None:
            found = self._active[origin] = self._activity(origin)
        return found

    def _activity(self, origin: Origin) -> Table:
        supply = origin.supply
        if supply.kind == "battery":
            return self.full
        table = self.turning(supply)
        if supply.kind == "winding":
            shorted = self.reached(self.network.feeds(origin), origin.minus)
            return table & (table ^ shorted)
        if self.network.field_keys(supply):
            table &= self._known.get(f"{supply.name} excited", 0)
        if supply.phases:
            table &= self._phases_joined(supply)
        return table

    def turning(self, supply: Supply) -> Table:
        """Where the engine turns fast enough for a source."""
        if "engine" not in self:
            return 0
        positions = list(BY_ITSELF)
        if supply.kind == "winding" or (supply.output is not None and supply.output.cranking):
            positions.append("cranking")
        table = 0
        for position in positions:
            table |= self.at("engine", position)
        return table

    def _phases_joined(self, supply: Supply) -> Table:
        """Where at least two phases of a rectifier are joined to one alternator."""
        found = 0
        for machine in self.network.alternators(supply):
            ends = sorted(self.network.stator(machine))
            one = two = 0
            for phase in supply.phases:
                reach = Reach(self.network.net(phase), True)
                joined = 0
                for end in ends:
                    joined |= self.reached(reach, end)
                two |= one & joined
                one |= joined
            found |= two
        return found

    # --- elements and terminals
    def joined(self, branch: Branch, kinds: frozenset[Kind] = ANY) -> Table:
        """Where an element is joined to a source of these kinds."""
        key = (branch.key, kinds)
        found = self._joined.get(key)
        if found is None:
            found = 0
            for origin in self.network.origins_of(kinds):
                senses = self.network.senses_of(branch, origin)
                if senses:
                    found |= self.driven(origin, senses) & self.active(origin)
            self._joined[key] = found
        return found

    def driven(self, origin: Origin, senses: Iterable[tuple[Net, Net]]) -> Table:
        table = 0
        for enter, leave in senses:
            table |= self.reached(self.network.feeds(origin), enter) & self.reached(self.network.returns(origin), leave)
        return table

    def at_pole(self, node: str, feed: bool, kinds: frozenset[Kind] = DIRECT) -> Table:
        """Where a terminal is joined to the feed pole (else the return pole) of a source."""
        net = self.network.net(node)
        table = 0
        for origin in self.network.origins_of(kinds):
            reach = self.network.pole_reach(origin, feed)
            if net in self.network.can(reach):
                table |= self.reached(reach, net) & self.active(origin)
        return table

    def stopped(self, part: str, lead: tuple[str, str]) -> Table:
        """Where a stop lead is joined to the part's own return, both ways: a diode passes half the waves only."""
        start, back = (self.network.net(End(part, terminal)) for terminal in lead)
        return self.reached(Reach(back, False), start) & self.reached(Reach(back, True), start)

    def guard_of(self, edge: int) -> Table:
        """Where an edge of the net graph, by its number, conducts; nowhere where that is outside the scope."""
        return self._guards.get(edge, 0)

    def decides(self, edge: int) -> bool:
        """Whether what moves an edge of the net graph, by its number, is in the scope."""
        return edge in self._guards

    def conducting(self, branch: Branch) -> Table:
        """Where what moves a branch lets it conduct; it must be decided by the scope."""
        return self._guard(branch)

    def closed(self, branch: Branch, index: int) -> bool:
        """Whether what moves a branch lets it conduct in one combination; not where that is outside the scope."""
        if not branch.reliable:
            return branch.key not in self or bool((self.at(branch.key, JOINED) >> index) & 1)
        match branch.guard:
            case InPosition(control):
                known = control in self
            case Pulled(relay):
                known = pulled(relay) in self._known
            case On(unit, output):
                known = on(unit, output) in self._known
            case None:
                return True
        return known and bool((self._guard(branch) >> index) & 1)

    # --- conditions
    @property
    def decided(self) -> Mapping[str, Table]:
        """Every condition that the scope decides, with where it holds."""
        return self._known

    def condition(self, name: str) -> Table:
        """Where a condition holds, as a statement about the combination itself."""
        return self._known[name]

    def _expression(self, condition: Condition) -> Table:
        """What a condition must equal to be settled."""
        network = self.network
        if condition.kind == "pulled":
            coil = network.circuit.coil_of(condition.part)
            return 0 if coil is None else self._pull(condition, coil)
        if condition.kind == "excited":
            return self._excitation(condition)
        unit = network.harness.parts[condition.part]
        branch = network.supply_branch(unit) if isinstance(unit, Unit) else None
        if not isinstance(unit, Unit) or branch is None:
            return 0
        powered = self._powered(unit, branch)
        if condition.kind == "on":
            output = next(o for o in unit.outputs if o.name == condition.item)
            powered, asked = self._asked(unit, output, powered)
            if not output.is_timed:
                return asked
            was = self._known[condition.name]
            late = asked if output.after is None else asked & was
            return late if output.holds is None else late | (powered & was)
        latch = next(x for x in unit.latches if x.name == condition.item)
        stays = powered & (powered ^ self.holds(latch.cleared_when, unit))
        changed = 0 if latch.toggles else self.holds(latch.set_when, unit)
        return stays & (changed | self._known[condition.name])

    def _asked(self, unit: Unit, output: UnitOutput, powered: Table) -> tuple[Table, Table]:
        """Where an output can be on, and where its condition asks for that; ``powered``: where its unit is."""
        if unit.stop_lead:
            powered &= powered ^ self.stopped(unit.name, unit.stop_lead)
        return powered, powered if output.when is None else powered & self.holds(output.when, unit)

    def _pull(self, condition: Condition, coil: Branch) -> Table:
        """Where a relay is pulled: its coil is joined, or gets its pull-in volts through other loads, or was pulled and
        keeps its drop-out volts through them.
        """
        joined = self.joined(coil, DIRECT)
        doubt = relay_doubt(condition.part)
        relay = self.network.harness.parts[condition.part]
        if doubt not in self or not isinstance(relay, Relay):
            return joined
        if self.network.doubts[doubt].free:
            return joined | self.at(doubt, COUNTED)
        from ..dc.relay_fixed_point import drops_out, pulls_in
        from .weak import MARGIN, reaching

        nominal = self.network.harness.volts
        levels = (MARGIN * drops_out(relay, nominal), MARGIN * pulls_in(relay, nominal))
        (holds, pulls), _ = reaching(self.network, self, coil, levels)
        return joined | (self.at(doubt, COUNTED) & (pulls | (holds & self._known[condition.name])))

    def _powered(self, unit: Unit, branch: Branch) -> Table:
        """Where a unit's supply is joined, or gets its dead share and more through other loads."""
        joined = self.joined(branch, DIRECT)
        doubt = supply_doubt(unit.name)
        if doubt not in self:
            return joined
        if self.network.doubts[doubt].free:
            return joined | self.at(doubt, COUNTED)
        if doubt not in self._through:
            from .weak import reaching

            level = shares()["unit supply"].dead * self.network.harness.volts
            self._through[doubt] = reaching(self.network, self, branch, (level,))[0][0]
        return joined | (self.at(doubt, COUNTED) & self._through[doubt])

    def _counted(self, unit: Unit, given: UnitInput) -> Table:
        """Where what comes to an input through consumers is counted, and may make it active."""
        doubt = input_doubt(unit.name, given.name)
        if doubt not in self:
            return 0
        if doubt not in self._through:
            free = self.network.doubts[doubt].free
            self._through[doubt] = self.full if free else self.led_to(unit, given)
        return self.at(doubt, COUNTED) & self._through[doubt]

    def led_to(self, unit: Unit, given: UnitInput) -> Table:
        """Where an input is reached from its own pole through consumers: past no rail of the other pole, and by no
        copper at it.
        """
        return self.at_pole_through(End(unit.name, given.terminal), given.mode == "fed")

    def at_pole_through(self, node: str, feed: bool, kinds: frozenset[Kind] = DIRECT) -> Table:
        """Where a terminal is reached from the feed pole (``feed``), else the return pole, through consumers: past no
        rail of the other pole, and by no copper at it.
        """
        net = self.network.net(node)
        table = other = 0
        for origin in self.network.origins_of(kinds):
            reach, opposite = self.network.pole_reach(origin, feed), self.network.pole_reach(origin, not feed)
            on = self.active(origin)
            table |= self.through_consumers(reach, opposite, "wide").get(net, 0) & on
            other |= self.reached(opposite, net) & on
        return table & (table ^ other)

    def _excitation(self, condition: Condition) -> Table:
        network = self.network
        supply = next(s for s in network.circuit.supplies if s.name == condition.part)
        table = self.turning(supply)
        keys = network.field_keys(supply)
        if not keys:
            return table
        fed = self._known[condition.name]
        for key in keys:
            if (field := network.circuit.by_key.get(key)) is not None:
                fed |= self._field_fed(supply, field)
        return table & fed

    def _field_fed(self, supply: Supply, field: Branch) -> Table:
        """Where a field is fed from a battery; by what comes through loads where that starts the machine for sure, and
        where it may and is counted.
        """
        doubt = field_doubt(supply.name)
        if doubt in self and self.network.doubts[doubt].free:
            return self.joined(field, BATTERY) | self.at(doubt, COUNTED)
        reached = self.fed_past_consumers(field)
        if doubt not in self:
            return reached
        if doubt not in self._through:
            from .weak import started

            joined = self.joined(field, BATTERY)
            left = reached & (reached ^ joined)
            self._through[doubt] = joined | started(self.network, self, supply, field, left)[0]
        return self._through[doubt] | (self.at(doubt, COUNTED) & reached)

    def fed_past_consumers(self, field: Branch) -> Table:
        """Where a field is fed from a battery, consumers on the way included."""
        a, b = self.network.net(field.a), self.network.net(field.b)
        table = 0
        for origin in self.network.origins_of(BATTERY):
            for enter, leave in ((a, b), (b, a)):
                table |= self.fed_through(origin, field, enter, leave, "wide")
        return table

    def fed_through(self, origin: Origin, branch: Branch, enter: Net, leave: Net, graph: Graph) -> Table:
        """Where current gets from the + of a source to one end of an element and from the other back to its -, through
        other consumers of a graph too, on no rail of the wrong pole.
        """
        sources, drains = self.network.feeds(origin), self.network.returns(origin)
        table = self._comes_to(enter, branch, sources, drains, graph)
        if table:
            table &= self._comes_to(leave, branch, drains, sources, graph)
        return table & (table ^ (self.reached(drains, enter) | self.reached(sources, leave)))

    def _comes_to(self, net: Net, branch: Branch, reach: Reach, opposite: Reach, graph: Graph) -> Table:
        """Where the end ``net`` of an element is reached when the consumers of a graph conduct too, but for itself."""
        key = (net, branch.key, reach, graph)
        found = self._coming.get(key)
        if found is None:
            network = self.network
            past = network.past_itself(branch, reach, net, graph)
            if past is network.cones(reach.start, reach.wall, graph):  # nothing comes through it: as for all
                values = self.through_consumers(reach, opposite, graph)
            else:
                values = self._past_rails(reach, opposite, network.steps_along(past.edges(net), reach.forward))
            found = self._coming[key] = values.get(net, 0)
        return found

    def joined_through(self, branch: Branch, graph: Graph, kinds: frozenset[Kind] = ANY) -> Table:
        """Where an element is joined to a source when the consumers of a graph conduct too."""
        table = 0
        a, b = self.network.net(branch.a), self.network.net(branch.b)
        for origin in self.network.origins_of(kinds):
            for enter, leave in ((a, b), (b, a)) if branch.branch_type.as_load is Direction.BOTH else ((a, b),):
                table |= self.fed_through(origin, branch, enter, leave, graph) & self.active(origin)
        return table

    def enough_in_series(self, branch: Branch, graph: Graph, asked: Table) -> Table:
        """Those of some combinations, in which an element is reached in series, that give it its dead share and more.

        What an alternating winding feeds, what has no dead share or no rating, and what is beyond the most classes
        counts as it is joined.
        """
        if not asked:
            return 0
        from .islands import Islands, most_classes
        from .load_shares import has_share, is_alive

        left = asked & self.joined_through(branch, graph, DIRECT)
        if not left or not has_share(branch):
            return asked
        found = asked ^ left
        islands = Islands(self.network, self, branch, graph)
        for _ in range(most_classes(self)):
            if not left or islands.exhausted:
                break
            island = islands.at((left & -left).bit_length() - 1)
            same = left & island.same
            left ^= same
            bound = islands.bound(island)
            if bound.why or is_alive(branch, self.network.circuit, bound.volts, bound.amps):
                found |= same
        return found | left

    def holds(self, expression: Expression, unit: Unit | None = None) -> Table:
        """Where a condition of the language holds; its tests name inputs and latches of ``unit`` where one is given."""
        match expression:
            case Test(name, position):
                return self._test(name, position, unit)
            case Not(term):
                return self.full ^ self.holds(term, unit)
            case All(terms):
                table = self.full
                for term in terms:
                    table &= self.holds(term, unit)
                return table
            case AnyOf(terms):
                table = 0
                for term in terms:
                    table |= self.holds(term, unit)
                return table

    def _test(self, name: str, position: str, unit: Unit | None) -> Table:
        network = self.network
        if unit is not None:
            given = next((i for i in unit.inputs if i.name == name), None)
            if given is None:
                return self._known[latched(unit.name, name)]
            if given.mode == "signal":
                return self.at(f"{unit.name}.{name}", "active")
            node = End(unit.name, given.terminal)
            if given.mode == "fed":
                return self.at_pole(node, True, DIRECT) | self._counted(unit, given)
            ground = network.unit_ground(unit)
            copper = 0 if ground is None else self.reached(Reach(ground, False), network.net(node))
            return copper | self._counted(unit, given)
        if latch := network.latch_named(name):
            table = self._known[latch]
            return table if position == "set" else self.full ^ table
        control, positions = network.positions_meant(name, position)
        table = 0
        for meant in positions:
            table |= self.at(control, meant)
        return table

    # --- which combinations can come about
    @cached_property
    def expressions(self) -> dict[str, Table]:
        """For each condition that remembers, what it must equal to be settled."""
        return {name: self._expression(self.network.conditions[name]) for name in self.bits}

    @cached_property
    def passing(self) -> dict[str, Table]:
        """For each output with a timer, where it is about to change by itself: its time has begun and is not over."""
        found = {}
        for condition, unit, powered in self._unit_bits("on"):
            output = next(o for o in unit.outputs if o.name == condition.item)
            if not output.is_timed:
                continue  # it has a bit because it depends on itself, or because something else was taken out
            powered, asked = self._asked(unit, output, powered)
            was = self.at(condition.name, YES)
            rises = 0 if output.after is None else asked & self.inverse(was)
            falls = 0 if output.holds is None else powered & was & self.inverse(asked)
            found[condition.name] = rises | falls
        return found

    def _unit_bits(self, kind: str) -> Iterator[tuple[Condition, Unit, Table]]:
        """The remembering conditions of units of one kind, each with its unit and where that is powered."""
        for name in self.bits:
            condition = self.network.conditions[name]
            unit = self.network.harness.parts[condition.part]
            if condition.kind == kind and isinstance(unit, Unit):
                branch = self.network.supply_branch(unit)
                if branch is not None:  # a unit without a supply never works: another rule says so
                    yield condition, unit, self.joined(branch, DIRECT)

    @cached_property
    def toggling(self) -> dict[str, Table]:
        """For each toggled latch, where the press that changes it is going on: it may change, and change back."""
        found = {}
        for condition, unit, powered in self._unit_bits("set"):
            latch = next(x for x in unit.latches if x.name == condition.item)
            if latch.toggles:
                stays = powered & self.inverse(self.holds(latch.cleared_when, unit))
                found[condition.name] = stays & self.holds(latch.set_when, unit)
        return found

    @cached_property
    def _may_change(self) -> dict[str, Table]:
        """For each condition that remembers, where it can turn over: it has to, its time is over, or it is toggled."""
        return {
            name: (table ^ self.at(name, YES)) | self.passing.get(name, 0) | self.toggling.get(name, 0)
            for name, table in self.expressions.items()
        }

    @property
    def lasting(self) -> Table:
        """Where nothing is about to change by itself: what an output still holds, or has yet to begin, is over."""
        table = self.full
        for passes in self.passing.values():
            table &= table ^ passes
        return table

    @cached_property
    def possible(self) -> Table:
        """All but two positions of one thing, which cannot be written, and a sensor's pulses with the engine off."""
        table = self.full
        if "engine" in self:
            off = self.at("engine", "off")
            for name in self.free:
                if self.network.is_signal(name):
                    pulses = off & self.at(name, "active")
                    table &= table ^ pulses
        return table

    @cached_property
    def may_sleep(self) -> Table:
        """Where units may sleep, as far as the scope tells: the engine off, and every key out."""
        table = self.full
        if "engine" in self:
            table &= self.at("engine", "off")
        for control in self.network.circuit.controls.values():
            if control.key and control.name in self:
                out = 0
                for position in KEY_OUT:
                    out |= self.at(control.name, position)
                table &= out
        return table

    @cached_property
    def plausible(self) -> Table:
        """All that a rider can meet with: oil pressure is not good while the engine is off."""
        table = self.full
        if "engine" in self and "oil-pressure" in self:
            odd = self.at("engine", "off") & self.at("oil-pressure", "good")
            table &= table ^ odd
        return table

    @cached_property
    def _width(self) -> int:
        """How many combinations of positions there are."""
        return self.size >> len(self.bits)

    def _reachable(self, positions: Table, relays_in: Table | None = None) -> Table:
        """What comes about from rest while the controls move among ``positions``, one condition at a time.

        Controls move whenever they like, while relays and machines still move too; but a unit's latches settle before
        anything else moves, where they can, since no thumb is as fast as they are. Relays change among ``relays_in``
        only.
        """
        width = self._width
        every = (1 << width) - 1
        waiting = self._waiting
        moving = []
        for name, table in self._may_change.items():
            kind = self.network.conditions[name].kind
            allowed = positions if relays_in is None or kind != "pulled" else positions & relays_in
            differs = table & allowed
            if self.network.doubts:  # no history runs through a dead short: what follows one is no relay's doing
                differs &= differs ^ self.shorts
            moving.append(differs if kind in UNIT_KINDS else differs & (differs ^ waiting))
        met: dict[int, Table] = {0: every}
        stack = [0]
        while stack:
            state = stack.pop()
            shift = state * width
            here = met[state] & (positions >> shift)
            if here & (here ^ (waiting >> shift)) & every:
                here = met[state] = (positions >> shift) & every
            for i, table in enumerate(moving):
                come = here & (table >> shift)
                other = state ^ (1 << i)
                old = met.get(other, 0)
                if come & (come ^ old):
                    met[other] = old | come
                    stack.append(other)
        table = 0
        for state, here in met.items():
            table |= here << (state * width)
        return table & positions

    @property
    def _waiting(self) -> Table:
        """Where a unit's logic is about to settle: all else waits for it."""
        moving = [
            (name, table ^ self.at(name, YES))
            for name, table in self.expressions.items()
            if self.network.conditions[name].kind in UNIT_KINDS
        ]
        unsure = 0
        for _, table in moving:
            unsure |= table
        calm = self.full ^ unsure
        while unsure:
            grown = calm
            for name, table in moving:
                grown |= self._flipped(calm, name) & table
            if grown == calm:
                break
            calm = grown
        return unsure & calm

    def _carried(self, begun: Table) -> Table:
        """The states that come about from others with the controls as they are, one condition at a time."""
        while True:
            grown = begun
            for name, table in self._may_change.items():
                grown |= self._flipped(grown & table, name)
            if grown == begun:
                return begun
            begun = grown

    def _flipped(self, table: Table, name: str) -> Table:
        stride = self.stride[name]
        yes = self.at(name, YES)
        held = table & yes
        return (held >> stride) | ((table ^ held) << stride)

    @cached_property
    def reachable(self) -> Table:
        if not self.bits:
            return self.possible
        if self._before is not None:
            return self._carried(self._before.occurring & self.possible)
        return self._reachable(self.possible)

    @cached_property
    def unsettled(self) -> Table:
        """Where some condition differs from what it must equal."""
        table = 0
        for name, expression in self.expressions.items():
            table |= expression ^ self.at(name, YES)
        return table

    @cached_property
    def chattering(self) -> Table:
        """The states that the conditions run through where they never settle."""
        settled = self.reachable & (self.reachable ^ self.unsettled)
        never = self.reachable & (self.reachable ^ self.some(settled, self.bits))
        if not never:
            return 0
        moving = [(name, table ^ self.at(name, YES)) for name, table in self.expressions.items()]
        running = never
        while True:
            come = 0
            for name, table in moving:
                come |= self._flipped(running & table, name)
            come &= running
            if come == running:
                return running
            running = come

    @cached_property
    def occurring(self) -> Table:
        """Every settled reachable combination, and where none settles those that keep changing."""
        table = self.reachable & (self.reachable ^ self.unsettled)
        return table | self.chattering

    @cached_property
    def counted(self) -> Table:
        """The combinations that questions are asked of: those that occur, without a dead short."""
        table = self.occurring
        short = self.shorts & table
        return table ^ short

    @cached_property
    def shorts(self) -> Table:
        """Where a source is shorted, as far as this scope decides it."""
        table = 0
        for origin in self.network.origins_of(DIRECT):
            reach = self.network.feeds(origin)
            if origin.minus in self.network.can(reach):
                table |= self.reached(reach, origin.minus) & self.active(origin)
        return table

    def may(self, table: Table) -> Table:
        """The positions in which it holds in some condition that occurs, for some position of what nobody sets."""
        return self.some(table & self.counted, (*self.bits, *self.free))

    @cached_property
    def untouched(self) -> Table:
        """What occurs as long as no relay has ever moved with a momentary control away from rest; latches are made to
        be pressed and count as they may stand.
        """
        controls = self.network.circuit.controls
        return self.unmoved([name for name in self.by_name if name in controls and controls[name].momentary])

    def unmoved(self, names: Iterable[str]) -> Table:
        """What occurs with these controls at rest, as long as no relay has ever moved while one was away from it."""
        rest = self.rest(names)
        return self._reachable(self.possible, rest) & self.counted & rest

    def must(self, table: Table, among: Table | None = None) -> Table:
        """The positions in which it holds in every condition that occurs (``among``: in each of some of them): live if
        in any position of a crank switch, but in both of an unreliable joint.
        """
        counted = self.counted if among is None else among
        there = self.some(counted, self.bits)
        fails = self.some(counted & (counted ^ table), self.bits)
        holds = there & (there ^ fails)
        controls = self.network.circuit.controls
        joints = tuple(name for name in self.free if name not in controls)  # and what comes through loads
        crank = tuple(name for name in self.free if name in controls)
        there = self.some(there, crank)
        fails = there & (there ^ self.some(holds, crank))
        there = self.some(there, joints)
        return there & (there ^ self.some(fails, joints))
