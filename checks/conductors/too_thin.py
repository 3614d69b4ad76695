"""The conductors that may carry less than what protects them passes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..protection.protection import Protection
    from ..protection.sustained_fault import SustainedFault
    from ..tables.ampacity import Ampacity
    from .loading import Conductors


def too_thin(protection: Protection, conductors: Conductors) -> Iterator[tuple[SustainedFault, Ampacity, float, str]]:
    """What a fault draws in each of them, the table that judges it, the A of that, and its size; short taps too. One
    without a size, a rating or a device is left out, and so is the starter's feed.
    """
    for fault in protection.sustained_faults.values():
        segment = fault.conductor.segment
        if segment is None or segment.size is None or not fault.devices or not fault.known:
            continue
        if fault.conductor.key in protection.cranking_path.feed:
            continue
        carries = conductors.of(segment).judged_by
        if carries is None or carries.amps is None:
            continue  # `not-judged` lists it
        if fault.amps / carries.amps > protection.profile.fuse_warning_share:
            yield fault, carries, carries.amps, segment.size.text
