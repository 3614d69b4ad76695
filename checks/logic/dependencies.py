"""What the conditions depend on, relays, outputs, latches and field machines: which of them remember, and in what order
they can be worked out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Relay, Switch, Unit, stop_directions
from ...lang.search.walks import closure
from .path_needs import PathNeeds
from .terms import (
    BATTERY,
    COUNTED,
    DIRECT,
    JOINED,
    LEFT_OUT,
    NOTHING,
    OPEN,
    Condition,
    Doubt,
    Need,
    Reach,
    excited,
    field_doubt,
    input_doubt,
    latched,
    on,
    pulled,
    relay_doubt,
    supply_doubt,
)
from .truth_tables import Variable

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net
    from ...lang.model.parts import UnitOutput


def _conditions(circuit: Circuit) -> Iterable[Condition]:
    """Everything in a circuit that remembers or shows something."""
    for part in circuit.harness.parts.values():
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
    for supply in circuit.supplies:
        if supply.field_keys:
            yield Condition(excited(supply.name), "excited", supply.name)


class Dependencies(PathNeeds):
    """How what a circuit remembers depends on its controls, and on itself."""

    def __init__(self, circuit: Circuit, doubts: Mapping[str, Doubt]) -> None:
        super().__init__(circuit)
        self.forced: frozenset[str] = NOTHING
        self.joints = {branch.key: branch for branch in circuit.branches if not branch.reliable}
        self.conditions = {condition.name: condition for condition in _conditions(circuit)}
        self._name(doubts)

    def _name(self, doubts: Mapping[str, Doubt]) -> None:
        """Give everything that can move its variable, these doubts among them."""
        self.doubts = dict(doubts)
        self.variables = {variable.name: variable for variable in self._variables()}
        self.place = {name: i for i, name in enumerate((*self.variables, *self.conditions))}

    def _variables(self) -> Iterable[Variable]:
        """Controls with the position at rest first, joints that nobody should rely on, and what remembers."""
        for control in self.circuit.controls.values():
            others = [position for position in control.positions if position != control.rest]
            yield Variable(control.name, (control.rest, *others))
        for joint in self.joints:
            yield Variable(joint, (JOINED, OPEN))
        for doubt in self.doubts:
            yield Variable(doubt, (LEFT_OUT, COUNTED))

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

    def powered_needs(self, unit: Unit) -> Need:
        branch = self.supply_branch(unit)
        if branch is None:
            return NOTHING
        needs = self.joined_needs(branch, DIRECT)
        if (doubt := self.doubts.get(supply_doubt(unit.name))) is not None:
            led = NOTHING if doubt.free else self.through_needs(branch, "wide", DIRECT)
            needs |= led | {doubt.name}
        return needs

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
        for origin in self.leading(DIRECT, given.mode == "fed"):
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
        """What a kill wire's being connected to its own return depends on, in the directions that it takes."""
        start, back = (self.net(End(part, terminal)) for terminal in lead)
        ways = stop_directions(self.harness.parts[part])
        each = (self.reach_needs(Reach(back, forward), start) or NOTHING for forward in ways)
        return NOTHING.union(*each)

    @cached_property
    def remembers(self) -> frozenset[str]:
        """The conditions that depend on themselves, straight or round a circle: each needs a separate bit."""
        return frozenset(name for name in self.conditions if name in self.forced or name in self._beyond[name])

    @cached_property
    def _beyond(self) -> dict[str, frozenset[str]]:
        """For each condition, every control and condition that it depends on in the end."""
        needs = self._condition_needs
        return {name: frozenset(closure(needs[name], lambda need: needs.get(need, ()))) for name in self.conditions}

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
