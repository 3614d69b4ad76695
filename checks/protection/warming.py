"""How hot a wire becomes, and what it may carry for a short time: the one thermal model that all commands ask.

Continuous: the rise above ambient goes with the square of the current, and ampacity brings the wire to the temperature
of its class. For some seconds, from the temperature that a current ``before`` keeps it at: never hotter than if all the
additional heat stayed in the copper (the adiabatic equation of IEC 60364-5-54), and never cooler than it was before.
Both are bounds from above: what leaves the surface at the higher temperature is left out.

Why the additional heat is that of ``amps`` squared less ``before`` squared: at its steady temperature a wire gives off
what ``before`` heats it with; hotter, it gives off more, and in proportion to a rise from ambient that grows faster
than the resistance of copper, whose straight line begins 234.5 K below 0 degC.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ..tables.conductors import copper, insulation_class
from ..tables.short_time import adiabatic_amps, adiabatic_celsius

if TYPE_CHECKING:
    from ...lang.model.wires import Segment
    from .ampacities import Ampacities


def temperature(
    ampacities: Ampacities, segment: Segment, amps: float, *, before: float = 0.0, seconds: float = math.inf
) -> float | None:
    """The degC that a piece of wire has at most after ``seconds`` of ``amps`` A, ``before`` A having kept it warm.

    ``None`` where no ampacity is known, or none is left at its ambient.
    """
    found = ampacities.of(segment)
    if segment.size is None or found is None or not found.amps:
        return None
    ambient, highest = ampacities.ambient(segment), insulation_class(segment.wire_class).highest
    steady = _steady(amps, found.amps, ambient, highest)
    if math.isinf(seconds):
        return steady
    start = _steady(before, found.amps, ambient, highest)
    if amps <= before or start >= copper().melting_point:
        return start
    added = math.sqrt(amps**2 - before**2)
    return max(start, min(steady, adiabatic_celsius(segment.size.area, start, added, seconds)))


def short_time_limit(
    ampacities: Ampacities, segment: Segment, seconds: float, *, before: float = 0.0, area: float | None = None
) -> float:
    """The A that bring a piece of wire to the temperature of its class in ``seconds``, ``before`` A having kept it
    warm; never less than its ampacity, and 0 without a size. With ``area`` mm2 in place of what it has.

    Where its class leaves no rise on its route, by the class that the route needs, as ``Ampacities.judged`` has it.
    """
    area = segment.size.area if area is None and segment.size is not None else area
    found = ampacities.judged(segment, area) if area is not None else None
    if area is None or found is None or not found.amps:
        return 0.0
    start, highest, _ = kept_at(ampacities, segment, before, area)
    if start >= highest:
        return found.amps
    return max(found.amps, math.hypot(before, adiabatic_amps(area, start, highest, seconds)))


def kept_at(
    ampacities: Ampacities, segment: Segment, amps: float, area: float | None = None
) -> tuple[float, float, float]:
    """The degC at which ``amps`` A keep a piece of known ampacity, those of the class that it is judged by (its own, or
    the one that its route needs), and those of its hottest ambient.
    """
    own, judged = ampacities.of(segment, area), ampacities.judged(segment, area)
    needed = ampacities.class_for(segment) if own is not None and own.amps == 0.0 else None
    highest = (needed or insulation_class(segment.wire_class)).highest
    ambient = ampacities.ambient(segment)
    allowed = judged.amps if judged is not None else None
    return (_steady(amps, allowed, ambient, highest) if allowed else ambient), highest, ambient


def _steady(amps: float, ampacity: float, ambient: float, highest: float) -> float:
    return ambient + (highest - ambient) * (amps / ampacity) ** 2
