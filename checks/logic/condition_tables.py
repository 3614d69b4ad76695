"""Which conditions hold in every combination, relays, outputs, latches and field machines, as truth tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.conditions import All, AnyOf, Not, Test
from ...lang.model.parts import Relay, Unit
from ..tables.device_constants import shares
from .load_tables import LoadTables
from .reaching import MARGIN, reaching, started
from .terms import BATTERY, COUNTED, DIRECT, YES, Reach, field_doubt, input_doubt, latched, relay_doubt, supply_doubt
from .truth_tables import Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.model.conditions import Condition as Expression
    from ...lang.model.parts import UnitInput, UnitOutput
    from .switching_network import SwitchingNetwork
    from .terms import Condition


class ConditionTables(LoadTables):
    """The tables of the conditions, put in one after the other, each once all that it depends on is there."""

    def __init__(
        self, network: SwitchingNetwork, names: Iterable[str], *, fixed: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(network, names, fixed=fixed)
        self._through: dict[str, Table] = {}
        self._work_out()
        self._ready = True

    def _work_out(self) -> None:
        """Put the conditions in one after the other, each once all that it depends on is there."""
        network = self.network
        for name in self.bits:
            self._known[name] = self.at(name, YES)
        for name in ("", *self.by_name):
            for i in network.moved.get(name, ()):
                self._let(i)
        for name, support in network.in_order.items():
            if support <= self.stride.keys():
                self._known[name] = self._expression(network.conditions[name])
                self._open_up(network.moved.get(name, ()))

    def _open_up(self, edges: Iterable[int]) -> None:
        """Let paths run over edges that have become known, in every flow that was begun before."""
        for i in edges:
            self._let(i)
        self._wide.clear()  # what led through consumers as far as it was known
        self._coming.clear()
        for reach, values in self._flows.items():
            tails = []
            for i in edges:
                edge = self.network.edges[i]
                tails += [edge.a, edge.b]
            self._spread(reach, values, [net for net in dict.fromkeys(tails) if values.get(net)])

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
        """Where a field is fed from a battery; by what comes through loads where that surely excites the alternator
        or dynamo, and where it may and is counted.
        """
        doubt = field_doubt(supply.name)
        if doubt in self and self.network.doubts[doubt].free:
            return self.joined(field, BATTERY) | self.at(doubt, COUNTED)
        reached = self.fed_past_consumers(field)
        if doubt not in self:
            return reached
        if doubt not in self._through:
            joined = self.joined(field, BATTERY)
            left = reached & (reached ^ joined)
            self._through[doubt] = joined | started(self.network, self, supply, field, left)[0]
        return self._through[doubt] | (self.at(doubt, COUNTED) & reached)

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
