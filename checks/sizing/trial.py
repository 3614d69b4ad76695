"""A harness that is sized: which of it may change, and what is known of it whatever sizes are chosen.

Currents are those of the named states and of the worst combinations, with every conductor thick whose size can be
chosen, so that they do not depend on what is there now.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

from ...lang.circuit.build import build_circuit
from ...lang.circuit.circuit import Circuit
from ...lang.model.harness import Harness
from ...lang.model.parts import Fuse
from ...lang.quantities.size import Size
from ...lang.quantities.units import metric
from ...lang.records import dataclass
from ..conductors.loading import Conductors
from ..operation.operation import Operation
from ..protection.protection import Protection
from ..runner.run import rule_named
from .reach import only_ways

if TYPE_CHECKING:
    from datetime import date

    from ..logic import SwitchingLogic
    from ..tables.profiles import Profile


THICK: Final = "50"
"""mm2 of every wire while currents are found: what flows then is the most that can."""

DEFAULT_FORM: Final = "blade"
"""The form of a fuse that does not say its own."""


def resized(harness: Harness, sizes: Mapping[str, Size], rated: Mapping[str, float]) -> Harness:
    """The same harness with other sizes of some wires and other ratings in A of some fuses."""
    wires = dict(harness.wires)
    for name, size in sizes.items():
        wire = wires[name]
        wires[name] = replace(wire, size=size, segments=tuple(replace(segment, size=size) for segment in wire.segments))
    parts = dict(harness.parts)
    for name, amps in rated.items():
        part = parts[name]
        if isinstance(part, Fuse):
            parts[name] = replace(part, amps=amps, blows=None)
    return replace(harness, wires=wires, parts=parts)


@dataclass(frozen=True)
class Trial:
    """``facts``: the wires and fuses that stay as they are, and why. ``given``: those of them that nobody can choose
    another size for; all others count as thick while currents are found, so that asking for few gives no other figures
    than asking for all. ``thinner``: what is larger than it must be is made smaller, too.
    """

    harness: Harness
    facts: Mapping[str, str]
    today: date
    profile: Profile
    thinner: bool = False
    given: frozenset[str] = frozenset()

    @cached_property
    def circuit(self) -> Circuit:
        return build_circuit(self.harness)

    @cached_property
    def logic(self) -> SwitchingLogic:
        """The logic, which no size changes."""
        from ..logic import SwitchingLogic

        return SwitchingLogic(self.circuit)

    @cached_property
    def protection(self) -> Protection:
        return Protection(self.circuit, self.profile)

    @cached_property
    def conductors(self) -> Conductors:
        """What each wire carries while every conductor is thick."""
        return Conductors(self)

    @cached_property
    def fuses(self) -> dict[str, Fuse]:
        return {name: part for name, part in self.harness.parts.items() if isinstance(part, Fuse)}

    @cached_property
    def operation(self) -> Operation:
        """What flows with every wire thick whose size can be chosen."""
        return Operation(build_circuit(self.thick), self.logic)

    @cached_property
    def thick(self) -> Harness:
        chosen = [name for name in self.harness.wires if name not in self.given]
        return resized(self.harness, dict.fromkeys(chosen, metric(THICK)), {})

    @cached_property
    def charging(self) -> dict[str, float]:
        """The most A that machines give through each branch that is all the way to a battery, or back: a flat one takes
        all of it, and no state shows that.
        """
        protection = self.protection
        batteries = [s for s in protection.sources if s.kind == "battery"]
        found: dict[str, float] = {}
        for supply in protection.sources:
            amps = None if supply.kind == "battery" else protection.machine_amps(supply)
            for start, ends in (
                (supply.plus[0], [battery.plus[0] for battery in batteries]),
                (supply.minus, [battery.minus for battery in batteries]),
            ):
                for key in only_ways(self.circuit, start, ends) if amps else ():
                    found[key] = found.get(key, 0.0) + (amps or 0.0)
        return found

    def is_waived(self, name: str, *rules: str) -> bool:
        """Whether the user lets a wire or fuse be what one of these rules finds fault with, in every state."""
        return any(
            name in waiver.names and (rule := rule_named(waiver.rule)) is not None and rule.name in rules
            for waiver in self.harness.waivers
            if (waiver.until is None or waiver.until >= self.today) and not getattr(waiver, "state", "")
        )
