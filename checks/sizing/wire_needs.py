"""What each wire needs by itself: for what flows, for what protects it, for what holds mechanically."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Final

from ...lang.circuit.build import build_circuit
from ...lang.circuit.ids import piece_of
from ...lang.model.parts import Ground
from ...lang.model.wires import Wire
from ...lang.quantities.quantity import shown
from ...lang.quantities.ranking import largest
from ..conductors.stator_leads import Alternating, solved
from ..conductors.stator_leads import alternating as stator_currents
from ..conductors.unrated import unrated, wires_to
from ..protection.protection import Protection
from .criteria import Need, Reason, at_least, for_current, for_handling, for_held
from .reach import alternating, faults_returned, fuses_beyond, main_feed
from .trial import Trial, resized

RULES_OF: Final[Mapping[Reason, tuple[str, ...]]] = {
    "current": ("thin-conductor", "thin-return"),
    "held": ("thin-conductor", "thin-return"),
    "fuse": ("oversized-fuse",),
    "drop": ("voltage-drop",),
    "dead short": ("short-not-cleared",),
    "mechanical": ("house-size",),
}
"""The rules that ask a wire for what a need asks for: where one is waived for the wire, the need is not asked."""


class WireNeeds:
    """The needs of the wires of a trial."""

    def __init__(self, trial: Trial) -> None:
        self.trial = trial

    def of(self, free: Mapping[str, Wire], rated: Mapping[str, float]) -> dict[str, tuple[Need, ...]]:
        """The needs of each wire whose size can be chosen, behind fuses of these ratings."""
        protection = Protection(build_circuit(resized(self.trial.thick, {}, rated)), self.trial.profile)
        faults = faults_returned(protection)
        return {
            name: tuple(
                need
                for need in self._needs(wire, protection, faults)
                if not self.trial.is_waived(name, *RULES_OF.get(need.reason, ()))
            )
            for name, wire in free.items()
        }

    def _needs(self, wire: Wire, protection: Protection, faults: Mapping[str, tuple[float, str]]) -> Iterator[Need]:
        loading = self.trial.conductors.of_wire(wire.name)
        amps, held = loading.continuous.amps, loading.short_time.amps
        yield for_handling(self.trial.harness, wire, max(amps, held))
        if wire.name in self._main_leads and (main := main_feed(self.trial.protection)) is not None:
            yield at_least("main lead", f"no thinner than the main feed, {main.text}", main.area)
        if amps > 0.0:
            yield for_current(protection, wire.segments, amps, f"{shown(amps)} A continuous", "current")
        charging = max(self.trial.charging.get(piece_of(segment), 0.0) for segment in wire.segments)
        if charging > amps:
            yield for_current(
                protection, wire.segments, charging, f"{shown(charging)} A into a flat battery", "current"
            )
        if (most := self._most_alternating(wire)) is not None and most.amps > amps:
            least = "" if self._is_solved(wire.name) else "at least "
            says = f"{least}{shown(most.amps)} A rms {most.by}"
            yield for_current(protection, wire.segments, most.amps, says, "current")
        if held > amps:
            seconds = protection.profile.cranking_seconds
            says = f"{shown(held)} A short-time, {shown(seconds)} s"
            yield for_held(protection, wire.segments, held, says, before=min(amps, held))
        share = protection.profile.fuse_warning_share
        exposed = [
            protection.sustained_faults[segment.name]
            for segment in wire.segments
            if segment.name in protection.sustained_faults
        ]
        exposed = [each for each in exposed if each.conductor.key not in protection.cranking_path.feed]
        limited = [each for each in exposed if each.devices and each.known]
        if limited:
            worst = max(limited, key=lambda each: each.amps)
            says = " and ".join(f"{limit.name} {shown(limit.amps or 0.0)} A" for limit in worst.limits)
            yield for_current(protection, wire.segments, worst.amps / share, f"protected by {says}", "fuse")
        for each in exposed:
            beyond = {} if each.protected else fuses_beyond(protection, each.conductor)
            total = sum(amps or 0.0 for amps in beyond.values())
            if total > 0.0:
                says = f"feeds {' and '.join(f'{name} {shown(amps)} A' for name, amps in beyond.items() if amps)}"
                yield for_current(protection, wire.segments, total, says, "fuse")
        returned = max((faults[key] for segment in wire.segments if (key := piece_of(segment)) in faults), default=None)
        if returned is not None:
            amps, names = returned
            says = f"returns a fault behind {names}"
            yield for_current(protection, wire.segments, amps, says, "fuse")
        if why := self._unknown.get(wire.name):
            present = wire.size
            yield at_least("unknown", why, present.area if present else math.inf)

    @cached_property
    def _unknown(self) -> dict[str, str]:
        """Wires of which some current, or the length, is not known, and what is not: they are never made thinner."""
        found: dict[str, str] = {}
        for name, wire in self.trial.harness.wires.items():
            if any(segment.length is None for segment in wire.segments):
                found[name] = "its length is not known"
        for branch, what in unrated(self.trial.operation):
            for name in wires_to(self.trial.protection, branch):
                found.setdefault(name, f"what {branch.key} takes is not known: its {what} is not written")
        for name in alternating(self.trial.protection, solved(self.trial.operation)):
            found.setdefault(
                name,
                "its alternating current is not known: open-circuit voltage and short-circuit current are not written",
            )
        for sustained_fault in self.trial.protection.sustained_faults.values():
            lacking = [
                limit.name
                for limit in sustained_fault.limits
                if limit.amps is None and limit.name not in self.trial.fuses
            ]
            if lacking:
                found.setdefault(
                    sustained_fault.conductor.owner, f"{lacking[0]} may add any current: its rating is not written"
                )
        return found

    def _most_alternating(self, wire: Wire) -> Alternating | None:
        """The most rms current in a piece of a wire between a winding and what it feeds."""
        found = (self._alternating[key] for s in wire.segments if (key := piece_of(s)) in self._alternating)
        return largest(found, key=lambda each: each.amps, default=None)

    def _is_solved(self, wire: str) -> bool:
        return wire not in self._unknown

    @cached_property
    def _alternating(self) -> dict[str, Alternating]:
        return stator_currents(self.trial.operation, self.trial.protection)

    @cached_property
    def _main_leads(self) -> frozenset[str]:
        """The wires of the starter's current, there and back, of the battery's return pole, and between bodies of
        ground: what they carry when a joint beside them fails, or in the cold, is more than any state shows.
        """
        protection = self.trial.protection
        bodies = {part.name for part in self.trial.harness.parts.values() if isinstance(part, Ground)}
        bodies |= {protection.return_pole(s) for s in protection.sources if s.kind == "battery"}
        starting = protection.cranking_path.feed | protection.cranking_path.returns
        return frozenset(
            branch.owner
            for branch in self.trial.circuit.branches
            if branch.segment is not None and (branch.key in starting or (branch.a in bodies and branch.b in bodies))
        )
