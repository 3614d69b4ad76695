"""Thicker wires until a dead short at the end of each opens its fuse in time and heats nothing too far."""

from __future__ import annotations

import math
import operator
from collections.abc import Mapping
from functools import partial

from ...lang.circuit.build import build_circuit
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ..conductors.standard_sizes import ladder
from ..protection.prospective_fault import ProspectiveFault, ProspectiveFaults, heated, not_cleared
from ..protection.protection import Protection
from ..tables.conductors import resistance_per_metre
from ..tables.short_time import k_factor
from .criteria import at_least, need
from .demands import Demands
from .trial import resized


def thicken_for_shorts(demands: Demands, rated: Mapping[str, float]) -> None:
    """Thicker wires until a dead short at the end of each opens its fuse in time and heats nothing too far."""
    seconds = demands.trial.profile.clearing_seconds
    hopeless: set[str] = set()
    for _ in range(len(demands.free) * len(ladder("metric"))):
        sizes = demands.sizes()
        circuit = build_circuit(resized(demands.trial.harness, sizes, rated))
        protection = Protection(circuit, demands.trial.profile)
        analysis = ProspectiveFaults(circuit, protection)
        shorts = list(analysis.shorts())
        changed = False
        for hot in heated(shorts, seconds):
            name = hot.wire.owner
            if (
                name in demands.free
                and hot.wire.segment is not None
                and not demands.trial.is_waived(name, "short-not-cleared")
            ):
                area = math.sqrt(hot.short.i2t) / k_factor(hot.wire.segment.wire_class)
                first = hot.short.devices[0]
                says = f"{first.name} passes {shown(hot.short.i2t)} A2s"
                changed |= demands.add(name, need("dead short", says, partial(operator.le, area)))
        greatest = analysis.battery[0] / analysis.battery[1] if analysis.battery else 0.0
        for short in not_cleared(shorts, seconds):
            carries = protection.ampacities.of(short.wire.segment) if short.wire.segment else None
            harmless = carries is not None and carries.amps is not None and greatest <= carries.amps
            waived = demands.trial.is_waived(short.wire.owner, "short-not-cleared")
            if not harmless and not waived and short.wire.key not in hopeless:
                if _step_thicker(demands, short, sizes):
                    changed = True
                else:
                    hopeless.add(short.wire.key)
                    demands.remarks[
                        f"a dead short at the end of wire {short.wire.owner} is not cleared by any size"
                    ] = None
        if not changed:
            return


def _step_thicker(demands: Demands, short: ProspectiveFault, sizes: Mapping[str, Size]) -> bool:
    """One step thicker for the wire of a short's loop that has most resistance; false where none can be."""
    steps: dict[str, tuple[float, Size]] = {}
    for branch in short.loop:
        name = branch.owner
        if (
            name in demands.free
            and name in sizes
            and (size := demands.next_thicker(name, sizes[name].area)) is not None
            and branch.segment
        ):
            ohms = resistance_per_metre(sizes[name].area) * (branch.segment.length or 0.0)
            steps[name] = (steps.get(name, (0.0, size))[0] + ohms, size)
    if not steps:
        return False
    name = max(steps, key=lambda each: (steps[each][0], each))
    says = f"{short.devices[0].name} must open within {shown(demands.trial.profile.clearing_seconds)} s"
    return demands.add(name, at_least("dead short", says, steps[name][1].area))
