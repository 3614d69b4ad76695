"""Faults that were there before a state was reached. Once excited a machine feeds its own field, and a relay that is in
holds on less than it pulls in at: what opened before the start may leave them at rest for good, where the same thing,
opened on the running engine, does nothing.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ..dc.conducting import situation_of
from ..dc.control_units import set_latches
from ..dc.devices import UnsolvableError
from ..dc.flow import flow_of
from ..dc.memory import AT_REST, Memory
from ..dc.regulation import field_share
from ..tables.device_constants import laws as figures
from .propagation import NO_CURRENT

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..dc.flow import Flow
    from .after import After
    from .failure_modes import Damage
    from .propagation import Propagation

    Floats = NDArray[np.float64]

DIFFERS = 0.01
"""Of the system's volts, by which something shows otherwise (ours)."""


class Earlier:
    """Faults of one state that were there before relays pulled in and machines were excited for it. A latch that a
    button sets or clears stays as it was with the lead of that open.

    ``start``: how what remembers is then; ``None`` where nothing has to start, so that all is as if they came now.
    """

    def __init__(self, propagation: Propagation, *, from_rest: bool = True, before: Memory = AT_REST) -> None:
        """``from_rest``: all that remembers starts at rest, latches apart that the controls set, or that were set
        ``before``; else relays stand as they were left, and machines alone start.
        """
        self._propagation = propagation
        point = propagation.point
        memory = point.memory
        named = set_latches(point.circuit, point.positions)
        latched = memory.latched & named | before.latched - named
        self._latched = memory.latched ^ latched if from_rest else frozenset()
        moving = memory.excited or memory.pulled or self._latched
        if propagation.network.turns(propagation.point.engine):  # each fault is solved for itself then
            moving = memory.excited
        elif from_rest:
            moving = moving or memory.on
        start = Memory(latched=latched) if from_rest else replace(memory, excited=frozenset())
        self.start: Memory | None = start if moving and start != memory else None

    def carries(self, branch: Branch) -> bool:
        """Whether a branch carries current before anything has started, in the sound harness."""
        return self._flow is not None and abs(self._flow.amps[branch.key]) > NO_CURRENT

    @cached_property
    def _flow(self) -> Flow | None:
        point, network = self._propagation.point, self._propagation.network
        if self.start is None:
            return None
        situation = situation_of(network, point.positions, self.start, network.regulated, pinned=point.pinned)
        try:
            return flow_of(network, situation, point.flow)
        except UnsolvableError:
            return None

    def hindering(self, damages: Mapping[str, Damage]) -> dict[str, Damage]:
        """Those of some damages, by name, that may keep a machine from its first field current: all whose field gets
        too little while all that remembers stands as in ``start``, and those of which this is not known.
        """
        if self.start is None:
            return {}
        network, point = self._propagation.network, self._propagation.point
        index, least = network.index, figures().field_start_share
        found = {}
        for (name, damage), volts in zip(
            damages.items(), self._propagation.at_first(list(damages.values()), self.start), strict=True
        ):

            def at(node: str, volts: Floats | None = volts) -> float:
                return float(volts[index[node]]) if volts is not None else 0.0

            shares = (field_share(network, at, machine, damage.keys) for machine in point.memory.excited)
            if any(share < least for share in shares):
                found[name] = damage
        return found

    def otherwise(self, damages: Mapping[str, Damage], later: Mapping[str, Floats]) -> frozenset[str]:
        """Those of some damages, by name, that show otherwise if they were there before; ``later``: V of all nodes with
        each of them if it comes now. What does not settle from there is not among them.
        """
        import numpy as np

        if not self._propagation.point.memory.pulled and not self._latched:  # then machines alone have to start
            damages = self.hindering(damages)
        if self.start is None or not damages:
            return frozenset()
        limit = DIFFERS * self._propagation.point.circuit.harness.volts
        found: list[After] = self._propagation.of(list(damages.values()), self.start)
        return frozenset(
            name
            for name, after in zip(damages, found, strict=True)
            if after.volts is not None and bool(np.any(np.abs(after.volts - later[name]) > limit))
        )
