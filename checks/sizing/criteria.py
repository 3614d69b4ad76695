"""The smallest standard size of a conductor for one reason: what flows, what protects it, what breaks it.

Sizes are those of the language: standard metric ones (ISO 6722-1) and the gauges that the trade stocks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import field, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from ...lang.model.wires import Segment
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ...lang.records import dataclass
from ..conductors.standard_sizes import Standard, fits_contacts, smallest, ways_of
from ..protection.warming import short_time_limit
from ..tables.ampacity import ampacity, ampacity_table
from ..tables.conductors import SAME_SIZE, awg_area
from ..tables.workmanship import workmanship

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.wires import Wire
    from ..protection.protection import Protection

Reason = Literal[
    "current", "held", "fuse", "drop", "dead short", "mechanical", "contacts", "main lead", "check", "unknown"
]


@dataclass(frozen=True, slots=True)
class Need:
    """What a wire needs for one reason: the smallest size of each ladder, ``None`` where none is enough.

    ``says`` is what asks for it, in a few words; ``fits`` whether an area in mm2 is enough. ``reason``: continuous
    current, current while a control is held, the fuse that must protect it, drop, a dead short, the smallest that holds
    mechanically, what its contacts take, the main feed beside a lead of battery, starter or engine ground, a rule
    of the check, or a number that is not known, so that it stays as it is.
    """

    reason: Reason
    says: str
    metric: Size | None
    awg: Size | None
    fits: Callable[[float], bool] = field(compare=False, repr=False)

    def size(self, standard: Standard) -> Size | None:
        return self.metric if standard == "metric" else self.awg


def need(reason: Reason, says: str, fits: Callable[[float], bool]) -> Need:
    return Need(reason, says, smallest("metric", fits), smallest("AWG", fits), fits)


def at_least(reason: Reason, says: str, area: float) -> Need:
    """A need for an area in mm2, give or take what strands differ from it."""
    return need(reason, says, lambda found: found >= area * (1.0 - SAME_SIZE))


# --- reasons ---------------------------------------------------------------------------------------------------------
def for_current(protection: Protection, segments: Iterable[Segment], amps: float, says: str, reason: Reason) -> Need:
    """Ampacity of ``amps`` on every piece's route."""
    segments = tuple(segments)

    def carries(area: float, segment: Segment) -> float:
        found = protection.ampacities.of(segment, area)
        return (found.amps or 0.0) if found else 0.0

    def fits(area: float) -> bool:
        return all(carries(area, segment) >= amps for segment in segments)

    found = need(reason, says, fits)
    return replace(found, says=says + _made_worse(protection, segments, amps, found))


def _made_worse(protection: Protection, segments: tuple[Segment, ...], amps: float, found: Need) -> str:
    """Ambient and bundle, where it is they that ask for a thicker wire."""
    profile = protection.profile
    base = ampacity_table(profile.ampacity).base
    words = []
    ambient = max(protection.ampacities.ambient(segment) for segment in segments)
    bundle = max(protection.ampacities.bundled(segment) for segment in segments)

    def without(area: float, ambient: float | None, bundle: int) -> bool:
        carries = (
            ampacity(
                area, p.wire_class, protection.ampacities.ambient(p) if ambient is None else ambient, profile, bundle
            ).amps
            for p in segments
        )
        return all((each or 0.0) >= amps for each in carries)

    if smallest("metric", lambda area: without(area, base, bundle)) != found.metric:
        words.append(f"at {shown(ambient)} degC")
    if bundle > 1 and smallest("metric", lambda area: without(area, None, 1)) != found.metric:
        words.append(f"among {bundle} in a bundle")
    return "".join(f", {word}" for word in words)


def for_held(protection: Protection, segments: Iterable[Segment], amps: float, says: str, before: float) -> Need:
    """What flows while a control is held or the engine cranks: the short-time rating, ``before`` A keeping it warm."""
    segments, seconds = tuple(segments), protection.profile.cranking_seconds

    def fits(area: float) -> bool:
        limits = (short_time_limit(protection.ampacities, s, seconds, before=before, area=area) for s in segments)
        return all(limit >= amps for limit in limits)

    return need("held", says, fits)


def for_handling(harness: Harness, wire: Wire, amps: float) -> Need:
    """The shop's smallest; where it says nothing, the law's for a wire in a sheath, which is taken where no cover is
    written, too. For what carries less than 1 A a choice of ours: the law exempts that of electronics alone, and asks
    as much of a lamp's wire as of any other. ``amps``: the most that the wire carries.
    """
    shop = harness.house.smallest
    if shop is not None:
        return at_least("mechanical", f"the shop's smallest, {shop.size.text}", shop.size.area)
    if amps < (limit := workmanship("signal_amps").value):
        area = workmanship("smallest_signal_area").value
        says = f"under {shown(limit)} A, {shown(area)} mm2 (Loomwright's limit)"
        return need("mechanical", says, lambda a: a >= area)
    known = workmanship("smallest_gauge")
    area = awg_area(int(known.value))
    sheath = "in a sheath" if _is_covered(harness, wire) else "as in a sheath"
    says = f"{shown(known.value)} AWG {sheath}, {known.cited.source.document}"
    return need("mechanical", says, lambda a: a >= area)


def _is_covered(harness: Harness, wire: Wire) -> bool:
    """Whether a cover is written of every route that a wire takes; not of one that stays in its place."""
    steps = {step for segment in wire.segments for step in pairwise(segment.route)}
    covers = {(route.a, route.b): route.cover for route in harness.routes}
    found = [covers.get((a, b)) or covers.get((b, a)) for a, b in steps]
    return bool(found) and all(cover not in (None, "loose") for cover in found)


def for_contacts(harness: Harness, wire: Wire, least: dict[Standard, Size | None]) -> Need | None:
    """The thinnest size from ``least`` on that the wire's contacts take; ``None`` where they take that."""
    ways = tuple(ways_of(harness, wire))
    if not ways:
        return None

    def taken(standard: Standard) -> Size | None:
        size = least[standard]
        if size is None:
            return None
        return smallest(standard, lambda area: area >= size.area and fits_contacts(harness, wire, area))

    found: dict[Standard, Size | None] = {standard: taken(standard) for standard in least}
    if found == least:
        return None
    says = ", ".join(f"{name} ({shown(amps)} A)" for name, amps in ways)
    return Need(
        "contacts",
        f"contacts of {says}",
        found["metric"],
        found["AWG"],
        lambda area: fits_contacts(harness, wire, area),
    )
