"""How combinations follow one another: what remembers moves on until it settles, or never does."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.model.parts import Unit
from .condition_tables import ConditionTables
from .terms import DIRECT, YES
from .truth_tables import Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from .switching_network import SwitchingNetwork
    from .terms import Condition


UNIT_KINDS = ("on", "set")
"""Conditions inside a solid-state unit, which settle faster than anything else."""


class Transitions(ConditionTables):
    """What of the combinations can come about, from rest or from those of a harness with less taken out."""

    def __init__(
        self,
        network: SwitchingNetwork,
        names: Iterable[str],
        *,
        before: Transitions | None = None,
        fixed: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(network, names, fixed=fixed)
        self._before = before

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
        # No search of `lang.search`: a state is come to again with more combinations of controls, a bit each.
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
