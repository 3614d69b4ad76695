"""What moves, or may move, on what comes to it through other loads: weak relays, unit supplies and inputs.

Asked once a circuit, each over its own needs alone with everything else in either position. Where nobody is weak, the
logic is that of joined paths and nothing else. A relay is weak where its coil can get its drop-out volts through other
loads, by the most that the volts can be (``islands``) and never by a path alone: three relays of a sound motorcycle
have such a path. A unit's supply is weak from its dead share on. An input takes no current: it is weak by its path.
A machine's field is weak where what a battery brings it through loads need not start it, as an LED for a charge lamp.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.ids import unit_supply
from ...lang.model.conditions import Test
from ...lang.model.parts import Relay, Unit
from ..dc.relay_fixed_point import drops_out, pulls_in
from ..tables.device_constants import laws, shares
from .reaching import MARGIN, reaching, started
from .state_space import StateSpace
from .terms import BATTERY, DIRECT, NO, NOTHING, Doubt, excited, field_doubt, input_doubt, relay_doubt, supply_doubt

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.model.parts import UnitInput
    from .switching_network import SwitchingNetwork

TOO_MANY = "depends on too many things through other loads to go through them all"

WIDEST = 1 << 18
"""This many combinations what works through loads may depend on (ours): a table of them takes 32 kB, and islands are
looked for in it one class at a time."""


def doubts(network: SwitchingNetwork) -> dict[str, Doubt]:
    """Everything weak in a circuit, by the name of its variable, in the order of the text."""
    return {doubt.name: doubt for doubt in _doubts(network)}


def _doubts(network: SwitchingNetwork) -> Iterator[Doubt]:
    circuit = network.circuit
    nominal = circuit.harness.volts
    for part in circuit.harness.parts.values():
        if part.name in circuit.removed:
            continue
        if isinstance(part, Relay):
            coil = circuit.coil_of(part.name)
            if coil is not None:
                level = MARGIN * min(drops_out(part, nominal), pulls_in(part, nominal))
                told = _reaches(network, coil, level)
                if told is not None:
                    yield Doubt(relay_doubt(part.name), "relay", part.name, why=told)
        elif isinstance(part, Unit) and part.supplies:
            branch = circuit.by_key.get(unit_supply(part, part.supplies[0]))
            told = None if branch is None else _reaches(network, branch, shares()["unit supply"].dead * nominal)
            if told is not None:
                yield Doubt(supply_doubt(part.name), "supply", part.name, why=told)
            for given in part.inputs:
                told = None if given.mode == "signal" else _led(network, part, given)
                if told is not None:
                    name = input_doubt(part.name, given.name)
                    yield Doubt(name, "input", part.name, given.name, why=told, free=bool(told))
    for supply in circuit.supplies:
        told = _starts(network, supply)
        if told is not None:
            yield Doubt(field_doubt(supply.name), "field", supply.name, why=told)


def narrowed(*networks: SwitchingNetwork) -> tuple[SwitchingNetwork, ...]:
    """Networks with the same doubts, where those that make conditions depend on too much are left undecided (``free``).

    The one whose thing depends on most is freed first, until every condition that depends on one that is not free
    depends on no more than ``WIDEST`` combinations in each network, or all are free.
    """
    while True:
        held = {name: doubt for name, doubt in networks[0].doubts.items() if not doubt.free}
        widest = max(((_width(networks, doubt), -i, doubt) for i, doubt in enumerate(held.values())), default=None)
        if widest is None or widest[0] <= WIDEST:
            return networks
        freed = widest[2]
        what = f"{freed.part}.{freed.item}" if freed.item else freed.part
        told = replace(freed, why=f"{what} {TOO_MANY}", free=True)
        networks = tuple(network.doubting({**network.doubts, freed.name: told}) for network in networks)


def _width(networks: tuple[SwitchingNetwork, ...], doubt: Doubt) -> int:
    """The most combinations of what a condition depends on that depends on a doubt, itself included."""
    sizes = [
        math.prod(network.positions.get(name, 2) for name in support)
        for network in networks
        for condition in network.conditions
        if doubt.name in (support := network.support((condition,)))
    ]
    return max(sizes, default=1)


def _reaches(network: SwitchingNetwork, branch: Branch, level: float) -> str | None:
    """Whether a consumer can get ``level`` V where it is not joined: ``None`` no; ``""`` yes; else why nobody knows."""
    if not network.led_to(branch) and not network.between_sources(branch):
        return None
    scope = _own_scope(network, network.joined_needs(branch, DIRECT) | network.through_needs(branch, "wide", DIRECT))
    if scope is None:
        return f"{branch.key} {TOO_MANY}"
    return reaching(scope.network, scope, branch, (level,), lambda tables: bool(tables[0]))[1]


def _led(network: SwitchingNetwork, unit: Unit, given: UnitInput) -> str | None:
    """The same of an input, which what comes from its own pole through consumers may make active."""
    needs = network.led_to_input(unit, given.name)
    if needs is None:
        return None
    scope = _own_scope(network, needs | network.input_needs(unit, given.name))
    if scope is None:
        return f"{unit.name}.{given.name} {TOO_MANY}"
    led = scope.led_to(unit, given)
    return "" if led & (led ^ scope.holds(Test(given.name, "", unit.span), unit)) else None


def _starts(network: SwitchingNetwork, supply: Supply) -> str | None:
    """The same of a machine's field, which what a battery brings it through consumers may start or not."""
    for key in network.field_keys(supply):
        field = network.circuit.by_key.get(key)
        needs = network.field_needs(field) if field is not None else NOTHING
        if field is None or not network.led_to(field):
            continue
        scope = _own_scope(network, needs | network.joined_needs(field, BATTERY) | {excited(supply.name)})
        if scope is None:
            return f"{key} {TOO_MANY}"
        left = scope.fed_past_consumers(field) & scope.at(excited(supply.name), NO)
        left &= left ^ (left & (scope.joined(field, BATTERY) | scope.shorts))
        sure, why = started(scope.network, scope, supply, field, left)
        if left & (left ^ sure):
            return why
    return None


def _own_scope(network: SwitchingNetwork, needs: Iterable[str]) -> StateSpace | None:
    """Every position of some things, conditions among them in either; ``None`` where there are too many."""
    every = network.forcing_all
    names = every.own_support(needs)
    if math.prod(every.positions[name] for name in names) > 1 << laws().table_bits:
        return None
    scope = StateSpace(every, names)
    scope.for_one = True
    return scope
