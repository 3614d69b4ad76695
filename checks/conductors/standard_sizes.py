"""The standard sizes of wire to choose from, and which of them the contacts of a wire take.

Sizes are those of the language: standard metric ones (ISO 6722-1) and the gauges that the trade stocks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import TYPE_CHECKING, Literal

from ...lang.model.parts import Connector
from ...lang.quantities.size import Size
from ...lang.quantities.units import american, metric
from ..tables.conductors import SAME_SIZE, metric_sizes, stocked_gauges
from ..tables.contacts import contacts_for

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.wires import Wire

Standard = Literal["metric", "AWG"]


@cache
def ladder(standard: Standard) -> tuple[Size, ...]:
    """The sizes to choose from, thinnest first."""
    if standard == "metric":
        return tuple(metric(f"{size.area:g}") for size in metric_sizes())
    gauges = sorted((gauge for gauge in stocked_gauges() if gauge >= 0), reverse=True)
    return tuple(size for gauge in gauges if (size := american(str(gauge))) is not None)


def standard_of(size: Size | None) -> Standard:
    """The ladder that a wire stays on: gauges for one written in a gauge, metric for all else."""
    return "AWG" if size is not None and size.standard == "AWG" else "metric"


def smallest(standard: Standard, fits: Callable[[float], bool]) -> Size | None:
    """The thinnest size of a ladder whose area in mm2 fits."""
    return next((size for size in ladder(standard) if fits(size.area)), None)


def is_same(one: Size | None, other: Size | None) -> bool:
    """Whether two sizes are meant as one: strands differ a little from the nominal size."""
    if one is None or other is None:
        return one is other
    if one.standard == "AWG" and other.standard == "AWG":
        return one.gauge == other.gauge
    return abs(one.area - other.area) <= SAME_SIZE * max(one.area, other.area)


def fits_contacts(harness: Harness, wire: Wire, area: float) -> bool:
    """Whether the contacts of the ways that a wire ends in or runs through take it."""
    return all(
        any(contact.takes(area) for contact in contacts_for(amps))
        for _, amps in ways_of(harness, wire)
        if contacts_for(amps)
    )


def ways_of(harness: Harness, wire: Wire) -> Iterator[tuple[str, float]]:
    """The connectors that a wire meets and the rating of their ways, where it is written."""
    met: dict[str, float] = {}
    for end in (wire.a, wire.b, *wire.via):
        part = harness.parts.get(end.part)
        if isinstance(part, Connector) and part.amps:
            met[part.name] = part.amps
    yield from met.items()
