"""Short taps: thin leads from a stout one to a fuse of their own, within the distance that the law allows.

The law asks for protection at the source of power of each conductor, and where that cannot be, within some inches of it
along the conductor (33 CFR 183.455(b)). The source of a lead that branches off behind a larger fuse is the place where
it branches off: so far its own fuse may be. Until there a fault draws what the larger fuse passes; nothing else can
draw more than its own.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import Fuse
from ..tables.fuses import continuous_amps

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from .protection import Protection
    from .sustained_fault import SustainedFault


class Taps:
    """The short taps of a harness.

    ``thin`` holds, by the keys of their branches, the conductors that may carry less than what protects them passes,
    with what that is in A. A length or a rating that is not known allows nothing.
    """

    def __init__(self, protection: Protection, thin: Mapping[str, float]) -> None:
        self._protection = protection
        self._thin = thin
        self._known: dict[tuple[str, ...], dict[End, float]] = {}

    def is_short(self, sustained_fault: SustainedFault) -> bool:
        """Whether a conductor, and all that hangs on it as far as its fuses, lies within the profile's bare distance of
        a lead that is stout enough, and these fuses together pass no more than it may carry.
        """
        protection = self._protection
        branch = sustained_fault.conductor
        along = self._along(sustained_fault.devices)
        passed = 0.0
        met = {branch.a, branch.b}
        waiting = [(branch.a if sustained_fault.at == branch.b else branch.b, branch)]
        while waiting:
            node, came = waiting.pop()
            if along.get(node, math.inf) > protection.profile.bare_distance:
                return False
            for other in protection.circuit.at.get(node, ()):
                if other is came or other is branch:
                    continue
                if other.branch_type is BranchType.FUSE:
                    part = protection.circuit.harness.parts[other.part]
                    rating = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
                    passed += math.inf if rating is None else rating
                elif not other.branch_type.conductor:
                    return False
                else:
                    far = other.b if other.a == node else other.a
                    if far in met:
                        return False  # a ring: what comes round it is not known from here
                    met.add(far)
                    waiting.append((far, other))
        return 0.0 < passed <= protection.profile.fuse_warning_share * self._thin[branch.key]

    def _along(self, devices: tuple[str, ...]) -> dict[End, float]:
        """Metres along thin conductors to each node from the nearest that stout ones join to a device that limits."""
        if devices in self._known:
            return self._known[devices]
        circuit = self._protection.circuit
        limiting = [circuit.by_key[name] for name in devices if name in circuit.by_key]
        found = {node: 0.0 for branch in limiting for node in (branch.a, branch.b)}
        waiting = [(0.0, node) for node in sorted(found)]
        heapq.heapify(waiting)
        while waiting:
            metres, node = heapq.heappop(waiting)
            if metres > found[node] or metres > self._protection.profile.bare_distance:
                continue
            for branch in circuit.at.get(node, ()):
                if branch.branch_type is BranchType.FUSE:
                    continue
                for near, far in self._protection.ways(branch):
                    further = metres + _metres(branch, self._thin, begun=metres > 0.0)
                    if near == node and further < found.get(far, math.inf):
                        found[far] = further
                        heapq.heappush(waiting, (further, far))
        self._known[devices] = found
        return found


def _metres(branch: Branch, thin: Mapping[str, float], *, begun: bool) -> float:
    """What a branch adds to a tap. Behind a thin conductor a stout one is no new source: it counts, too."""
    if branch.segment is None or not (begun or branch.key in thin):
        return 0.0
    return math.inf if branch.segment.length is None else branch.segment.length
