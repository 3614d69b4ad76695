"""Wound fields that a fault leaves without their first current, or so weak that the machine may not charge."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.ids import source_of
from ..dc.regulation import field_share
from ..tables.device_constants import laws as figures
from .effects import WEAK, Category, Effect

if TYPE_CHECKING:
    from ..operation.operation import OperatingPoint
    from .after import After


HALF_FIELD = 0.5
"""Of its regulated volts, below which a field that a fault has weakened may no longer make a machine charge (ours)."""


def weak_fields(point: OperatingPoint, after: After) -> Iterator[Effect]:
    """The machines that are solved to deliver more than a field allows that a fault has weakened: how little then comes
    out is not solved. The engine runs.
    """
    if after.laws is None or after.law_amps is None:
        return
    network = point.flow.network
    for machine in after.situation.machines:
        place = after.laws.place.get(source_of(machine.supply))
        if place is None or not network.machines.field_siemens[machine.supply] or not machine.lasting:
            continue
        before, now = _shares(point, after, machine.supply)
        if now < HALF_FIELD <= before and abs(float(after.law_amps[place])) > now * machine.lasting:
            volts = now * network.regulated[machine.supply]
            yield Effect(source_of(machine.supply), "with a full field", WEAK, volts, Category.MARGINAL)


def unexcited(point: OperatingPoint, after: After) -> Iterator[Effect]:
    """The machines whose field gets its first current while the engine is at rest, and with a fault does not."""
    if point.engine != "off":
        return
    starts = figures().field_start_share
    for supply in point.circuit.supplies:
        if point.flow.network.machines.fields.get(supply.name):
            before, now = _shares(point, after, supply.name)
            if now < starts <= before:
                yield Effect(supply.key, "excited", "not excited", now, Category.MARGINAL)


def _shares(point: OperatingPoint, after: After, machine: str) -> tuple[float, float]:
    """The share of its volts that a field gets without the fault, and with it."""
    network, volts = point.flow.network, after.volts
    if volts is None:
        raise TypeError(f"{machine} has no numbers")
    index = network.index
    return (
        field_share(network, point.flow.at, machine),
        field_share(network, lambda node: float(volts[index[node]]), machine, after.damage.keys),
    )
