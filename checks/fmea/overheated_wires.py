"""Which wires a fault overheats: a return that is lost sends its current through what is left."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Source
from ..protection.warming import short_time_limit, temperature
from ..tables.conductors import copper
from .effects import Category, Effect
from .stators import swinging

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint
    from ..protection.protection import Protection
    from .after import After

    Floats = NDArray[np.float64]

TOO_MUCH = 1.5
"""Times what a wire may carry, from which a fault overheats it (ours): less is a matter for the sizes, not for a fault.
"""


class Carried:
    """What the wires of a harness may carry, held against what they carry after a fault."""

    def __init__(self, protection: Protection, network: NodalEquations) -> None:
        self.protection = protection
        self.network = network

    @cached_property
    def _wires(self) -> list[tuple[Branch, float, float]]:
        """Each piece of wire with a size: its ampacity, and its rating for the profile's cranking time, in A.

        A wire without a size or a row in the tables is not judged here; ``not-judged`` says so.
        """
        found = []
        for branch in self.network.circuit.branches:
            segment = branch.segment
            if segment is None or segment.size is None or self.network.rated[branch.key].ohms is None:
                continue
            carries = self.protection.ampacities.of(segment)
            if carries is not None and carries.amps is not None:
                seconds = self.protection.profile.cranking_seconds
                brief = short_time_limit(self.protection.ampacities, segment, seconds)
                found.append((branch, carries.amps, brief))
        return found

    @cached_property
    def _arrays(self) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats, Floats, Floats]:
        """Ends, conductances, and the two limits."""
        import numpy as np

        index, rated = self.network.index, self.network.rated
        branches = [branch for branch, _, _ in self._wires]
        return (
            np.array([index[b.a] for b in branches], dtype=np.intp),
            np.array([index[b.b] for b in branches], dtype=np.intp),
            np.array([1.0 / (rated[b.key].ohms or 1.0) for b in branches]),
            np.array([limit for _, limit, _ in self._wires]),
            np.array([limit for _, _, limit in self._wires]),
        )

    def amps(self, volts: Floats, found: Sequence[After]) -> Floats:
        """A of each wire after some faults, at these volts of all nodes; (cases, wires)."""
        import numpy as np

        a, b, siemens, _, _ = self._arrays
        now: Floats = np.abs(volts[:, a] - volts[:, b]) * siemens
        for amps, after in zip(now, found, strict=True):
            self._warmed(amps, after.warming)
            self._on_ground(amps, after)
        return now

    def hot(self, point: OperatingPoint, amps: Floats) -> NDArray[np.bool_]:
        """Which wires carry far more than they may with these A, and do not in the sound state; (cases, wires).

        A short time counts while a control is held or the engine cranks.
        """
        import numpy as np

        a, b, siemens, continuous, brief = self._arrays
        most = TOO_MUCH * (brief if point.momentary else continuous)
        before = np.abs(point.flow.volts[a] - point.flow.volts[b]) * siemens
        self._warmed(before, swinging(point.flow))
        return np.asarray((amps > most) & (before <= most))

    def overheated(self, point: OperatingPoint, after: After, amps: Floats, hot: NDArray[np.bool_]) -> Iterator[Effect]:
        """The wires that a fault overheats, of those that are ``hot`` then, with their A."""
        for i in hot.nonzero()[0].tolist():
            branch = self._wires[i][0]
            if branch.key not in after.damage.keys:
                heated = "melted" if self._melts(branch, float(amps[i]), held=point.momentary) else "overheated"
                yield Effect(branch.key, "within its rating", heated, float(amps[i]), Category.CATASTROPHIC)

    def _warmed(self, amps: Floats, swinging: Mapping[str, float]) -> None:
        """Put the rms of what swings in place of what mean volts drive: no volts of its ends tell that."""
        for i, (branch, _, _) in enumerate(self._wires if swinging else ()):
            amps[i] = swinging.get(branch.key, amps[i])

    def _on_ground(self, amps: Floats, after: After) -> None:
        """Put the A rms of a stator that has a lead on ground to the wires of that lead."""
        circuit, nets = self.network.circuit, self.network.circuit.nets.of
        damage = after.damage
        touched = {nets[end] for end in (damage.grounded, *(end for pair in damage.joined for end in pair)) if end}
        for name, most in after.leads.items():
            part = circuit.harness.parts.get(name)
            phases = part.phases if isinstance(part, Source) else ()
            leads = touched & {nets[End(name, phase)] for phase in phases}
            for i, (branch, _, _) in enumerate(self._wires if leads else ()):
                if nets[branch.a] in leads:
                    amps[i] = max(amps[i], most)

    def _melts(self, branch: Branch, amps: float, *, held: bool) -> bool:
        """Whether the copper of a wire would melt before the control is released, or the current has gone on for long.

        What it comes to is reckoned as in ``states``.
        """
        if branch.segment is None:
            return False
        seconds = self.protection.profile.cranking_seconds if held else math.inf
        celsius = temperature(self.protection.ampacities, branch.segment, amps, seconds=seconds)
        return celsius is not None and celsius >= copper().melting_point
