"""What a source reaches in every combination, as truth tables: by nets alone, past no consumer."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, On, Pulled
from ...lang.circuit.ids import End
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import stop_directions
from ...lang.vocabulary.words import KEY_OUT
from .terms import ANY, DIRECT, JOINED, Reach, on, pulled
from .truth_tables import Space, Table, Variable

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.graphs import Net
    from .switching_network import SwitchingNetwork
    from .terms import Kind, Origin, Steps


class ReachTables(Space):
    """The tables of what is reached and joined over the combinations of some variables.

    They grow while conditions become known: an edge that a condition moves conducts nowhere until it is.
    """

    def __init__(
        self, network: SwitchingNetwork, names: Iterable[str], *, fixed: Mapping[str, str] | None = None
    ) -> None:
        ordered = sorted(names, key=network.place.__getitem__)
        held = fixed or {}
        super().__init__(Variable(name, (held[name],)) if name in held else network.variable(name) for name in ordered)
        self.network = network
        network.tally.space(self.size)
        self.bits = tuple(name for name in ordered if name in network.remembers)
        self.free = tuple(name for name in network.free if name in self)
        self.visible = tuple(name for name in ordered if name not in network.remembers)
        self._flows: dict[Reach, dict[Net, Table]] = {}
        self._guards: dict[int, Table] = {}
        self._ways: dict[bool, Steps] = {True: {}, False: {}}
        self._known: dict[str, Table] = {}
        self._joined: dict[tuple[str, frozenset[Kind]], Table] = {}
        self._active: dict[tuple[str, Net, Net], Table] = {}
        self._ready = False

    def _let(self, edge: int) -> None:
        """Let paths run over an edge from now on. What few controls decide goes along no others' contacts, however many
        of these are on a feed.
        """
        if edge not in self._guards:
            for forward, steps in self._ways.items():
                for net, found in self.network.steps_along((edge,), forward).items():
                    steps.setdefault(net, []).extend(found)
        self._guards[edge] = self._guard(self.network.edges[edge].branch)

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
        the graph over and over. `lang.search` would be asked once a combination: for the 196,608 of one question of the
        rebuilt demonstration that is 2.9 s, where all at once, a bit each, take 0.1 ms.
        """
        steps, guards = self._ways[reach.forward], self._guards
        wave = {net: values[net] for net in changed}
        while wave:
            following: dict[Net, Table] = {}
            for net, come in wave.items():
                if net == reach.wall:
                    continue
                for other, i in steps.get(net, ()):
                    new = come & guards[i]
                    if not new:
                        continue
                    old = values.get(other, 0)
                    new &= new ^ old
                    if new:
                        values[other] = old | new
                        following[other] = following.get(other, 0) | new
            wave = following

    def active(self, origin: Origin) -> Table:
        """Where a source is one."""
        if origin.kind == "battery":
            return self.full
        if not self._ready:
            return self._activity(origin)
        key = (origin.supply.name, origin.plus, origin.minus)
        found = self._active.get(key)
        if found is None:
            found = self._active[key] = self._activity(origin)
        return found

    def _activity(self, origin: Origin) -> Table:
        supply = origin.supply
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
        """Where at least two phases of a rectifier are connected to one alternator."""
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

    def joined(self, branch: Branch, kinds: frozenset[Kind] = ANY) -> Table:
        """Where an element is connected to a source of these kinds."""
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
        """Where a terminal is connected to the feed pole (else the return pole) of a source."""
        net = self.network.net(node)
        table = 0
        for origin in self.network.origins_of(kinds):
            reach = self.network.pole_reach(origin, feed)
            if net in self.network.can(reach):
                table |= self.reached(reach, net) & self.active(origin)
        return table

    def stopped(self, part: str, lead: tuple[str, str]) -> Table:
        """Where a kill wire is connected to the part's own return, both ways: a diode passes half the waves only, which
        stops no part but one that says so.
        """
        start, back = (self.network.net(End(part, terminal)) for terminal in lead)
        table = self.full
        for forward in stop_directions(self.network.harness.parts[part]):
            table &= self.reached(Reach(back, forward), start)
        return table

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

    @cached_property
    def shorts(self) -> Table:
        """Where a source is shorted, as far as this scope decides it."""
        table = 0
        for origin in self.network.origins_of(DIRECT):
            reach = self.network.feeds(origin)
            if origin.minus in self.network.can(reach):
                table |= self.reached(reach, origin.minus) & self.active(origin)
        return table

    @cached_property
    def may_sleep(self) -> Table:
        """Where units may sleep, as far as the scope tells: the engine off, and every key off."""
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

    @property
    def decided(self) -> Mapping[str, Table]:
        """Every condition that the scope decides, with where it holds."""
        return self._known

    def condition(self, name: str) -> Table:
        """Where a condition holds, as a statement about the combination itself."""
        return self._known[name]
