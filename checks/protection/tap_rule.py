"""Short taps: thin leads from a stout one to a fuse of their own, within the distance that the law allows.

The law asks for protection at the source of power of each conductor, and where that cannot be, within some inches of it
along the conductor (33 CFR 183.455(b)). The source of a lead that branches off behind a larger fuse is the place where
it branches off: so far its own fuse may be. Until there a fault draws what the larger fuse passes; nothing else can
draw more than its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Fuse
from ...lang.search.cheapest import distances
from ...lang.search.walks import reachable
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
        """Whether a conductor, and all that is connected to it as far as its fuses, lies within the profile's bare
        distance of a lead that is stout enough, and these fuses together pass no more than it may carry.
        """
        protection = self._protection
        branch = sustained_fault.conductor
        along = self._along(sustained_fault.devices)
        circuit, near = protection.circuit, branch.a if sustained_fault.at == branch.b else branch.b
        copper = steps_over(circuit, lambda other: other.branch_type.conductor and other.key != branch.key)
        beyond = reachable([near], copper)
        hanging = [other for node in beyond for other in circuit.at.get(node, ()) if other.key != branch.key]
        joins = {other.key for other in hanging if other.branch_type.conductor}
        if (
            any(along.get(node, math.inf) > protection.profile.bare_distance for node in beyond)
            or any(not other.branch_type.conductor and other.branch_type is not BranchType.FUSE for other in hanging)
            or len(joins) >= len(beyond)
            or not beyond.keys().isdisjoint({branch.a, branch.b} - {near})
        ):
            return False  # where copper goes round in a ring, what comes round it is not known from here
        passed = sum(self._passed(other) for other in hanging if other.branch_type is BranchType.FUSE)
        return 0.0 < passed <= protection.profile.fuse_warning_share * self._thin[branch.key]

    def _passed(self, fuse: Branch) -> float:
        """A that a fuse passes for good; infinite where its line does not say."""
        part = self._protection.circuit.harness.parts[fuse.part]
        rating = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
        return math.inf if rating is None else rating

    def _along(self, devices: tuple[str, ...]) -> dict[End, float]:
        """Metres along thin conductors to each node from the nearest that stout ones join to a device that limits."""
        if devices in self._known:
            return self._known[devices]
        circuit = self._protection.circuit
        limiting = [circuit.by_key[name] for name in devices if name in circuit.by_key]
        ends = sorted({node for branch in limiting for node in (branch.a, branch.b)})

        def step(node: str) -> Iterator[tuple[End, Branch]]:
            for far, branch in self._protection.steps(node, outward=True):
                if branch.branch_type is not BranchType.FUSE:
                    yield far, branch

        def further(metres: float, branch: Branch) -> float:
            """What lies farther away than is asked for is not searched."""
            if metres > self._protection.profile.bare_distance:
                return math.inf
            return metres + _metres(branch, self._thin, begun=metres > 0.0)

        found = self._known[devices] = distances(ends, step, further)
        return found


def _metres(branch: Branch, thin: Mapping[str, float], *, begun: bool) -> float:
    """What a branch adds to a tap. Behind a thin conductor a stout one is no new source: it counts, too."""
    if branch.segment is None or not (begun or branch.key in thin):
        return 0.0
    return math.inf if branch.segment.length is None else branch.segment.length
