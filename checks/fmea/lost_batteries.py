"""Alternators that give on while no battery holds their voltage any more, and one did."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.model.parts import Source
from .effects import Category, Effect
from .failure_modes import Damage
from .faulted_circuit import FaultedCircuit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Supply
    from .after import After
    from .propagation import Propagation

HELD = 0.5
"""Of its regulated volts, what a machine must still have to run away without its battery: one in a short does not
(ours).
"""

DELIVERS = 0.05
"""A beyond its field's, from which a machine feeds something (ours)."""


class LostBatteries:
    """The machines of one state, and what holds their voltage."""

    def __init__(self, propagation: Propagation) -> None:
        self._propagation = propagation
        self._point = propagation.point

    def effects(self, after: After) -> Iterator[Effect]:
        """Those of what follows a fault, while the engine runs on."""
        if after.volts is None:
            return
        network = self._point.flow.network
        hurt = FaultedCircuit(self._propagation.ways, after.situation, after.damage)
        parts = self._point.circuit.harness.parts
        for machine in after.situation.machines:
            supply = next(s for s in self._point.circuit.supplies if s.name == machine.supply)
            part = parts.get(supply.name)
            if isinstance(part, Source) and part.what != "alternator":
                continue
            index = network.index
            across = float(after.volts[index[supply.plus[0]]] - after.volts[index[supply.minus]])
            held = across >= HELD * network.regulated[supply.name] and self._delivers(after, supply)
            if held and supply.name in self._held and not self._holds(hurt, supply):
                yield Effect(supply.key, "with its battery", "without battery", across, Category.CRITICAL)

    @cached_property
    def _held(self) -> frozenset[str]:
        """The machines that a battery holds the voltage of in the sound state."""
        sound = FaultedCircuit(self._propagation.ways, self._point.flow.situation, Damage())
        return frozenset(supply.name for supply in self._point.circuit.supplies if self._holds(sound, supply))

    def _delivers(self, after: After, supply: Supply) -> bool:
        """Whether a machine feeds more than its field: with its return off nothing comes out, whatever V it has."""
        network = self._point.flow.network
        place = after.laws.place.get(supply.key) if after.laws is not None else None
        if place is None or after.law_amps is None:
            return False
        field = network.machines.field_siemens[supply.name] * network.regulated[supply.name]
        return abs(float(after.law_amps[place])) > field + DELIVERS

    def _holds(self, faulted_circuit: FaultedCircuit, supply: Supply) -> bool:
        """Whether a battery is connected to a machine at both poles."""
        conducting = faulted_circuit.situation.conducting
        return any(
            faulted_circuit.leads(supply.plus[0], battery.plus, conducting)
            and faulted_circuit.leads(battery.minus, (supply.minus,), conducting)
            for battery, _ in self._point.flow.network.batteries
        )
