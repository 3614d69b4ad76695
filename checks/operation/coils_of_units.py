"""Which coils the ignition units of a motorcycle drive: a unit that is fed gives no spark without them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.model.parts import Unit
from ..logic.part_predicates import driven_coils
from ..logic.switching_network import SwitchingNetwork

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...lang.circuit.circuit import Circuit
    from .operation import Operation


def coils_of_units(operation: Operation) -> Mapping[str, frozenset[str]]:
    """The coils that each ignition unit drives by its outputs, if any: parts by their names."""
    found: Mapping[str, frozenset[str]] | None = operation.told.get(coils_of_units)
    if found is None:
        found = operation.told[coils_of_units] = _coils_of_units(operation.circuit)
    return found


def _coils_of_units(circuit: Circuit) -> dict[str, frozenset[str]]:
    units = [p for p in circuit.harness.parts.values() if isinstance(p, Unit) and p.is_ignition and p.outputs]
    if not units:
        return {}
    network = SwitchingNetwork(circuit)
    driven = {u.name: frozenset(circuit.by_key[key].part for _, key in driven_coils(network, u)) for u in units}
    return {name: coils for name, coils in driven.items() if coils}
