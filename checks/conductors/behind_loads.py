"""Sustained fault currents behind limiting loads: a wire that only a resistor, a field or another load feeds.

No device parts it from the feed alone: what limits a fault there is the load before it. Most loads draw no more with
their far end grounded than they always do. Where one may, the wire is grounded and the circuit solved.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.model.parts import Fuse
from ...lang.records import dataclass
from ..dc.devices import UnsolvableError
from ..protection.isolation import joined_to
from ..tables.fuses import continuous_amps

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.model.wires import Segment
    from ..operation.operation import OperatingPoint
    from ..tables.ampacity import Ampacity
    from .loading import Analyses, Conductors

CARRIED = 0.5
"""The share of a fault current that a fuse carries from which it is declared in its way (ours)."""


@dataclass(frozen=True, slots=True)
class Behind:
    """A wire that carries ``amps`` A without end while it is shorted to ground behind the loads ``before``.

    ``fuses``: the fuses in the way, with their ratings in A, none of which opens. ``point``: the setting that shows it.
    ``most``: the A that it could carry if it were thicker.
    """

    branch: Branch
    segment: Segment
    amps: float
    before: tuple[str, ...]
    fuses: tuple[tuple[str, float], ...]
    point: OperatingPoint
    ampacity: Ampacity
    most: float

    @property
    def limit(self) -> float:
        """The A that the wire may carry continuously."""
        return self.ampacity.amps or 0.0

    @property
    def certain(self) -> float:
        """The A above which a figure that was read says so, too."""
        return self.ampacity.certain or 0.0


def behind_loads(conductors: Conductors) -> Iterator[Behind]:
    """Of each wire behind loads whose lasting fault current is above its ampacity, its worst, in the text's order."""
    analyses = conductors.analyses
    protection, circuit = analyses.protection, analyses.circuit
    if protection.shorted:
        return  # `dead-short` says it
    worst: dict[str, Behind] = {}
    walls = protection.feeds | protection.returns
    before: dict[str, tuple[Branch, ...]] = {}
    for branch in circuit.branches:
        segment = branch.segment
        if segment is None or segment.size is None or branch.a in walls or branch.b in walls:
            continue  # fed or returned by copper, and judged by its own exposure
        carries = conductors.of(segment).judged_by
        if carries is None or carries.amps is None:
            continue  # `not-judged` lists it
        if branch.a not in before:
            net = joined_to(circuit, [branch.a], shut=walls)
            before |= dict.fromkeys(net, _loads_before(analyses, net))
        loads = before[branch.a]
        if sum(_most(analyses, load) for load in loads) <= carries.amps:
            continue  # all that could come in together is less than the wire carries
        found = _worst(analyses, branch, segment, loads, carries)
        if found is not None and found.amps > carries.amps:
            known = worst.get(segment.wire)
            if known is None or found.amps / carries.amps > known.amps / (known.ampacity.amps or 1.0):
                worst[segment.wire] = found
    yield from worst.values()


def _loads_before(analyses: Analyses, net: dict[str, Branch | None]) -> tuple[Branch, ...]:
    """The loads by which current can come into a net: those whose other end is neither in it nor grounded."""
    returns = analyses.protection.returns
    return tuple(
        branch
        for branch in analyses.circuit.branches
        if branch.branch_type.consumes
        if any(near in net and far not in net and far not in returns for near, far in _ends(branch))
    )


def _ends(branch: Branch) -> tuple[tuple[str, str], tuple[str, str]]:
    return (branch.a, branch.b), (branch.b, branch.a)


def _most(analyses: Analyses, load: Branch) -> float:
    """The A that a load draws at the highest voltage, its far end grounded."""
    network = analyses.operation.network
    volts, rating = max(network.regulated[""], analyses.circuit.harness.volts * 1.05), network.rated[load.key]
    if rating.ohms is not None:
        return volts / rating.ohms if rating.ohms else 0.0
    return max(rating.curve.amps(volts), -rating.curve.amps(-volts)) if rating.curve is not None else 0.0


def _worst(
    analyses: Analyses, branch: Branch, segment: Segment, loads: tuple[Branch, ...], carries: Ampacity
) -> Behind | None:
    """The worst of the settings known by name or for their load, with either end of the wire shorted to ground."""
    operation = analyses.operation
    best: Behind | None = None
    for point in (*operation.points.values(), *operation.worst_points):
        for end in (branch.a, branch.b):
            try:
                shorted = operation.damaged(frozenset(), end).at(point.positions, point.memory)
            except UnsolvableError:
                continue  # a relay that drops out with the fault: what holds is then another setting
            amps = abs(shorted.amps(branch.key))
            if best is not None and amps <= best.amps:
                continue
            fuses, share = [], 1.0
            for other in analyses.circuit.branches:
                rating = _rating(analyses, other)
                if rating:
                    carried = abs(shorted.amps(other.key))
                    share = min(share, rating / carried) if carried > rating else share
                    if carried >= CARRIED * amps:
                        fuses.append((other.part, rating))
            names = tuple(load.part for load in loads if abs(shorted.amps(load.key)) >= CARRIED * amps / len(loads))
            # A fuse that carries more than its rating opens in time: what it never opens at is its share.
            most = min(sum(_most(analyses, load) for load in loads), *(rating for _, rating in fuses), math.inf)
            best = Behind(
                branch, segment, amps * share, tuple(dict.fromkeys(names)), tuple(fuses), point, carries, most
            )
    return best


def _rating(analyses: Analyses, branch: Branch) -> float | None:
    part = analyses.circuit.harness.parts.get(branch.part)
    return (
        continuous_amps(part.amps, part.blows)
        if branch.branch_type is BranchType.FUSE and isinstance(part, Fuse)
        else None
    )
