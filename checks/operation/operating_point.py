"""One operating point: the controls in one combination, what remembers, and all volts and amps."""

from __future__ import annotations

import math
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.model.parts import UnitOutput
from ...lang.records import dataclass
from ..dc.connectivity import Connectivity
from ..dc.flow import Flow
from ..dc.memory import Memory

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...lang.circuit.circuit import Circuit

BRIEF_SECONDS = 30.0
"""For which short-time ratings are, as while a starter turns (ours): an output that holds longer lasts."""

Positions = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class OperatingPoint:
    """One operating point: a combination of the controls, what remembers, and all volts and amps.

    ``state`` is the named state it is (may be empty). ``positions`` has every control; those ``pinned`` count in theirs
    though the engine moves them.
    """

    state: str
    positions: dict[str, str]
    memory: Memory
    flow: Flow = field(repr=False)
    pinned: frozenset[str] = frozenset()

    @property
    def circuit(self) -> Circuit:
        return self.flow.network.circuit

    @property
    def engine(self) -> str:
        return self.positions.get("engine", "off")

    @cached_property
    def momentary(self) -> bool:
        """Whether it lasts no longer than a control is held: a momentary one is off its rest, or the engine cranks, or
        an output is on that only holds for so short a time.
        """
        return (
            self.engine == "cranking"
            or any(
                control.momentary and self.positions[name] != control.rest
                for name, control in self.circuit.controls.items()
            )
            or any(holds_briefly(self.circuit, name) for name in self.lasting)
        )

    @property
    def lasting(self) -> tuple[str, ...]:
        """The outputs that are on only for as long as they hold (``CTRL.pump``), by name."""
        return tuple(sorted(self.memory.lasting & self.memory.on))

    def volts(self, node: str) -> float:
        """V of a node against the ground pole of the battery (of its source, on an island). ``KeyError``: none."""
        return self.flow.at(node)

    def across(self, key: str) -> float:
        """V from ``a`` to ``b`` of a branch; of a source from its (first) + to its -; while all circuits are closed."""
        branch = self.circuit.by_key.get(key)
        if branch is not None:
            return self.flow.across(branch)
        supply = next(s for s in self.circuit.supplies if s.key == key)
        return self.flow.at(supply.plus[0]) - self.flow.at(supply.minus)

    def amps(self, key: str) -> float:
        """A through a branch from ``a`` to ``b``; out of a source at its + (below zero: it is charged).

        While the circuits of all elements of a duty are closed, as ``volts`` and ``across`` are.
        """
        flows = self.flow.amps
        branch = self.circuit.by_key.get(key)
        return flows[key] if branch is not None else -flows.get(key, 0.0)

    def watts(self, key: str) -> float:
        """W taken by a branch, or given by a source, on the average over every duty."""
        return sum(share * _watts(moment, key) for share, moment in self.moments)

    @cached_property
    def moments(self) -> tuple[tuple[float, OperatingPoint], ...]:
        """The same while all circuits of a duty are closed, and while some are open: share of time, point."""
        return tuple((share, replace(self, flow=flow)) for share, flow in self.flow.moments)

    def mean_amps(self, key: str) -> float:
        """A through a branch, or out of a source, averaged over time: what fills or drains a battery. Never more than
        ``heating_amps``; the same where the current of a winding makes it rms.
        """
        return self._over_time(key, [(share, moment.amps(key)) for share, moment in self.moments])

    def mean_across(self, key: str) -> float:
        """V across a branch or a source, averaged over time: what a meter shows of a battery."""
        return self._over_time(key, [(share, moment.across(key)) for share, moment in self.moments])

    def is_rms(self, key: str) -> bool:
        """Whether these averages of a branch or source are rms, since a winding drives it."""
        return any(flow.is_rms(key) for _, flow in self.flow.moments)

    def _over_time(self, key: str, values: Sequence[tuple[float, float]]) -> float:
        mean = sum(share * value for share, value in values)
        if not self.is_rms(key):
            return mean
        return math.copysign(math.sqrt(sum(share * value * value for share, value in values)), mean)

    def heating_amps(self, key: str) -> float:
        """A that warm a wire, a contact or a fuse as the real current does: the root of its mean square."""
        return self.flow.heating.get(key, 0.0)

    @property
    def connectivity(self) -> Connectivity:
        """What is connected to what at this point."""
        return self.flow.connectivity

    @cached_property
    def shorted(self) -> bool:
        """Whether current gets from + to - of one source past no consumer; nothing else is asked of it then."""
        return self.connectivity.shorted

    @cached_property
    def differing(self) -> Positions:
        """The controls that are not at rest, in the order of the text; not those that nobody sets. Then what still
        holds.
        """
        turning = self.engine != "off"
        moved = (
            (name, at)
            for name, at in self.positions.items()
            if (control := self.circuit.controls.get(name)) is None
            or (control.rest != at and not (control.free and turning and name not in self.pinned))
        )
        return (*moved, *((name, "still on") for name in self.lasting))


def _watts(point: OperatingPoint, key: str) -> float:
    """W taken by a branch, or given by a source, while all circuits are as the flow has them; each + of a source gives
    at its own volts.
    """
    if (branch := point.circuit.by_key.get(key)) is not None:
        return point.flow.watts(branch)
    supply = next((s for s in point.circuit.supplies if s.key == key), None)
    if supply is None or len(supply.plus) == 1:
        return point.across(key) * point.amps(key)
    flow, minus = point.flow, point.volts(supply.minus)
    return sum(flow.law_amps.get(supply.tap(plus), 0.0) * (point.volts(plus) - minus) for plus in supply.plus)


def holds_briefly(circuit: Circuit, name: str) -> bool:
    """Whether an output (``CTRL.pump``) holds for no longer than copper is rated for a starter's current."""
    output = circuit.by_key[name].item
    return isinstance(output, UnitOutput) and output.holds is not None and output.holds <= BRIEF_SECONDS
