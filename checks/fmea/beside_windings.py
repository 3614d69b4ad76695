"""Faults that touch nothing a winding drives: direct current answers them all together, and what windings give stays.

A winding has its own wires, and shares with a battery no more than the ground that both return by. What carries none of
its current there can open, and what no way leads to from it can touch ground, without that it changes.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.search.walks import closure
from ..dc.flow import NO_CURRENT
from .after import felt

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..ac.wound_flow import WoundFlow
    from ..operation.operation import OperatingPoint
    from .after import After
    from .failure_modes import Damage

    Floats = NDArray[np.float64]

SHARED = 1e-3
"""Of the most current of a winding, what may swing in a conductor whose loss changes no more than that in it: part of
what returns by the frame gets into every lead that is connected there (ours).
"""


def beside_windings(point: OperatingPoint) -> BesideWindings | None:
    """What lies beside the windings of a state; ``None`` where none gives anything."""
    from ..ac.wound_flow import WoundFlow

    return BesideWindings(point, point.flow) if isinstance(point.flow, WoundFlow) else None


class BesideWindings:
    """What lies beside the windings of one solved state."""

    def __init__(self, point: OperatingPoint, flow: WoundFlow) -> None:
        self._point = point
        self._flow = flow

    def untouched(self, damage: Damage) -> bool:
        """Whether the windings give what they did after a damage."""
        if damage.joined or (damage.grounded and self._driven(damage.grounded)):
            return False
        hurt = (*damage.opened, *(branch for branch, _ in damage.resisting))
        return not any(self._carries(branch) for branch in hurt)

    def completed(self, after: After) -> After | None:
        """What follows an ``untouched`` damage in direct current, with what windings give; ``None`` where something
        moved that windings drive.
        """
        if after.volts is None or after.laws is None or after.law_amps is None or self._moved(after):
            return None
        flow, direct = self._flow, self._flow.direct
        amps = after.law_amps.copy()
        for i, key in enumerate(after.laws.keys):
            if key in self._swinging:
                amps[i] = flow.law_amps.get(key, amps[i])
        volts = after.volts + (flow.volts - direct.volts)
        return replace(after, volts=volts, law_amps=amps, warming=self._swinging, felt=self._felt, swings=self._swings)

    # --- what windings drive -----------------------------------------------------------------------------------------
    def _carries(self, branch: Branch) -> bool:
        """Whether a branch carries current of a winding, or any on a way from one."""
        if branch.key in self._swinging:
            return True
        wave = self._flow.wave_amps.get(branch.key)
        still = wave is None or abs(float(wave.mean())) < NO_CURRENT
        return not still and (self._driven(branch.a) or self._driven(branch.b))

    def _driven(self, node: str) -> bool:
        return self._point.circuit.nets.of[node] in self._nets

    @cached_property
    def _swinging(self) -> dict[str, float]:
        """What carries a current that swings with a winding, by key, with its A rms."""
        from ..ac.wound import rms

        most = float(rms(self._flow.periodic.coil_amps).max(initial=0.0))
        return self._flow.swinging(SHARED * most)

    @cached_property
    def _swings(self) -> Floats | None:
        from ..ac.harmonics import swings

        return swings(self._flow)

    @cached_property
    def _felt(self) -> dict[str, float]:
        """V across what windings can drive."""
        by_key = self._point.circuit.by_key
        return {
            key: volts
            for key, volts in felt(self._flow).items()
            if self._driven(by_key[key].a) or self._driven(by_key[key].b)
        }

    @cached_property
    def _nets(self) -> frozenset[int]:
        """The nets that windings and their limiters reach, past anything in any position, but not past ground."""
        circuit = self._point.circuit
        nets, near = circuit.nets, dict[int, list[int]]()
        for edge in (*nets.switched, *nets.consumers):
            near.setdefault(edge.a, []).append(edge.b)
            near.setdefault(edge.b, []).append(edge.a)
        ground = nets.of.get(circuit.ground)
        ends: Iterable[End] = (end for coil in self._flow.coils for end in (coil.top, coil.bottom))
        starts = {nets.of[end] for end in (*ends, *self._point.flow.network.watched) if end in nets.of}
        met = closure(starts, lambda net: near.get(net, ()) if net != ground else ())
        return frozenset(met) - {ground} if ground is not None else frozenset(met)

    def _moved(self, after: After) -> bool:
        """Whether contacts, relays or outputs that windings drive are otherwise than in the sound state."""
        before, now = self._point.memory, after.memory
        circuit = self._point.circuit
        turned = {*(before.pulled ^ now.pulled), *(before.on ^ now.on), *(before.excited ^ now.excited)}
        keys = {*turned, *(self._point.flow.situation.conducting ^ after.situation.conducting)}
        parts = {circuit.by_key[key].part if key in circuit.by_key else key for key in keys}
        moved = [branch for part in sorted(parts) for branch in circuit.of_part.get(part, ())]
        return any(self._driven(branch.a) or self._driven(branch.b) for branch in moved)
