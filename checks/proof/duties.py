"""Which rules must speak of a single fault, whoever changes them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...lang.model.parts import Capacitor, Ground, Rectifier, Sensor, Source, Switch

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.model.wires import Wire
    from .faults import Fault, Kind

MUST_SPEAK: Final[dict[Kind, frozenset[str]]] = {
    "fuse bridged": frozenset({"oversized-fuse", "unfused-feed"}),
    "ground lost": frozenset(
        {"floating-ground", "lamp-law", "loose-end", "missing-condenser", "never-live", "no-charge", "no-kill-path"}
        | {"split-ground"}
    ),
    "wire lost": frozenset(
        {"floating-ground", "lamp-law", "loose-end", "missing-condenser", "never-live", "no-charge", "no-kill-path"}
        | {"stop-lamp-controls", "unmet-expectation"}
    ),
    "wire moved": frozenset(
        {
            "both-beams",
            "dead-short",
            "exchanged-field",
            "floating-ground",
            "lamp-law",
            "limiter-off",
            "live-with-key-out",
        }
        | {"loose-end"}
        | {"never-live", "no-charge", "no-kill-path", "run-on", "stop-always-on", "stop-lamp-controls", "two-feeds"}
        | {"unfused-feed", "unmet-expectation"}
    ),
    "part turned": frozenset({"battery-reversed", "dead-short", "reversed-polarity", "unfused-feed"}),
    "switch bridged": frozenset(
        {
            "both-beams",
            "dead-short",
            "live-with-key-out",
            "no-kill-path",
            "run-on",
            "stop-always-on",
            "unmet-expectation",
        }
    ),
}
"""Kind of fault -> the rules of which one at least must speak where it is put into a motorcycle that was sound. Of
sizes, wires exchanged and terminals joined none must: that may break no limit and change nothing."""


def must_speak(harness: Harness, fault: Fault) -> frozenset[str]:
    """The rules of which one at least must speak of a fault; empty where nobody needs to notice it.

    That is so of fuses behind another fuse, of a ground on which there may be nothing, and of what alternating
    current, a pick-up or the moment of a spark decides, which is not solved.
    """
    parts = [part for name in fault.touches if (part := harness.parts.get(name)) is not None]
    if any(_unsolved(part) for part in parts) or (parts and all(isinstance(part, Ground) for part in parts)):
        return frozenset()
    if fault.kind == "fuse bridged":
        batteries = {
            part.name for part in harness.parts.values() if isinstance(part, Source) and part.what == "battery"
        }
        near = {end.part for wire in harness.wires.values() for end in (wire.a, wire.b) if _joins(wire, batteries)}
        return MUST_SPEAK[fault.kind] if near & set(fault.touches) else frozenset()
    if fault.kind == "switch bridged" and any(len(part.terminals) > len(_wired(harness, part)) for part in parts):
        return frozenset()  # the contact may be one that leads nowhere
    if fault.kind == "part turned" and not any(isinstance(part, Source) for part in parts):
        return frozenset()
    return MUST_SPEAK.get(fault.kind, frozenset())


def _wired(harness: Harness, part: Part) -> set[str]:
    """The terminals of a part that a wire reaches."""
    ends = (end for wire in harness.wires.values() for end in (wire.a, wire.b))
    return {end.terminal for end in ends if end.part == part.name}


def _joins(wire: Wire, names: set[str]) -> bool:
    return bool({wire.a.part, wire.b.part} & names)


def _unsolved(part: Part) -> bool:
    """Whether what a part does is alternating current, a signal, or a matter of the moment."""
    if isinstance(part, Source):
        return bool(part.phases)
    if isinstance(part, Switch):
        return part.senses == "crank"
    return isinstance(part, Capacitor | Rectifier | Sensor)
